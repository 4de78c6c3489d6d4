"""Counts before and after by who attended, from a table kept by hand: by person, by unit, or by group alone."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from cubital.answers.did_material import Pair
from cubital.answers.hand_tables import Columns, HandRow, hand_rows, refuse_problems
from cubital.domain.words import _

_AFTER = {
    "before": False, "pre": False, "antes": False, "after": True, "post": True, "después": True, "despues": True,
}  # fmt: skip
_YES_NO = {"yes": 1.0, "y": 1.0, "si": 1.0, "sí": 1.0, "x": 1.0, "no": 0.0, "n": 0.0}
_SHARE = re.compile(r"(\d+(?:[.,]\d+)?)\s*(%?)")
_PARTS = re.compile(r"(\d+)\s*(?:/|of|de)\s*(\d+)")
_MOST_WEEKS = 520


@dataclass(frozen=True, kw_only=True)
class AttendanceRow:
    """``contaminated`` of ``sets`` of one ``who`` (a code or a unit, empty for a whole group) in one period.

    ``attended`` is 1 or 0 for a person, and for a unit the share of its people who did (0 to 1). ``weeks`` is how long
    the period was, none where the table does not say.
    """

    who: str
    attended: float
    after: bool
    sets: int
    contaminated: int
    weeks: int | None


@dataclass(frozen=True, kw_only=True)
class Attendance:
    """The table. ``by`` is ``person``, ``unit`` or ``group``; ``shares`` says that units attended in part."""

    by: str
    rows: tuple[AttendanceRow, ...]

    @property
    def shares(self) -> bool:
        return any(0 < row.attended < 1 for row in self.rows)

    def weeks(self, *, after: bool) -> int | None:
        """The shortest that any row of this period was counted for; none where one of them does not say."""
        held = [row.weeks for row in self.rows if row.after is after]
        return None if not held or None in held else min(week for week in held if week is not None)

    def total(self, *, attended: bool, after: bool) -> Pair:
        """Contaminated sets and sets of those who attended, or of those who did not."""
        held = [row for row in self.rows if row.after is after and row.attended == float(attended)]
        return sum(row.contaminated for row in held), sum(row.sets for row in held)

    def pairs(self) -> dict[str, tuple[float, Pair, Pair]]:
        """Of everybody with sets in both periods: attendance, before, after."""
        found: dict[str, tuple[float, Pair, Pair]] = {}
        for name in dict.fromkeys(row.who for row in self.rows):
            for attended in dict.fromkeys(row.attended for row in self.rows if row.who == name):
                both = [self._of(name, attended, after=after) for after in (False, True)]
                if both[0][1] and both[1][1]:
                    key = name if self.by != "group" else f"{attended}"
                    found[key] = (attended, both[0], both[1])
        return found

    def _of(self, name: str, attended: float, *, after: bool) -> Pair:
        held = [row for row in self.rows if (row.who, row.attended, row.after) == (name, attended, after)]
        return sum(row.contaminated for row in held), sum(row.sets for row in held)


def attendance_columns() -> Columns:
    """What the table looks like."""
    return Columns(
        names={
            "person": ("code", "persona"), "unit": ("ward", "place", "unidad"),
            "attended": ("attendance", "trained", "asistió", "asistio", "asistencia"),
            "period": ("when", "phase", "periodo"), "weeks": ("semanas",), "sets": ("draws", "extracciones"),
            "contaminated": ("contaminated sets", "contaminants", "contaminadas"),
        },
        needed=("attended", "period", "sets", "contaminated"),
        advice=_(
            "Give one row per person (a code, no name) or unit and period, with the columns attended (yes or no, or "
            "the share of the unit), period (before or after), weeks, sets, contaminated; for example "
            "N1,yes,before,26,40,2."
        ),
    )  # fmt: skip


def parse_attendance(rows: Iterable[Sequence[object]], *, where: str) -> Attendance:
    """The table; ``FileProblem`` with every row that cannot be right. What people are called is not kept."""
    columns = attendance_columns()
    read = hand_rows(rows, columns, where=where)
    by = next((name for name in ("person", "unit") if any(row.text(name) for row in read)), "group")
    found = [_row(row, by) for row in read]
    kept = [row for row in found if row is not None]
    _refuse_two_answers(read, found, by)
    refuse_problems(read, where=where, advice=columns.advice)
    return Attendance(by=by, rows=tuple(kept))


def _row(row: HandRow, by: str) -> AttendanceRow | None:
    who = row.text(by, needed=True) if by != "group" else ""
    attended = _attended(row)
    period = row.text("period", needed=True).casefold()
    if period and period not in _AFTER:
        row.complain(_("column 'period': got '{text}', expected before or after").format(text=period[:40]))
    sets, contaminated = row.count("sets"), row.count("contaminated")
    weeks = row.count("weeks") if row.text("weeks") else None
    if weeks is not None and not 0 < weeks <= _MOST_WEEKS:
        row.complain(_("column 'weeks': {weeks} weeks cannot be").format(weeks=weeks))
    if sets is not None and contaminated is not None and contaminated > sets:
        row.complain(
            _("{contaminated} contaminated of {sets} sets is more than all").format(
                contaminated=contaminated, sets=sets
            )
        )
    if row.problems or attended is None or sets is None or contaminated is None:
        return None
    return AttendanceRow(
        who=who, attended=attended, after=_AFTER[period], sets=sets, contaminated=contaminated, weeks=weeks
    )  # fmt: skip


def _attended(row: HandRow) -> float | None:
    """Yes, no, ``60 %``, ``0.6`` or ``12/20``; anything else is a problem of the row."""
    text = row.text("attended", needed=True).casefold()
    if not text:
        return None
    if text in _YES_NO:
        return _YES_NO[text]
    if parts := _PARTS.fullmatch(text):
        there, whole = int(parts[1]), int(parts[2])
        if whole > 0 and there <= whole:
            return there / whole
    if share := _SHARE.fullmatch(text):
        value = float(share[1].replace(",", ".")) / (100 if share[2] else 1)
        if value <= 1:
            return value
    row.complain(
        _("column 'attended': got '{text}', expected yes, no, or a share such as 60 % or 12/20").format(text=text[:40])
    )
    return None


def _refuse_two_answers(read: Sequence[HandRow], found: Sequence[AttendanceRow | None], by: str) -> None:
    """Nobody attended and did not."""
    said: dict[str, float] = {}
    for row, one in zip(read, found, strict=True):
        if one is None or by == "group":
            continue
        if said.setdefault(one.who, one.attended) != one.attended:
            row.complain(_("this one attended in one row and in another not"))
