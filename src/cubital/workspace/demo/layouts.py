"""How each hospital's laboratory writes a draw: columns, order, grain, dates and words are all different.

Marrowby exports one row per bottle, Thistlecombe one per set with the day first, Orrin Quay one per isolate in a
workbook. The same draw is always written the same way: choices hang on its accession number, not on a random stream.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time

from cubital.workspace.demo.draws import LOCAL, Damage, Draw
from cubital.workspace.demo.organisms import GROWERS, NO_GROWTH

Cell = str | int | datetime
Row = tuple[Cell, ...]

LINE_SITES = ("PICC purple", "PORT", "R IJ", "CVC")
SKIN_SITES = ("L AC", "R AC", "LAC", "R HAND", "L FOREARM", "VENOUS", "")


@dataclass(frozen=True, kw_only=True)
class Report:
    """What is known of a draw when a file is made.

    ``status`` is ``preliminary``, ``final``, ``corrected``, ``cancelled`` or ``rejected``; ``organisms`` what is said
    to grow. ``with_stain`` adds the first report beside the final one, as exports of Marrowby do.
    """

    draw: Draw
    status: str
    organisms: tuple[str, ...]
    with_stain: bool = False


@dataclass(frozen=True, kw_only=True)
class Layout:
    """A laboratory's way of writing: the header row and the rows of one report."""

    header: tuple[str, ...]
    rows: Callable[[Report], list[Row]]


def chance_of(draw: Draw, salt: int) -> float:
    """A number from 0 to 1 that belongs to the draw: the same in every file that mentions it."""
    mixed = (draw.accession * 2_654_435_761 + salt * 40_503) % 2**32
    mixed = (mixed ^ (mixed >> 15)) * 2_246_822_519 % 2**32
    return (mixed ^ (mixed >> 13)) % 2**32 / 2**32


def choice_of(draw: Draw, choices: Sequence[str], salt: int) -> str:
    """One of ``choices`` that belongs to the draw."""
    return choices[int(chance_of(draw, salt) * len(choices))]


def spelled(draw: Draw, organism: str, salt: int) -> str:
    """The organism as the laboratory typed it that day."""
    return choice_of(draw, GROWERS[organism].spellings, salt)


def _wall(moment: datetime | None) -> datetime | None:
    return moment.astimezone(LOCAL).replace(tzinfo=None) if moment else None


def _accession(draw: Draw) -> str:
    return f"{draw.accession:.2E}" if draw.damage is Damage.ACCESSION else str(draw.accession)


def _birth(draw: Draw, pattern: str) -> str:
    born = date(1900, 1, 1) if draw.damage is Damage.BIRTH else draw.born
    return born.strftime(pattern)


def _site(draw: Draw) -> str:
    return choice_of(draw, LINE_SITES if draw.line else SKIN_SITES, 5)


# Marrowby: one row per bottle, commas, years first

MARROWBY_HEADER = (
    "ACC_NO",
    "MRN",
    "DOB",
    "LOC",
    "COLL_DT",
    "RECV_DT",
    "BOTTLE",
    "SITE",
    "COLLECTOR",
    "STATUS",
    "RESULT",
)
MARROWBY_LETTER = {"preliminary": "P", "final": "F", "corrected": "C", "cancelled": "X", "rejected": "R"}


def marrowby_rows(report: Report) -> list[Row]:
    """A row for each bottle; before the final row of a bottle that grew, often the row of its stain."""
    draw = report.draw
    letter = MARROWBY_LETTER[report.status]
    collected, received = _wall(draw.stated_collected), _wall(draw.received)
    start = (
        _accession(draw), str(draw.patient), _birth(draw, "%Y-%m-%d"), draw.stated_unit,
        f"{collected:%Y-%m-%d %H:%M}" if collected else "", f"{received:%Y-%m-%d %H:%M}",
    )  # fmt: skip
    rows: list[Row] = []
    for number, bottle in enumerate(draw.bottles):
        growing = _in_bottle(report, number)
        end = (_site(draw), draw.collector_text)
        if growing and report.with_stain and chance_of(draw, 20 + number) < 0.7:
            rows.append((*start, bottle, *end, "P", GROWERS[growing[0]].stain))
        rows.append((*start, bottle, *end, letter, _marrowby_result(report, growing, number)))
    return rows


