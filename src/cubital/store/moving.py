"""Works out, inside the engine, what a file of ward movements changes: stays, and the units of sets drawn in them."""

from __future__ import annotations

from dataclasses import dataclass

from cubital.engine import Session, load_sql


@dataclass(frozen=True, kw_only=True)
class MovementPlan:
    """What a file of stays would change. ``added``, ``changed`` and ``unchanged`` count stays by patient and start.

    ``moved_sets`` counts stored sets that get another collecting unit; they lie in ``set_months``.
    """

    added: int
    changed: int
    unchanged: int
    moved_sets: int
    set_months: tuple[str, ...]
    rewritten_months: tuple[str, ...]


def plan_movements(session: Session) -> MovementPlan:
    """Compares ``new_movements`` with the stored stays and leaves the ``moving_*`` tables in the session."""
    for name in ("movement_new", "movement_fates", "movements_after", "moved_sets"):
        session.do(load_sql("cubital.store", name))
    added, changed, unchanged, moved_sets = session.one(load_sql("cubital.store", "movement_outcome"))
    return MovementPlan(
        added=added,
        changed=changed,
        unchanged=unchanged,
        moved_sets=moved_sets,
        set_months=_months(session, "select distinct month from moving_sets order by month"),
        rewritten_months=_months(session, "select distinct month from moving_fates where fate = 'changed'"),
    )


def _months(session: Session, sql: str) -> tuple[str, ...]:
    return tuple(month for (month,) in session.rows(sql))
