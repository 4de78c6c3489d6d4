"""Commands around a month that jumped: the spike sheet, label errors beside reporting, a scenario."""

from __future__ import annotations

from pathlib import Path

import click

from cubital.cli.answering import print_answer
from cubital.cli.leaving import OUT_FILE, paper, paper_option
from cubital.cli.shared import MONTH, facility_option, json_option, opened, unit_option

TABLE_FILE = click.Path(path_type=Path, dir_okay=False)


@paper.command("spike")
@click.argument("out", type=OUT_FILE)
@click.option("--month", type=MONTH, required=True, help="The month that jumped, YYYY-MM.")
@facility_option
@unit_option
@paper_option
@click.pass_context
def paper_spike(ctx: click.Context, out: Path, month: str, facility: str | None, unit: str | None, paper: str) -> None:
    """The sheet for a month that jumped: data, mix, place and time, supplies, people last. A working sheet."""
    from cubital.workspace.spikes import print_spike

    print_spike(opened(ctx), month=month, facility=facility, unit=unit, out=out, paper=paper)
    click.echo(f"{out.name}: {month}, {unit or facility or 'the whole network'}. It stays with those who investigate.")


@click.command()
@click.argument("file", type=TABLE_FILE)
@json_option
def reporting(file: Path, as_json: bool) -> None:
    """Are label errors down, or did people stop reporting? From a table with month, sets, reports, errors."""
    from cubital.workspace.reporting import reporting_answer

    print_answer(reporting_answer(file), as_json=as_json)


@click.command()
@click.option("--from", "from_month", type=MONTH, help="First month, YYYY-MM.")
@click.option("--to", "to_month", type=MONTH, help="Last month, YYYY-MM.")
@facility_option
@unit_option
@json_option
@click.pass_context
def scenario(
    ctx: click.Context,
    from_month: str | None,
    to_month: str | None,
    facility: str | None,
    unit: str | None,
    as_json: bool,
) -> None:
    """If we stop drawing from new cannulas, what should happen? A range from a published ratio, not a forecast."""
    from cubital.workspace.reporting import cannula_answer

    answer = cannula_answer(opened(ctx), from_month=from_month, to_month=to_month, facility=facility, unit=unit)
    print_answer(answer, as_json=as_json)


def add_commands(root: click.Group) -> None:
    """Hangs this module's commands on the root; the sheet hangs on ``paper``."""
    for command in (reporting, scenario):
        root.add_command(command)
