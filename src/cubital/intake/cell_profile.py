"""What the cells of one column look like: the second witness beside its header."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from cubital.intake.bottle_words import read_bottle
from cubital.intake.date_shapes import NUMBER_KINDS, read_shape, shape_of
from cubital.intake.roles import Role
from cubital.intake.status_words import Standing, read_status

_CLOCK = re.compile(r"\d{1,2}[:.h]\d{2}([:.]\d{2})?( ?[ap]\.?m\.?)?|\d{4}", re.IGNORECASE)
_COMPACT_DAY = re.compile(r"(19|20|21)\d\d(0[1-9]|1[0-2])(0[1-9]|[12]\d|3[01])")
_SERIAL = re.compile(
    r"[1-5]\d{4}([.,]\d+)?|\d{10}|\d{13}"
)  # days of a spreadsheet; seconds and milliseconds since 1970
_NUMBER = re.compile(r"[-+]?\d+([.,]\d+)?([eE][-+]?\d+)?")


@dataclass(frozen=True, kw_only=True)
class CellProfile:
    """Shares (0 to 1) of the filled cells of a sample; ``filled`` is their number, ``distinct`` how many differ."""

    filled: int
    distinct: int
    dates: float = 0.0
    with_time: float = 0.0
    clocks: float = 0.0
    numbers: float = 0.0
    with_digits: float = 0.0
    spaced: float = 0.0
    bottles: float = 0.0
    statuses: float = 0.0
    finals: float = 0.0
    serials: float = 0.0


def profile_cells(cells: Sequence[str]) -> CellProfile:
    """The profile of one column's sample; blank cells are left out."""
    filled = [cell.strip() for cell in cells if cell.strip()]
    if not filled:
        return CellProfile(filled=0, distinct=0)
    shapes = [read_shape(shape_of(cell)) if len(cell) < 40 and _plausible(cell) else None for cell in filled]
    dated = [shape for shape in shapes if shape is not None and shape.kind not in NUMBER_KINDS]
    midnight = re.compile(r"[ T]0?0:00(:00)?([.]0+)?$")
    timed = sum(
        1
        for cell, shape in zip(filled, shapes, strict=True)
        if shape is not None and shape.kind not in NUMBER_KINDS and shape.has_time and not midnight.search(cell)
    )

    def share(test: Callable[[str], object]) -> float:
        return sum(1 for cell in filled if test(cell)) / len(filled)

    return CellProfile(
        filled=len(filled),
        distinct=len(set(filled)),
        dates=len(dated) / len(filled),
        with_time=timed / len(filled),
        clocks=share(_CLOCK.fullmatch),
        numbers=share(_NUMBER.fullmatch),
        with_digits=share(lambda cell: any(sign.isdigit() for sign in cell)),
        spaced=share(lambda cell: " " in cell),
        bottles=share(lambda cell: len(cell) < 30 and read_bottle(cell).known),
        statuses=share(lambda cell: read_status(cell) is not None),
        serials=share(_SERIAL.fullmatch),
        finals=share(lambda cell: read_status(cell) is Standing.FINAL),
    )


def _plausible(cell: str) -> bool:
    """Eight digits are a day only when a year, month and day can be cut from them; many patient numbers have eight."""
    return not re.fullmatch(r"\d{8,14}", cell) or _COMPACT_DAY.match(cell) is not None


def fit(role: Role, cells: CellProfile) -> float:
    """How well the cells suit a role: 1 fully, 0 not at all. An empty column suits everything a little less."""
    if not cells.filled:
        return 0.9
    return _FITS.get(role, _anything)(cells)


def _anything(_cells: CellProfile) -> float:
    return 1.0


def _identifier(cells: CellProfile) -> float:
    if cells.dates > 0.5:
        return 0.0
    varied = 1.0 if cells.distinct >= min(8, 0.2 * cells.filled) else 0.6
    return varied * (1.0 if cells.with_digits > 0.7 else 0.5) * (1.0 if cells.spaced < 0.5 else 0.6)


def _moment(cells: CellProfile) -> float:
    if cells.dates > 0.6:
        return 1.0 if cells.with_time > 0.3 * cells.dates else 0.9
    return 0.85 if cells.serials > 0.9 else 0.0


def _day(cells: CellProfile) -> float:
    if cells.dates > 0.6:
        return 0.6 if cells.with_time > 0.3 * cells.dates else 1.0
    return 0.8 if cells.serials > 0.9 else 0.0


def _clock(cells: CellProfile) -> float:
    return 1.0 if cells.clocks > 0.7 and cells.dates < 0.3 else 0.0


def _words(cells: CellProfile) -> float:
    return 0.0 if cells.numbers > 0.5 or cells.dates > 0.5 else 1.0


def _category(cells: CellProfile) -> float:
    if cells.dates > 0.5:
        return 0.0
    many = cells.distinct > max(30, 0.5 * cells.filled)
    return 0.6 if many else 0.75 if cells.numbers > 0.9 else 1.0


def _label(cells: CellProfile) -> float:
    """Kinds of specimen or test: few, and made of words. An accession column called SPECIMEN fails here."""
    few = cells.distinct <= max(3, 0.3 * cells.filled)
    return 0.0 if cells.numbers > 0.5 or cells.dates > 0.5 else 1.0 if few else 0.6


def _amount(cells: CellProfile) -> float:
    return 1.0 if cells.numbers > 0.7 else 0.5 if cells.with_digits > 0.7 and cells.dates < 0.5 else 0.0


def _bottle(cells: CellProfile) -> float:
    return 1.0 if cells.bottles > 0.5 else 0.5


def _status(cells: CellProfile) -> float:
    return 1.0 if cells.statuses > 0.5 else 0.5


_FITS: dict[Role, Callable[[CellProfile], float]] = {
    Role.ACCESSION: _identifier,
    Role.PATIENT: _identifier,
    Role.BIRTH: lambda cells: min(_moment(cells), 1.0) and 1.0,
    Role.AGE: _amount,
    Role.UNIT: _category,
    Role.ORDERED: _moment,
    Role.COLLECTED: _moment,
    Role.COLLECTED_DATE: _day,
    Role.COLLECTED_CLOCK: _clock,
    Role.RECEIVED: _moment,
    Role.RECEIVED_DATE: _day,
    Role.RECEIVED_CLOCK: _clock,
    Role.LOADED: _moment,
    Role.POSITIVE: _moment,
    Role.BOTTLE: _bottle,
    Role.AEROBIC: _words,
    Role.ANAEROBIC: _words,
    Role.FILL: _amount,
    Role.COLLECTOR: _category,
    Role.SITE: _words,
    Role.METHOD: _words,
    Role.SPECIMEN: _label,
    Role.TEST: _label,
    Role.STATUS: _status,
    Role.RESULT: _words,
    Role.ORGANISM: _words,
    Role.ANTIBIOTIC: _words,
    Role.FROM: _moment,
    Role.TO: _moment,
}
