"""Small tables that every judgement needs: unit names of today, standings of organisms, what each set grew."""

from __future__ import annotations

from functools import cache

from cubital.domain.charter import Charter
from cubital.engine import QuerySession, load_sql
from cubital.judge.flora import Flora, reference_flora
from cubital.judge.rules import decide_growths

UNIT_NAMES = {"facility": "VARCHAR", "unit_key": "VARCHAR", "current_key": "VARCHAR", "unit_name": "VARCHAR"}
DECISIONS = {"facility": "VARCHAR", "accession": "VARCHAR", "decision": "VARCHAR"}
# The key of isolate ``i`` with what ``d`` decided; a later decision takes the place of the laboratory's own.
DECIDED_KEY = (
    "case when d.decision is null or i.organism_key = '' then i.organism_key "
    "else concat(split_part(i.organism_key, '~', 1), '~', d.decision) end"
)


@cache
def judge_sql(name: str) -> str:
    """The text of one of the judge's SQL files."""
    return load_sql("cubital.judge", name)


def prepare_charter(session: QuerySession, charter: Charter, *, flora: Flora | None = None) -> None:
    """Makes ``unit_now``, ``organism_standing``, ``same_pairs``, ``growth_rules`` and ``grown_isolates``.

    Organisms are numbered for the session, because numbers are matched faster than their keys.
    """
    flora = flora or reference_flora()
    prepare_unit_names(session)
    isolates = prepare_decisions(session)
    keys = [key for (key,) in session.rows(f"select distinct organism_key from {isolates} order by 1")]
    numbers = {key: number for number, key in enumerate(keys)}
    session.add_rows(
        "organism_standing",
        {"organism_key": "VARCHAR", "organism": "INTEGER", "grows": "UTINYINT"},
        [(key, numbers[key], int(flora.standing(key, charter.commensal_list))) for key in keys],
    )
    pairs = [(numbers[a], numbers[b]) for a, b in flora.same_pairs(keys)]
    session.add_rows("same_pairs", {"a": "INTEGER", "b": "INTEGER"}, pairs)
    session.add_rows(
        "growth_rules",
        {"grew": "UTINYINT", "set_class": "VARCHAR", "reason": "VARCHAR"},
        [(int(growth), *(judgement or (None, None))) for growth, judgement in decide_growths(charter).items()],
    )
    session.do(judge_sql("grown_isolates").format(isolates=isolates))


def prepare_decisions(session: QuerySession) -> str:
    """Which table of isolates to read: their own, or where somebody decided about sets, the view with these decisions.

    The session then holds ``decided(set_id, decision)``. Without decisions nothing is joined.
    """
    if not has_decisions(session):
        return "isolates"
    session.do(judge_sql("decided"))
    session.do(judge_sql("marked_isolates").format(key=DECIDED_KEY))
    return "marked_isolates"


def has_decisions(session: QuerySession) -> bool:
    """Whether the session was given ``decisions(facility, accession, decision)``, one row for a set."""
    return session.has_table("decisions") and session.one("select count(*) from decisions") != (0,)


def prepare_unit_names(session: QuerySession) -> None:
    """Makes ``unit_now``: for every label of a unit the key and the name that it has today."""
    if not session.has_table("unit_names"):
        session.add_rows("unit_names", UNIT_NAMES, [])
    session.do(judge_sql("unit_now"))
