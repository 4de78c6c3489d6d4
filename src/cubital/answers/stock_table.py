"""The stock list that somebody keeps by hand: per item and day what was used, counted, or is to be delivered."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from cubital.answers.hand_tables import Columns, HandRow, hand_rows, refuse_problems
from cubital.domain.words import _


@dataclass(frozen=True, kw_only=True)
class StockItem:
    """One item: ``used`` by day in order, the last ``counted`` (what was there at the end of ``counted_on``), and what
    is to arrive by day. Nothing was counted where ``counted`` is none."""

    name: str
    used: tuple[tuple[date, int], ...]
    counted: int | None = None
    counted_on: date | None = None
    deliveries: tuple[tuple[date, int], ...] = ()


@dataclass(frozen=True, kw_only=True)
class Tier:
    """One step of a shortage: it begins when less than ``below_days`` of cover are left, and spares so much of the use
    (shares, low to high). ``owner`` is the clinical leader, by role, who approved it on a day, until ``review_by``."""

    name: str
    below_days: float
    saves: tuple[float, float]
    what: str
    owner: str
    approved_on: date
    review_by: date


def stock_columns() -> Columns:
    """What the columns of a stock list may be called."""
    return Columns(
        names={
            "item": ("bottle", "what", "article"),
            "day": ("date", "on"),
            "used": ("use", "drawn", "issued"),
            "counted": ("stock", "on hand", "count"),
            "delivery": ("delivered", "arrives", "expected"),
        },
        needed=("item", "day"),
        advice=_("One row per item and day: item, day (2026-03-05), and used, counted or delivery as whole numbers."),
    )


def tier_columns() -> Columns:
    """What the columns of a list of tiers may be called."""
    return Columns(
        names={
            "tier": ("step", "level"),
            "below days": ("days of cover", "below"),
            "saves low": ("spares low",),
            "saves high": ("spares high",),
            "what": ("what to do", "rule"),
            "owner": ("clinical owner", "approved by"),
            "approved on": ("approved",),
            "review by": ("review",),
        },
        needed=("tier", "below days", "saves low", "saves high", "what", "owner", "approved on", "review by"),
        advice=_(
            "One row per tier: tier, below days, saves low and saves high in per cent, what, owner (the role of the "
            "clinical leader), approved on, review by."
        ),
    )


def parse_stock(rows: Sequence[Sequence[object]], *, where: str) -> tuple[StockItem, ...]:
    """Every item of the list; ``FileProblem`` names each row that is wrong, and then nothing is read.

    A day that stands twice for one item with two uses or two counts is wrong; the last count is the one that holds.
    """
    columns = stock_columns()
    held = hand_rows(rows, columns, where=where)
    items: dict[str, _Collected] = {}
    for row in held:
        name = row.text("item", needed=True)
        day = row.day("day", needed=True)
        found = items.setdefault(name.casefold(), _Collected(name=name, used={}, counted={}, deliveries={}))
        if day is not None:
            found.take(row, day)
    refuse_problems(held, where=where, advice=columns.advice)
    return tuple(found.item() for found in items.values())


def parse_tiers(rows: Sequence[Sequence[object]], *, where: str) -> tuple[Tier, ...]:
    """Every tier, the mildest first. A tier without a clinical owner and an approval is a problem, not a tier."""
    columns = tier_columns()
    held = hand_rows(rows, columns, where=where)
    found = [_tier(row) for row in held]
    ordered = sorted((one for one in found if one is not None), key=lambda one: -one.below_days)
    for row, one in zip(held, found, strict=True):
        if one is not None and sum(other.below_days == one.below_days for other in ordered) > 1:
            row.complain(_("two tiers begin at the same days of cover"))
    refuse_problems(held, where=where, advice=columns.advice)
    return tuple(ordered)


@dataclass(kw_only=True)
class _Collected:
    name: str
    used: dict[date, int]
    counted: dict[date, int]
    deliveries: dict[date, int]

    def take(self, row: HandRow, day: date) -> None:
        """The numbers of one row; none of them is a problem, and so is a day that stands twice."""
        given = False
        for role, kept in (("used", self.used), ("counted", self.counted), ("delivery", self.deliveries)):
            if not row.text(role):
                continue
            given = True
            count = row.count(role)
            if day in kept:
                words = _("{day} stands twice for {item} in column '{column}'")
                row.complain(words.format(day=day.isoformat(), item=self.name[:40], column=role))
            elif count is not None:
                kept[day] = count
        if not given:
            row.complain(_("nothing is used, counted or delivered"))

    def item(self) -> StockItem:
        last = max(self.counted, default=None)
        return StockItem(
            name=self.name, used=tuple(sorted(self.used.items())),
            counted=None if last is None else self.counted[last], counted_on=last,
            deliveries=tuple(sorted(self.deliveries.items())),
        )  # fmt: skip


def _tier(row: HandRow) -> Tier | None:
    below, low, high = (_number(row, role) for role in ("below days", "saves low", "saves high"))
    approved, review = row.day("approved on", needed=True), row.day("review by", needed=True)
    name, what, owner = (row.text(role, needed=True) for role in ("tier", "what", "owner"))
    if low is not None and high is not None and not 0 <= low <= high < 100:
        row.complain(_("what it saves does not run from a lower to a higher per cent below 100"))
    if below is not None and below <= 0:
        row.complain(_("the days of cover are not above zero"))
    if approved and review and review < approved:
        row.complain(_("it is to be reviewed before it was approved"))
    if row.problems or None in (below, low, high, approved, review) or not (name and what and owner):
        return None
    return Tier(
        name=name, below_days=below or 0.0, saves=((low or 0.0) / 100, (high or 0.0) / 100), what=what, owner=owner,
        approved_on=approved or date.min, review_by=review or date.max,
    )  # fmt: skip


def _number(row: HandRow, role: str) -> float | None:
    text = row.text(role, needed=True).removesuffix("%").strip()
    if not text:
        return None
    try:
        found = float(text.replace(",", "."))
    except ValueError:
        found = float("nan")
    if found != found or found in (float("inf"), float("-inf")):  # noqa: PLR0124 - not a number is not equal to itself
        words = _("column '{column}': got '{text}', expected a number")
        row.complain(words.format(column=role, text=text[:40]))
        return None
    return found
