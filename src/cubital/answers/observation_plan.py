"""What to watch next: which draws the sheets leave out, by shift, unit and role, and how many more say what."""

from __future__ import annotations

import csv
import io
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from enum import StrEnum

from cubital.answers.observation_sheets import Sheet
from cubital.answers.steps_reading import NIGHT, StepReading, StepsReading
from cubital.domain.errors import FileProblem
from cubital.domain.words import _
from cubital.stats.assurance import observations_for_assurance, observations_for_width

MOST_WANTED = 1_000  # draws in one cell of a plan


class Shift(StrEnum):
    """When a draw was watched: night runs from 19:00 to 07:00."""

    DAY = "day"
    NIGHT = "night"


_SHIFT_WORDS = {
    "day": Shift.DAY, "days": Shift.DAY, "dia": Shift.DAY, "día": Shift.DAY,
    "night": Shift.NIGHT, "nights": Shift.NIGHT, "noche": Shift.NIGHT,
}  # fmt: skip


@dataclass(frozen=True, kw_only=True)
class PlanCell:
    """``draws`` wanted of one shift, unit and role; an empty unit or role means any."""

    shift: Shift
    unit: str
    role: str
    draws: int


@dataclass(frozen=True, kw_only=True)
class PlanRules:
    """Local policy of watching: draws wanted per shift (split evenly over units and roles), and which statements.

    ``each_shift`` is an example value, not from a source. ``truths`` are the shares that may be true of a step,
    ``assurances`` how surely the statement shall come, ``half_width`` how close an estimate shall be.
    """

    each_shift: int = 12
    truths: tuple[float, ...] = (0.6, 0.7)
    assurances: tuple[float, ...] = (0.9, 0.8)
    half_width: float = 0.10


@dataclass(frozen=True, kw_only=True)
class Gap:
    """One cell of the plan: ``watched`` of ``wanted`` draws."""

    shift: Shift
    unit: str
    role: str
    wanted: int
    watched: int

    @property
    def more(self) -> int:
        """Draws still to be watched here."""
        return max(0, self.wanted - self.watched)


@dataclass(frozen=True, kw_only=True)
class Statement:
    """What could be said of one step after ``needed`` draws of it; none where it is out of reach.

    ``truth`` is the share assumed to be true; ``assurance`` is none where only the width of an estimate is asked.
    """

    truth: float
    assurance: float | None
    needed: int | None


@dataclass(frozen=True, kw_only=True)
class PlanReading:
    """Gaps cell by cell, draws without a time (in no cell), and statements about ``step``, the likely lowest."""

    gaps: tuple[Gap, ...]
    untimed: int
    draws: int
    step: StepReading | None
    statements: tuple[Statement, ...]
    target: float
    rules: PlanRules

    def of_shift(self, shift: Shift) -> tuple[Gap, ...]:
        """The cells of one shift."""
        return tuple(gap for gap in self.gaps if gap.shift is shift)


def read_plan(
    sheets: Sequence[Sheet], *, steps: StepsReading, rules: PlanRules, wanted: Sequence[PlanCell] = ()
) -> PlanReading:
    """Compares the sheets with ``wanted``, or with an even split where there is none. A draw counts once."""
    draws = list({sheet.draw: sheet for sheet in reversed(sheets)}.values())
    cells = tuple(wanted) or _even_split(draws, rules.each_shift)
    timed = [draw for draw in draws if draw.when is not None]
    return PlanReading(
        gaps=tuple(
            Gap(
                shift=cell.shift, unit=cell.unit, role=cell.role, wanted=cell.draws,
                watched=sum(_belongs(draw, cell) for draw in timed),
            )
            for cell in cells
        ),
        untimed=len(draws) - len(timed),
        draws=len(draws),
        step=steps.lowest,
        statements=_statements(steps.policy.target, rules),
        target=steps.policy.target,
        rules=rules,
    )  # fmt: skip


def shift_of(hour: int) -> Shift:
    """The shift of an hour of the day (0 to 23)."""
    start, end = NIGHT
    return Shift.NIGHT if hour >= start or hour < end else Shift.DAY


