"""The tidy table of unit-month counts that may travel: small counts and their shields are left empty."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from cubital.domain.words import _
from cubital.papers.tidy_table import Column, Kind, TidyTable

MEASURES = ("contaminated", "undecided", "other_growth")


@dataclass(frozen=True, kw_only=True)
class CountRow:
    """One place and one span. A count is none where it is hidden; ``hidden`` names those, by their column.

    ``facility`` and ``unit`` are empty where the row stands for more than one. ``counted`` is the denominator.
    """

    level: str
    facility: str
    unit: str
    unit_name: str
    period: str
    span: str
    counted: int
    contaminated: int | None
    undecided: int | None
    other_growth: int | None
    hidden: tuple[str, ...]


def build_counts_table(rows: Sequence[CountRow]) -> TidyTable[CountRow]:
    """The table over ``rows``, with the codebook that says what an empty cell means."""
    return TidyTable(name="counts", columns=(*_place_columns(), *_count_columns()), rows=rows, count=len(rows))


def _place_columns() -> tuple[Column[CountRow], ...]:
    return (
        Column(
            key="level", kind=Kind.CODE, read=lambda r: r.level, meaning=_("what the row stands for"),
            values={"unit": _("one unit"), "facility": _("one hospital"), "network": _("all hospitals together")},
        ),
        Column(key="facility", read=lambda r: r.facility or None, meaning=_("hospital; empty for the network")),
        Column(key="unit", read=lambda r: r.unit or None, meaning=_("current key of the unit; empty for totals")),
        Column(key="unit_name", read=lambda r: r.unit_name or None, meaning=_("name of the unit; empty for totals")),
        Column(
            key="period", kind=Kind.CODE, read=lambda r: r.period, meaning=_("how long the row's time is"),
            values={"month": _("a month"), "quarter": _("a quarter"), "year": _("a calendar year")},
        ),
        Column(key="span", read=lambda r: r.span, meaning=_("2026-03, 2026-Q1 or 2026; quarters and years are whole")),
    )  # fmt: skip


def _count_columns() -> tuple[Column[CountRow], ...]:
    return (
        Column(
            key="counted", kind=Kind.COUNT, unit=_("sets"), read=lambda r: r.counted,
            meaning=_("sets that the charter counts: the denominator"),
        ),
        Column(
            key="contaminated", kind=Kind.COUNT, unit=_("sets"), read=lambda r: r.contaminated,
            meaning=_("counted sets that are contaminated by the charter; empty where hidden"),
        ),
        Column(
            key="undecided", kind=Kind.COUNT, unit=_("sets"), read=lambda r: r.undecided,
            meaning=_("sets that wait for the laboratory's decision; empty where hidden"),
        ),
        Column(
            key="other_growth", kind=Kind.COUNT, unit=_("sets"), read=lambda r: r.other_growth,
            meaning=_("sets that grew and are neither contaminated nor undecided; empty where hidden"),
        ),
        Column(
            key="hidden", read=lambda r: " | ".join(r.hidden) or None,
            meaning=_(
                "which counts of the row are hidden, between bars. A hidden count may be small, or of any size and "
                "hidden so that a small one cannot be worked out; which of the two is not said. Hidden is not 0"
            ),
        ),
    )  # fmt: skip
