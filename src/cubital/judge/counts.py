"""What the judge hands up: small counts and single judged sets, as frozen dataclasses without an engine behind them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, datetime

from cubital.domain.charter import Reason, SetClass
from cubital.domain.cultures import Attribution, SetStatus, TimeQuality
from cubital.domain.errors import RequestProblem


@dataclass(frozen=True, kw_only=True)
class Scope:
    """Which sets are counted. Months are ``YYYY-MM``, both ends inclusive; none means no limit.

    ``unit`` is a current unit key: sets under any earlier name of the unit belong to it. Partners of a set are looked
    for outside the scope too, so that a pair across the end of a month stays a pair. Sets of the month ``undated``
    are inside only where neither month is given.
    """

    from_month: str | None = None
    to_month: str | None = None
    facility: str | None = None
    unit: str | None = None

    def __post_init__(self) -> None:
        for month in (self.from_month, self.to_month):
            if month is not None and not _is_month(month):
                raise RequestProblem(f"'{month}' is no month.", fix="Write it as 2026-03.")
        if self.from_month and self.to_month and self.from_month > self.to_month:
            raise RequestProblem(
                f"the first month {self.from_month} is after the last month {self.to_month}.",
                fix="Swap the two months.",
            )

    def holds_month(self, month: str) -> bool:
        """Whether a set of that month (or ``undated``) is inside."""
        if month == "undated":
            return self.from_month is None and self.to_month is None
        return (self.from_month or month) <= month <= (self.to_month or month)


def _is_month(text: str) -> bool:
    year, dash, number = text.partition("-")
    return (
        len(year) == 4 and dash == "-" and len(number) == 2 and f"{year}{number}".isdigit() and 1 <= int(number) <= 12
    )


@dataclass(frozen=True, kw_only=True)
class MonthCounts:
    """One month of one place under one charter.

    ``facility`` is none in a count over the network, ``unit`` none unless units are counted (then the current key).
    ``numerator`` over ``denominator`` is the charter's contamination rate, in its own unit of count. Everything else
    counts sets: ``sets`` are the valid sets of the charter's population; ``classes`` holds the number of valid sets
    of every class, so that its values add up to all valid sets, those outside included. ``positives`` grew a named
    or an unread organism. ``solitary_excluded`` are sets of the population that the charter leaves out because their
    commensal has no partner. ``preliminary`` sets may still change class.

    The rest is none where only rates were asked for. ``unpairable`` sets have no patient or no time: whether they had
    a partner cannot be known. ``solitary`` is the number of the other sets without a partner, and ``episodes`` the
    number of series that hold at least one set of the population that is not unpairable, each counted where the
    first such set was drawn. ``eligible`` are sets of series with two valid sets or more.
    """

    month: str
    facility: str | None
    unit: str | None
    unit_name: str
    numerator: int
    denominator: int
    sets: int
    positives: int
    preliminary: int
    solitary_excluded: int
    classes: Mapping[SetClass, int] = field(default_factory=dict)
    unpairable: int | None = None
    solitary: int | None = None
    episodes: int | None = None
    eligible: int | None = None

    def of_class(self, set_class: SetClass) -> int:
        """How many valid sets have that class."""
        return self.classes.get(set_class, 0)


@dataclass(frozen=True, kw_only=True)
class ProcessLimits:
    """Local policy's limits for what stands beside contamination; none means that policy says nothing about it."""

    late_minutes: int = 120
    very_late_minutes: int = 240
    fill_low_ml: float | None = None
    fill_high_ml: float | None = None


@dataclass(frozen=True, kw_only=True)
class ProcessCounts:
    """How the sets of one month and place were drawn, filled and sent; the same grouping as ``MonthCounts``.

    Bottles, times and fill are counted over ``sets``, the valid sets of the charter's population. A set is
    ``bottle_measurable`` where the file names a kind for at least one of its bottles, and complete with an aerobic and
    an anaerobic bottle, or with a paediatric one. ``timed`` sets have a believable collection time and a receipt;
    ``median_minutes`` is none without any. Collectors are counted over every valid set, children included, because
    attribution is a matter of the record and not of the patient: ``collector_measurable`` of these
    ``collector_sets`` come from a facility that names collectors at all, and ``attributed`` have a usable one
    (badge, roster or initials). ``fills`` counts bottles with a measured fill, in millilitres; ``fills_low`` and
    ``fills_high`` are none without a policy limit.
    """

    month: str
    facility: str | None
    unit: str | None
    unit_name: str
    sets: int
    bottle_measurable: int
    bottle_complete: int
    timed: int
    late: int
    very_late: int
    median_minutes: float | None
    collector_sets: int
    collector_measurable: int
    attributed: int
    fills: int
    fill_median_ml: float | None
    fills_low: int | None
    fills_high: int | None


@dataclass(frozen=True, kw_only=True)
class Companion:
    """Another valid set of the same series: what it grew and what it counts as."""

    set_id: int
    accession: str
    set_class: SetClass
    organisms: tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class JudgedSet:
    """One valid set with its class, the reason, and the other sets of its series.

    ``organisms`` are keys in alphabetical order, an unread text as the empty key, negated ones left out.
    ``series_id`` is the smallest ``set_id`` of the series. ``unpairable`` sets have no patient or no time and so stand
    alone. ``counted`` says whether the set is in the charter's denominator. ``minutes_to_receipt`` is none where
    it cannot be known (never negative); ``bottles_complete`` is none where the file has no bottle kinds.
    """

    set_id: int
    facility: str
    accession: str
    month: str
    day: date | None
    collected_local: datetime | None
    time_quality: TimeQuality
    unit: str
    unit_name: str
    attribution: Attribution
    status: SetStatus
    set_class: SetClass
    reason: Reason
    series_id: int
    series_size: int
    unpairable: bool
    counted: bool
    organisms: tuple[str, ...]
    companions: tuple[Companion, ...]
    minutes_to_receipt: float | None
    bottles_complete: bool | None


@dataclass(frozen=True, kw_only=True)
class SetVerdict:
    """The least that two definitions need to be compared: one set that grew something, and what it counts as."""

    set_id: int
    facility: str
    accession: str
    set_class: SetClass
    reason: Reason
    counted: bool
