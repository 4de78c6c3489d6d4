"""Works out, inside the engine, what a file changes: which sets are new, met again, changed, outdated.

Nothing is written here. The tables of the file (``new_sets``, ``new_bottles``, ``new_isolates``) and the views of the
stored state (``stored_sets`` and so on) are in the session; ``merge_*`` tables are left for the writing. Messages tell
their sets bottle by bottle and bring ``new_said``, the bottles that they speak of.
"""

from __future__ import annotations

from dataclasses import dataclass

from cubital.domain.tables import ISOLATES, SET_FACTS, SETS
from cubital.engine import Session, load_sql
from cubital.store.shapes import STORED

# Common practice, no source: laboratories number anew each year, and nobody corrects a set this late under its number.
REUSE_DAYS = 90
NEVER_TAKEN = 2**31 - 1  # above every batch number
SET_COLUMNS = [name for name in SETS if name not in ("set_id", "batch")]
COMPARED_COLUMNS = [*SET_COLUMNS, "file_unit_key"]


@dataclass(frozen=True, kw_only=True)
class MergePlan:
    """What a file would change. Counts are sets.

    ``unchanged`` were stored with the same content, ``outdated`` are preliminary results for sets already final,
    ``reused`` are new sets under an accession that an older set of another patient already has. ``restated_months``
    had sets before and get different ones; ``rewritten_months`` hold a changed set, ``bottle_months`` one whose bottles
    changed. Of the sets met again, ``compared_patients`` name a patient on both sides and ``other_patients`` of these
    name two different ones.
    """

    added: int
    changed: int
    unchanged: int
    outdated: int
    reused: int
    restated_months: tuple[str, ...]
    rewritten_months: tuple[str, ...]
    bottle_months: tuple[str, ...]
    compared_patients: int
    other_patients: int

    @property
    def changes_nothing(self) -> bool:
        """Whether the stored sets stay exactly as they are."""
        return not (self.added or self.changed)


@dataclass(frozen=True, kw_only=True)
class FileMonth:
    """Valid sets of one month (``YYYY-MM`` or ``undated``): in the file, and stored of its facility before it."""

    month: str
    arriving: int
    stored: int


def read_file_months(session: Session) -> tuple[FileMonth, ...]:
    """The file's months beside what is stored, oldest first; after ``plan_merge``."""
    rows = session.rows(load_sql("cubital.store", "file_months"))
    return tuple(FileMonth(month=month, arriving=arriving, stored=stored) for month, arriving, stored in rows)


def plan_merge(session: Session, *, taken_as: int | None = None) -> MergePlan:
    """Compares the file's sets with the stored ones and leaves the ``merge_*`` tables in the session.

    ``taken_as`` is the batch that took this very file before, if one did: what later batches corrected then stays.
    """
    _run(session, "place_arriving")
    _run(session, "arriving")
    session.do(load_sql("cubital.store", "pairs").format(reuse_days=REUSE_DAYS))
    _run(session, "stored_met")
    _run(session, "kept" if session.has_table("new_said") else "kept_nothing")
    _run(session, "told")
    _run(session, "merged")
    _run(session, "merged_bottles")
    session.do(
        load_sql("cubital.store", "fates").format(
            merged_columns=", ".join(f"m.{name}" for name in COMPARED_COLUMNS),
            stored_columns=", ".join(f"o.{name}" for name in COMPARED_COLUMNS),
            taken_as=NEVER_TAKEN if taken_as is None else taken_as,
        )
    )
    _run(session, "affected")
    _run(session, "affected_bottles")
    _run(session, "touched")
    added, changed, unchanged, outdated, reused, compared, other = session.one(load_sql("cubital.store", "outcome"))
    return MergePlan(
        added=added,
        changed=changed,
        unchanged=unchanged,
        outdated=outdated,
        reused=reused,
        restated_months=_months(session, load_sql("cubital.store", "restated_months")),
        rewritten_months=_months(session, "select month from merge_affected order by month"),
        bottle_months=_months(session, "select month from merge_affected_bottles order by month"),
        compared_patients=compared,
        other_patients=other,
    )


def next_set_offset(session: Session) -> int:
    """What to add to a ``row_set`` so that the new numbers follow the highest one in use."""
    (highest,) = session.one("select coalesce(max(set_id), 0) from stored_sets")
    (lowest,) = session.one("select coalesce(min(row_set), 1) from new_sets")
    return int(highest) + 1 - int(lowest)


def writing_query(table: str, *, offset: int, batch: int) -> str:
    """The query for the rows of ``table`` that this merge writes: new, changed, and their neighbours by month."""
    skipped = {"set_id", "batch", "file_unit_key"} | ({"month"} if table == "bottles" else set())
    return load_sql("cubital.store", f"write_{table}").format(
        offset=offset,
        batch=batch,
        columns=", ".join(name for name in STORED[table] if name not in skipped),
        own=", ".join(f"i.{name}" for name in ISOLATES if name != "set_id"),
        facts=", ".join(f"s.{name}" for name in SET_FACTS),
        repeated=", ".join(f"i.{name}" for name in SET_FACTS),
    )


def _run(session: Session, name: str) -> None:
    session.do(load_sql("cubital.store", name))


def _months(session: Session, sql: str) -> tuple[str, ...]:
    return tuple(month for (month,) in session.rows(sql))
