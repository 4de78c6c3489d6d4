"""What goes into "is it worth it?": one value with its range, and where it is from; and a table of such values.

No value has a default. What is no cost cannot be made one by its name: a charge is what somebody is billed, and is
never added to what something costs.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from enum import StrEnum

from cubital.domain.words import _

FIRST_YEAR, LAST_YEAR = 1950, 2100
RANGE_REACH = 1.959963984540054  # a range of beta, gamma and lognormal is read as the middle 95 %


class InputKind(StrEnum):
    """What a value is. A cost is what the hospital really spends; a charge is what is billed."""

    COST = "cost"
    CHARGE = "charge"
    PRICE = "price"
    WAGE = "wage"
    COUNT = "count"
    SHARE = "share"
    RATIO = "ratio"


class Origin(StrEnum):
    """Where a value is from: this place's own, somebody's publication, or an assumption that says so."""

    LOCAL = "local"
    PUBLISHED = "published"
    ASSUMED = "assumed"


class RangeShape(StrEnum):
    """How a value is spread over its range."""

    FIXED = "fixed"
    UNIFORM = "uniform"
    TRIANGULAR = "triangular"
    PERT = "pert"
    BETA = "beta"
    GAMMA = "gamma"
    LOGNORMAL = "lognormal"


MONEY = frozenset({InputKind.COST, InputKind.CHARGE, InputKind.PRICE, InputKind.WAGE})
OF_MOMENTS = frozenset({RangeShape.BETA, RangeShape.GAMMA, RangeShape.LOGNORMAL})


@dataclass(frozen=True, kw_only=True)
class CostInput:
    """One value: ``low <= likely <= high`` in ``unit``, what it is, where it is from, and who gave it.

    ``key`` says which input of the model it is, ``option`` for which choice it holds (empty: for all of them). Money
    has a ``currency`` (three letters) and the ``year`` of its prices; everything else has neither. A table that breaks
    a rule cannot be made: ``ValueError`` with ``input_problems``.
    """

    key: str
    option: str = ""
    low: float
    likely: float
    high: float
    unit: str = ""
    kind: InputKind
    origin: Origin
    source: str
    given_by: str = ""
    currency: str = ""
    year: int | None = None
    shape: RangeShape = RangeShape.TRIANGULAR

    def __post_init__(self) -> None:
        problems = input_problems(self)
        if problems:
            raise ValueError("; ".join(problems))

    @property
    def is_money(self) -> bool:
        """Whether it has a currency."""
        return self.kind in MONEY

    @property
    def is_fixed(self) -> bool:
        """Whether it is taken as known."""
        return self.shape is RangeShape.FIXED or self.low == self.high

    @property
    def name(self) -> str:
        """What tells it from every other input of its table."""
        return f"{self.key}@{self.option}" if self.option else self.key


@dataclass(frozen=True, kw_only=True)
class CostTable:
    """All inputs of one question, and the price index by year with its source where one was given."""

    inputs: tuple[CostInput, ...]
    index: tuple[tuple[int, float], ...] = ()
    index_source: str = ""

    def __post_init__(self) -> None:
        names = [one.name for one in self.inputs]
        twice = sorted({name for name in names if names.count(name) > 1})
        if twice:
            raise ValueError(_("given twice: {names}").format(names=", ".join(twice)))

    @property
    def options(self) -> tuple[str, ...]:
        """The choices, in the order in which they come; one without a name where no input belongs to a choice."""
        return tuple(dict.fromkeys(one.option for one in self.inputs if one.option)) or ("",)

    def find(self, key: str, option: str = "") -> CostInput | None:
        """The value of that input for that choice: its own, or the one for all of them."""
        held = {(one.key, one.option): one for one in self.inputs}
        return held.get((key, option)) or held.get((key, ""))

    @property
    def currency(self) -> str:
        """The currency of the money in it; empty where there is none. Mixed ones: ``money_problems`` says so."""
        return next((one.currency for one in self.inputs if one.is_money), "")

    @property
    def money_year(self) -> int | None:
        """The year whose money every result is in: the latest of the table."""
        return max((one.year for one in self.inputs if one.is_money and one.year is not None), default=None)

    def price_factor(self, one: CostInput) -> float:
        """What the value is multiplied by to be in the money of ``money_year``; 1 for what is no money.

        ``KeyError`` where the price index lacks a year: ``money_problems`` finds that first.
        """
        if not one.is_money or one.year is None or one.year == self.money_year or self.money_year is None:
            return 1.0
        index = dict(self.index)
        return index[self.money_year] / index[one.year]


def input_problems(one: CostInput) -> tuple[str, ...]:
    """What is wrong with one value, in words without a full stop; empty where nothing is."""
    return (*_range_problems(one), *_origin_problems(one), *_money_problems(one))


def _range_problems(one: CostInput) -> Iterable[str]:
    if not all(math.isfinite(value) for value in (one.low, one.likely, one.high)):
        yield _("a value is missing or no number")
        return
    if min(one.low, one.likely, one.high) < 0:
        yield _("a value below 0 makes no sense here; a saving is written as what is averted, not as a negative cost")
    if not one.low <= one.likely <= one.high:
        yield _("low, likely and high must rise: {low}, {likely}, {high}").format(
            low=f"{one.low:g}", likely=f"{one.likely:g}", high=f"{one.high:g}"
        )
    if one.kind is InputKind.SHARE and one.high > 1:
        yield _("a share lies between 0 and 1, or is written with a per cent sign")
    yield from _shape_problems(one)


def _shape_problems(one: CostInput) -> Iterable[str]:
    if one.is_fixed or one.shape not in OF_MOMENTS:
        return
    spread = (one.high - one.low) / (2 * RANGE_REACH)
    if one.likely <= 0:
        yield _("the likely value must be above 0 for this shape of range")
    elif one.shape is RangeShape.BETA and not (one.likely < 1 and spread**2 < one.likely * (1 - one.likely)):
        yield _("this range is too wide for a share with that shape")


def _origin_problems(one: CostInput) -> Iterable[str]:
    if not one.source.strip():
        yield _("the source is missing; say where this value is from")
    if one.is_money and one.origin is Origin.LOCAL and not one.given_by.strip():
        yield _("say who gave it, for local costs belong to finance")


def _money_problems(one: CostInput) -> Iterable[str]:
    if not one.is_money:
        if one.currency:
            yield _("only money has a currency")
        return
    if len(one.currency) != 3 or not one.currency.isalpha() or not one.currency.isupper():
        yield _("the currency is missing; write its three letters, such as USD")
    if one.year is None or not FIRST_YEAR <= one.year <= LAST_YEAR:
        yield _("the year of the prices is missing")


def currencies_of(inputs: Iterable[CostInput]) -> tuple[str, ...]:
    """The different currencies among them, in order of the alphabet."""
    return tuple(sorted({one.currency for one in inputs if one.is_money}))


def years_without_index(table: CostTable, inputs: Iterable[CostInput]) -> tuple[int, ...]:
    """The years for which a price index is needed and not given; empty where all prices are of one year."""
    years = {one.year for one in inputs if one.is_money and one.year is not None}
    if len(years) < 2:
        return ()
    held: Mapping[int, float] = dict(table.index)
    return tuple(sorted((years | {table.money_year or 0}) - {year for year, value in held.items() if value > 0}))
