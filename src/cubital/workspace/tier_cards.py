"""Prints the card of a shortage from a stock list and its tiers; nothing is kept."""

from __future__ import annotations

from datetime import date
from pathlib import Path

from cubital.answers.stock_reading import StockState
from cubital.domain.errors import RequestProblem
from cubital.domain.words import _
from cubital.papers.out_files import write_whole
from cubital.papers.tier_card import print_tier_page
from cubital.workspace.opening import Workspace
from cubital.workspace.printing import paper_size
from cubital.workspace.supply import stock_readings
from cubital.workspace.writing import note_change, one_transaction


def print_tier_card(
    workspace: Workspace,
    *,
    stock: Path | str,
    tiers: Path | str,
    out: Path,
    paper: str = "a4",
    today: date | None = None,
    detected_per_year: int | None = None,
) -> None:
    """Writes the card of the item that runs out first, from files or from lists that were pasted.

    ``RequestProblem`` where no item can be said, ``PolicyProblem`` where a tier is not approved for the day.
    """
    size = paper_size(paper)
    said = [one for one in stock_readings(stock, tiers=tiers, today=today) if one.state is StockState.SAID]
    if not said:
        raise RequestProblem(
            _("no item of the list can be said: each needs a fresh count and two weeks of use."),
            fix=_("Ask first when bottles run out: the answer says what is missing."),
        )
    first = min(said, key=lambda one: one.as_now.early if one.as_now and one.as_now.early else date.max)
    write_whole(out, print_tier_page(first, detected_per_year=detected_per_year, paper=size))
    with one_transaction(workspace):
        note_change(workspace, action="print_tiers", subject=first.item.name[:200], tiers=len(first.tiers))
