"""Rates over many years without looking at every partner: only sets near a suspected contaminant are paired.

About three sets in a hundred grow a commensal, so that series of everybody else need not be made. What it finds is
equal to ``judging`` set by set; the tests hold the two against each other.
"""

from __future__ import annotations

from cubital.domain.charter import Charter, Denominator, FollowUp, UnitOfCount
from cubital.domain.tables import SET_FACTS
from cubital.engine import QuerySession
from cubital.judge.counts import Scope
from cubital.judge.flora import Flora
from cubital.judge.judging import decide_suspects, make_series
from cubital.judge.predicates import Predicates, build_predicates
from cubital.judge.preparing import DECIDED_KEY, has_decisions, judge_sql, prepare_charter
from cubital.judge.rules import decide_growths

_STEPS = (
    "swift_tally", "swift_mixed", "swift_grown_sets", "swift_grown", "swift_suspects", "swift_near", "swift_heads",
    "swift_sitting",
)  # fmt: skip
LOOK_BACK = 30  # windows before a suspect that are looked at; daily cultures for longer than that are looked up whole


def is_swift(charter: Charter) -> bool:
    """Whether the charter's rate can be counted without the series of every set."""
    return (
        charter.unit_of_count is UnitOfCount.SET
        and charter.denominator is Denominator.ALL_SETS
        and charter.follow_up is FollowUp.INCLUDE
    )


def prepare_swiftly(session: QuerySession, charter: Charter, *, scope: Scope, flora: Flora | None = None) -> Predicates:
    """Leaves ``set_tally``, ``grown_tally``, ``suspects`` and ``verdicts``, from which ``swift_counts`` adds up."""
    if not is_swift(charter):
        raise ValueError(f"charter '{charter.name}' needs the series of every set")
    prepare_charter(session, charter, flora=flora)
    _place_isolates(session)
    parts = build_predicates(session, charter, scope)
    names = vars(parts) | {"undecided": _undecided(charter), "look_back": LOOK_BACK}

    def step(name: str) -> None:
        session.do(judge_sql(name).format(**names))

    for name in _STEPS:
        step(name)
    make_series(session, parts)
    if session.one(judge_sql("swift_lost").format(**names)) != (0,):
        step("swift_sitting_whole")
        make_series(session, parts)
    step("swift_mates")
    decide_suspects(session, charter)
    return parts


def _place_isolates(session: QuerySession) -> None:
    """The view ``isolate_facts``: stored isolates know their set's facts, others are joined with their sets."""
    decided = has_decisions(session)
    if session.has_table("set_isolates"):
        session.do(
            judge_sql("isolate_facts_stored").format(
                facts=", ".join(f"i.{name}" for name in SET_FACTS),
                key=DECIDED_KEY if decided else "i.organism_key",
                decided_join="left join decided d on d.set_id = i.set_id" if decided else "",
            )
        )
        return
    facts = ", ".join(f"s.{name}" for name in SET_FACTS)
    isolates = "marked_isolates" if decided else "isolates"
    session.do(judge_sql("isolate_facts").format(facts=facts, isolates=isolates))


def _undecided(charter: Charter) -> str:
    """The growths whose class partners decide, as numbers in a list; under some charters there are none."""
    numbers = [int(growth) for growth, judgement in decide_growths(charter).items() if judgement is None]
    return ", ".join(map(str, numbers)) or "null"
