"""Commands that let something leave: spreadsheets, row accounts, papers."""

from __future__ import annotations

from pathlib import Path

import click

from cubital.cli.shared import MONTH, facility_option, opened, unit_option
from cubital.workspace.places import last_place, list_places

OUT_FILE = click.Path(path_type=Path, dir_okay=False)
paper_option = click.option(
    "--paper", type=click.Choice(["a4", "letter"]), default="a4", show_default=True, help="Size of the paper."
)


@click.group()
def export() -> None:
    """Tidy tables for a spreadsheet: one row per thing, text as text, a codebook beside them."""


@export.command("sets")
@click.argument("out", type=OUT_FILE)
@click.option("--from", "from_month", type=MONTH, help="First month, YYYY-MM.")
@click.option("--to", "to_month", type=MONTH, help="Last month, YYYY-MM.")
@facility_option
@unit_option
@click.pass_context
def export_every_set(
    ctx: click.Context, out: Path, from_month: str | None, to_month: str | None, facility: str | None, unit: str | None
) -> None:
    """Every set with its class and the reason, as .xlsx or .csv."""
    from cubital.workspace.exports import export_sets

    count = export_sets(
        opened(ctx), out=out, from_month=from_month, to_month=to_month, facility=facility, unit=unit
    )  # fmt: skip
    click.echo(f"{count:,} sets written to {out.name}.")


@export.command("rows")
@click.argument("batch", type=int)
@click.argument("out", type=OUT_FILE)
@click.pass_context
def export_rows(ctx: click.Context, batch: int, out: Path) -> None:
    """Every row of one batch with what became of it and why, as .xlsx or .csv."""
    from cubital.workspace.exports import export_fates

    count = export_fates(opened(ctx), batch=batch, out=out)
    click.echo(f"{count:,} rows written to {out.name}.")


@export.command("counts")
@click.argument("out", type=OUT_FILE)
@click.option("--from", "from_month", type=MONTH, help="First month, YYYY-MM.")
@click.option("--to", "to_month", type=MONTH, help="Last month, YYYY-MM.")
@facility_option
@click.pass_context
def export_unit_counts(
    ctx: click.Context, out: Path, from_month: str | None, to_month: str | None, facility: str | None
) -> None:
    """Counts by unit and month for others, as .xlsx or .csv; small counts and what would give them away are hidden."""
    from cubital.workspace.count_exports import export_counts

    done = export_counts(opened(ctx), out=out, from_month=from_month, to_month=to_month, facility=facility)
    click.echo(f"{done.rows:,} rows written to {out.name}: {done.shown:,} counts shown, {done.hidden:,} hidden.")


@click.group()
def paper() -> None:
    """Pages to print, readable on a grey printer."""


@paper.command("unit")
@click.argument("out", type=OUT_FILE)
@click.option("--month", type=MONTH, help="YYYY-MM; the place and month last looked at if left out.")
@facility_option
@unit_option
@paper_option
@click.option(
    "--own", is_flag=True, help="The unit's own page: small counts are not hidden, and the page says that it stays."
)
@click.pass_context
def paper_unit(
    ctx: click.Context, out: Path, month: str | None, facility: str | None, unit: str | None, paper: str, own: bool
) -> None:
    """One page for the wall: the unit's month, its sentence, its trend, a strength, a focus; small counts hidden."""
    from cubital.workspace.printing import print_unit

    workspace = opened(ctx)
    if month is None:
        place = last_place(workspace)
        month = place.month if place and place.month else list_places(workspace).months[-1]
        if place and facility is None and unit is None:
            facility, unit = place.facility, place.unit
    print_unit(workspace, month=month, facility=facility, unit=unit, out=out, paper=paper, for_others=not own)
    click.echo(f"{out.name}: {month}, {unit or facility or 'the whole network'}.")


@paper.command("charter")
@click.argument("out", type=OUT_FILE)
@paper_option
@click.option("--own", is_flag=True, help="For the two who sign: small counts are not hidden; do not pass it on.")
@click.pass_context
def paper_charter(ctx: click.Context, out: Path, paper: str, own: bool) -> None:
    """The charter on one page, with its signatures or the lines for them."""
    from cubital.workspace.printing import print_charter

    print_charter(opened(ctx), out=out, paper=paper, for_others=not own)
    click.echo(f"{out.name}: the charter in force.")


def add_commands(root: click.Group) -> None:
    """Hangs this module's commands on the root."""
    for command in (export, paper):
        root.add_command(command)
