"""Commands about supply: when bottles run out, the card of a shortage's tiers, and the shifts of a collector."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

import click

from cubital.cli.answering import print_answer, print_with_receipt, receipt_option
from cubital.cli.leaving import OUT_FILE, paper, paper_option
from cubital.cli.shared import DAY, MONTH, facility_option, json_option, opened, unit_option

TABLE_FILE = click.Path(path_type=Path, dir_okay=False)
tiers_option = click.option(
    "--tiers", type=TABLE_FILE,
    help="The steps of a shortage: tier, below days, saves low, saves high (per cent), what, owner, approved on, "
    "review by.",
)  # fmt: skip
on_option = click.option("--on", type=DAY, metavar="YYYY-MM-DD", help="The last day that is over; that of the list.")


@click.command()
@click.argument("file", type=TABLE_FILE)
@tiers_option
@on_option
@click.option(
    "--detected", type=click.IntRange(0, 100_000), help="Infections found in a year, for what a tier may cost."
)
@json_option
def stock(file: Path, tiers: Path | None, on: datetime | None, detected: int | None, as_json: bool) -> None:
    """When do bottles run out? From a list with item, day, and used, counted or delivery. Nothing is kept."""
    from cubital.workspace.supply import stock_answer

    day = on.date() if on else None
    print_answer(stock_answer(file, tiers=tiers, today=day, detected_per_year=detected), as_json=as_json)


@paper.command("tiers")
@click.argument("out", type=OUT_FILE)
@click.argument("stock", type=TABLE_FILE)
@click.option("--tiers", type=TABLE_FILE, required=True, help="The steps of the shortage, as for the command stock.")
@on_option
@paper_option
@click.pass_context
def paper_tiers(ctx: click.Context, out: Path, stock: Path, tiers: Path, on: datetime | None, paper: str) -> None:
    """The card of a shortage for the units: what to do at each level of stock, by whose decision."""
    from cubital.workspace.tier_cards import print_tier_card

    print_tier_card(opened(ctx), stock=stock, tiers=tiers, out=out, paper=paper, today=on.date() if on else None)
    click.echo(f"{out.name}: the steps of a shortage. Fewer cultures are a clinical decision; follow local policy.")


@click.command()
@click.option("--shifts", type=click.IntRange(1, 168), default=7, show_default=True, help="Shifts a week.")
@click.option("--length", type=click.IntRange(1, 24), default=12, show_default=True, help="Hours of a shift.")
@click.option("--collectors", type=click.IntRange(1, 20), default=1, show_default=True, help="Collectors in a shift.")
@click.option(
    "--minutes", type=click.FloatRange(1, 120), default=15, show_default=True, help="One set takes a collector."
)
@click.option("--risk", callback=lambda _c, _p, text: _risk(text), metavar="LOW,LIKELY,HIGH",
              help="Relative risk of contamination when they draw, such as 0.33,0.41,0.70.")  # fmt: skip
@click.option("--from", "from_month", type=MONTH, help="First month; otherwise the last twelve are taken.")
@click.option("--to", "to_month", type=MONTH, help="Last month; otherwise the last one there is.")
@facility_option
@unit_option
@receipt_option
@json_option
@click.pass_context
def coverage(
    ctx: click.Context, shifts: int, length: int, collectors: int, minutes: float,
    risk: tuple[float, float, float] | None, from_month: str | None, to_month: str | None, facility: str | None,
    unit: str | None, keep: bool, as_json: bool,
) -> None:  # fmt: skip
    """Which shifts of the week would reach most contaminated sets, and how many of them find nobody free."""
    from cubital.workspace.supply import cover_asked

    workspace = opened(ctx)
    asked = {
        "shifts": shifts, "length": length, "collectors": collectors, "minutes": minutes,
        "risk": list(risk) if risk else None, "facility": facility, "unit": unit, "from_month": from_month,
        "to_month": to_month,
    }  # fmt: skip
    print_with_receipt(
        workspace, cover_asked(workspace, **asked), question="coverage", asked=asked, keep=keep, as_json=as_json
    )


def _risk(text: str | None) -> tuple[float, float, float] | None:
    if text is None:
        return None
    try:
        low, likely, high = (float(part) for part in text.split(","))
    except ValueError:
        raise click.BadParameter(
            f"'{text}' is not three numbers, such as 0.33,0.41,0.70.", param_hint="--risk"
        ) from None
    return low, likely, high


def add_commands(root: click.Group) -> None:
    """Hangs this module's commands on the root; the card hangs on ``paper``."""
    for command in (stock, coverage):
        root.add_command(command)