def shift_name(shift: Shift) -> str:
    """The shift as a word."""
    return {Shift.DAY: _("day"), Shift.NIGHT: _("night")}[shift]


def _belongs(draw: Sheet, cell: PlanCell) -> bool:
    same_shift = draw.when is not None and shift_of(draw.when.hour) is cell.shift
    return same_shift and cell.unit in ("", draw.unit) and cell.role in ("", draw.role)


def _even_split(draws: Sequence[Sheet], each_shift: int) -> tuple[PlanCell, ...]:
    """Each shift's draws over the units and roles that the sheets know; what is left over goes to the least watched."""
    units = sorted({draw.unit for draw in draws if draw.unit}) or [""]
    roles = sorted({draw.role for draw in draws if draw.role}) or [""]
    pairs = [(unit, role) for unit in units for role in roles]
    share, left = divmod(each_shift, len(pairs))
    cells = []
    for shift in Shift:
        seen = Counter((d.unit, d.role) for d in draws if d.when is not None and shift_of(d.when.hour) is shift)
        extra = set(sorted(pairs, key=lambda pair: (seen[pair], pair))[:left])
        cells += [PlanCell(shift=shift, unit=u, role=r, draws=share + ((u, r) in extra)) for u, r in pairs]
    return tuple(cells)


def _statements(target: float, rules: PlanRules) -> tuple[Statement, ...]:
    asked = [(truth, assurance) for truth in rules.truths if truth != target for assurance in rules.assurances]
    found = [
        Statement(
            truth=truth, assurance=assurance,
            needed=observations_for_assurance(truth=truth, target=target, assurance=assurance),
        )
        for truth, assurance in asked
    ]  # fmt: skip
    width = [
        Statement(truth=truth, assurance=None, needed=observations_for_width(share=truth, half_width=rules.half_width))
        for truth in rules.truths[:1]
    ]
    return (*found, *width)


def parse_plan(table: str | Iterable[Sequence[object]], *, where: str) -> tuple[PlanCell, ...]:
    """A plan under the headers shift, unit, role, draws; unit and role may be missing or empty.

    Raises ``FileProblem`` where a shift or a number cannot be read, or nothing is wanted at all.
    """
    rows = _split(table) if isinstance(table, str) else table
    tidy = [["" if cell is None else str(cell).strip() for cell in row] for row in rows]
    numbered = [(n, row) for n, row in enumerate(tidy, start=1) if any(row)]
    headers = [cell.casefold() for cell in numbered[0][1]] if numbered else []
    if "shift" not in headers or "draws" not in headers or len(numbered) < 2:
        raise FileProblem(_("it is no plan: shift and draws are needed."), where=where, fix=_advice())
    cells = [_plan_cell(number, dict(zip(headers, row, strict=False)), where=where) for number, row in numbered[1:]]
    if not any(cell.draws for cell in cells):
        raise FileProblem(_("the plan wants no draw at all."), where=where, fix=_advice())
    return tuple(cells)


def _plan_cell(number: int, row: dict[str, str], *, where: str) -> PlanCell:
    shift, draws = _SHIFT_WORDS.get(row.get("shift", "").casefold()), row.get("draws", "").removesuffix(".0")
    if shift is None or not draws.isdecimal() or int(draws) > MOST_WANTED:
        raise FileProblem(
            _("row {row}: got shift '{shift}' and draws '{draws}'.").format(
                row=number, shift=row.get("shift", ""), draws=draws
            ),
            where=where,
            fix=_advice(),
        )
    return PlanCell(shift=shift, unit=row.get("unit", ""), role=row.get("role", ""), draws=int(draws))


def _split(text: str) -> list[list[str]]:
    lines = text.lstrip("\ufeff").strip()
    first = lines.splitlines()[0] if lines else ""
    return list(csv.reader(io.StringIO(lines, newline=""), delimiter=max("\t;,", key=first.count)))


def _advice() -> str:
    return _(
        "Give one row per shift, unit and role: shift (day or night), unit, role, draws (a whole number up to 1000)."
    )
