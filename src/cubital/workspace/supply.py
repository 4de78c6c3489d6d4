"""Stock and shifts: from lists kept by hand, and from the hours of the stored cultures."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any

import cubital
from cubital.answers.cover import build_cover_answer
from cubital.answers.cover_reading import CoverAsk, read_cover
from cubital.answers.stock import build_stock_answer
from cubital.answers.stock_reading import StockPolicy, StockReading, read_stock
from cubital.answers.stock_table import Tier, parse_stock, parse_tiers, stock_columns, tier_columns
from cubital.domain.answer import Answer, Receipt
from cubital.domain.errors import RequestProblem
from cubital.domain.words import _
from cubital.stats.coverage import WEEK
from cubital.workspace.small_tables import read_rows

if TYPE_CHECKING:
    from cubital.workspace.fair_gathering import FairAsk
    from cubital.workspace.opening import Workspace


def stock_readings(
    stock: Path | str, *, tiers: Path | str | None = None, today: date | None = None, policy: StockPolicy | None = None
) -> tuple[StockReading, ...]:
    """Every item of a stock list (a file, or text that was pasted) with the tiers of another one; nothing is kept.

    ``today`` is the last day that is over, by default the last day of the list. ``FileProblem`` names what is wrong.
    """
    name, rows = read_rows(stock, advice=stock_columns().advice, pasted=_("the stock list"))
    items = parse_stock(rows, where=name)
    over = today or max(
        day for item in items for day in (*(one for one, _amount in item.used), item.counted_on) if day is not None
    )
    steps = _tiers(tiers)
    return tuple(read_stock(item, today=over, tiers=steps, policy=policy) for item in items)


def stock_answer(
    stock: Path | str,
    *,
    tiers: Path | str | None = None,
    today: date | None = None,
    detected_per_year: int | None = None,
    policy: StockPolicy | None = None,
) -> Answer:
    """When do bottles run out, and what would each tier change? ``detected_per_year``: infections found in a year."""
    readings = stock_readings(stock, tiers=tiers, today=today, policy=policy)
    receipt = Receipt(
        data=_("a stock list that is not kept"), charter=_("no charter is used"), policy=_("limits as asked"),
        code=cubital.__version__,
    )  # fmt: skip
    return build_stock_answer(readings, detected_per_year=detected_per_year, receipt=receipt)


def cover_answer(workspace: Workspace, where: FairAsk, ask: CoverAsk) -> Answer:
    """Which shifts of a week would reach most contaminated sets of this place, under the charter in force?"""
    from cubital.workspace.fair_gathering import gather_hours

    check_cover(ask)
    material, receipt = gather_hours(workspace, where)
    if not material.weeks:
        raise RequestProblem(
            _("no set of these months has a day, so hours of the week cannot be told."), fix=_("Choose other months.")
        )
    return build_cover_answer(read_cover(material, ask), receipt=receipt)


def cover_asked(workspace: Workspace, **asked: Any) -> Answer:
    """``cover_answer`` for arguments as plain data, as a receipt keeps them."""
    from cubital.workspace.fair_gathering import FairAsk

    where = FairAsk(
        facility=asked.get("facility"), unit=asked.get("unit"), from_month=asked.get("from_month"),
        to_month=asked.get("to_month"),
    )  # fmt: skip
    risk = asked.get("risk")
    ask = CoverAsk(
        shifts=asked.get("shifts", 7), length=asked.get("length", 12), collectors=asked.get("collectors", 1),
        minutes_per_set=asked.get("minutes", 15.0), risk=(risk[0], risk[1], risk[2]) if risk else None,
    )  # fmt: skip
    return cover_answer(workspace, where, ask)


def check_cover(ask: CoverAsk) -> None:
    """``RequestProblem`` for shifts that do not fit, or a relative risk that is no benefit."""
    if not 1 <= ask.length <= 24 or not 1 <= ask.shifts <= WEEK // ask.length:
        raise RequestProblem(
            _("{shifts} shifts of {length} hours do not fit into a week.").format(shifts=ask.shifts, length=ask.length),
            fix=_("A week has 168 hours."),
        )
    if not 1 <= ask.collectors <= 20 or not 1 <= ask.minutes_per_set <= 120:
        raise RequestProblem(
            _("collectors run from 1 to 20, and minutes for a set from 1 to 120."), fix=_("Put the numbers right.")
        )
    if ask.risk is not None and not 0 < ask.risk[0] <= ask.risk[1] <= ask.risk[2] < 1:
        raise RequestProblem(
            _("a relative risk of 1 or more is no benefit, and low, likely and high must come in this order."),
            fix=_("Give it as 0.33,0.41,0.70: how often a set is contaminated when they draw, over how often now."),
        )


def _tiers(source: Path | str | None) -> tuple[Tier, ...]:
    if source is None or source == "":
        return ()
    name, rows = read_rows(source, advice=tier_columns().advice, pasted=_("the list of tiers"))
    return parse_tiers(rows, where=name)