def _in_bottle(report: Report, number: int) -> tuple[str, ...]:
    """Which organisms grew in this bottle: contaminants mostly in one bottle, pathogens mostly in both."""
    bottles = len(report.draw.bottles)
    found = []
    for place, organism in enumerate(report.organisms):
        both = chance_of(report.draw, 30 + place) < (0.3 if GROWERS[organism].commensal else 0.75)
        only = int(chance_of(report.draw, 40 + place) * bottles)
        if both or only == number:
            found.append(organism)
    return tuple(found)


def _marrowby_result(report: Report, growing: tuple[str, ...], number: int) -> str:
    if report.draw.call_off:
        return report.draw.call_off
    if growing:
        return "; ".join(spelled(report.draw, organism, 50 + number) for organism in growing)
    return "NO GROWTH AT 2 DAYS" if report.status == "preliminary" else choice_of(report.draw, NO_GROWTH[:2], 60)


# Thistlecombe: one row per set, semicolons, day first, no bottles

THISTLECOMBE_HEADER = (
    "Ward", "Accession", "Patient No", "Birth", "Collected", "Received", "Drawn by", "Status", "Organism",
)  # fmt: skip


def thistlecombe_rows(report: Report) -> list[Row]:
    """The one row of the set; what the laboratory called off says so where the organism would stand."""
    draw = report.draw
    collected, received = _wall(draw.stated_collected), _wall(draw.received)
    if draw.call_off:
        result = draw.call_off.capitalize()
    elif report.organisms:
        result = " / ".join(spelled(draw, organism, 50) for organism in report.organisms)
    else:
        result = "No growth to date" if report.status == "preliminary" else "No growth"
    return [
        (
            draw.stated_unit, _accession(draw), str(draw.patient), _birth(draw, "%d/%m/%Y"),
            f"{collected:%d/%m/%Y %H:%M}" if collected else "", f"{received:%d/%m/%Y %H:%M}", draw.collector_text,
            report.status.capitalize(), result,
        )
    ]  # fmt: skip


# Orrin Quay: a workbook, one row per isolate, real dates in the cells, other specimens among the cultures

ORRIN_QUAY_HEADER = (
    "Specimen ID", "Specimen type", "Hospital number", "Date of birth", "Location", "Collection time", "Received time",
    "Body site", "Collected by", "Result status", "Isolate", "Organism identified",
)  # fmt: skip


def orrin_quay_rows(report: Report) -> list[Row]:
    """A row per isolate, or one row that says that nothing grew."""
    draw = report.draw
    collected, received = _wall(draw.stated_collected), _wall(draw.received)
    start: Row = (
        _accession(draw), "Blood culture", str(draw.patient), datetime.combine(draw.born, time.min), draw.stated_unit,
        collected or "", received or "", _site(draw), draw.collector_text,
    )  # fmt: skip
    if draw.call_off:
        return [(*start, report.status.capitalize(), "", draw.call_off.capitalize())]
    if not report.organisms:
        words = "No growth so far" if report.status == "preliminary" else "No growth after 5 days"
        return [(*start, report.status.capitalize(), "", words)]
    return [
        (*start, report.status.capitalize(), number, spelled(draw, organism, 50))
        for number, organism in enumerate(report.organisms, start=1)
    ]


LAYOUTS = {
    "M": Layout(header=MARROWBY_HEADER, rows=marrowby_rows),
    "T": Layout(header=THISTLECOMBE_HEADER, rows=thistlecombe_rows),
    "O": Layout(header=ORRIN_QUAY_HEADER, rows=orrin_quay_rows),
}
