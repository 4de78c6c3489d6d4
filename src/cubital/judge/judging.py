"""Judges every set in scope inside the engine, with whole series: the table ``judged_sets``, the view ``judged``."""

from __future__ import annotations

from cubital.domain.charter import Charter, Denominator, FollowUp
from cubital.engine import QuerySession
from cubital.judge.counts import Scope
from cubital.judge.flora import Flora
from cubital.judge.predicates import Predicates, build_predicates, number_facilities
from cubital.judge.preparing import judge_sql, prepare_charter
from cubital.judge.rules import DIFFERENT, SAME, SOLITARY


def judge_sets(
    session: QuerySession, charter: Charter, *, scope: Scope | None = None, flora: Flora | None = None
) -> None:
    """Leaves the view ``judged(set_id, set_class, reason, series_id)`` over the valid sets in scope.

    The session holds ``sets``, ``bottles`` and ``isolates``, and may hold ``unit_names``. Partners are looked for among
    all sets, in scope or not. What was judged before in this session is replaced.
    """
    scope = scope or Scope()
    prepare_charter(session, charter, flora=flora)
    session.do(judge_sql("growth"))
    parts = build_predicates(session, charter, scope)
    sitting = judge_sql("sitting_all" if scope == Scope() else "sitting_in_scope")
    session.do(sitting.format(**vars(parts), home=number_facilities(session)))
    make_series(session, parts)
    if charter.follow_up is FollowUp.EXCLUDE:
        session.do(parts.fill(judge_sql("follow_up")), {"days": charter.follow_up_days})
    session.do(parts.fill(judge_sql("standing_sets")))
    session.do(judge_sql("suspects"))
    session.do(judge_sql("mates"))
    decide_suspects(session, charter)
    session.do(judge_sql("judged_sets"), {"eligible_only": charter.denominator is Denominator.ELIGIBLE_SETS})
    session.do(judge_sql("judged"))


def make_series(session: QuerySession, parts: Predicates) -> None:
    """The table ``series(set_id, series_id, series_size)`` from ``sitting(set_id, home, patient_key, place)``."""
    session.do(judge_sql("islands"), {"reach": parts.reach})
    session.do(judge_sql("heads"), {"reach": parts.reach})
    session.do(judge_sql("series"))


def decide_suspects(session: QuerySession, charter: Charter) -> None:
    """The table ``verdicts(set_id, set_class, reason)`` from ``suspects`` and ``mates``."""
    solitary_class, solitary_reason = SOLITARY[charter.solitary_commensal]
    session.do(
        judge_sql("verdicts"),
        {
            "solitary_class": solitary_class,
            "solitary_reason": solitary_reason,
            "same_class": SAME[charter.same_commensal][0],
            "different_class": DIFFERENT[charter.different_commensals][0],
        },
    )
