"""Commands about odd organisms and supplies: does something cluster, and which lots were in use there."""

from __future__ import annotations

from datetime import date, datetime
from pathlib import Path
from typing import TYPE_CHECKING

import click

from cubital.cli.answering import print_answer
from cubital.cli.shared import DAY, json_option, opened, print_json
from cubital.domain.answer import AnswerTable

if TYPE_CHECKING:
    from cubital.workspace.clusters import ClusterQuestion

TABLE_FILE = click.Path(path_type=Path, dir_okay=False)
organism_option = click.option("--organism", help="One organism or genus by name; every one that is rare if left out.")
until_option = click.option("--until", type=DAY, help="The last day looked at; the last day with a set if left out.")
days_option = click.option(
    "--days", type=click.IntRange(1, 366), default=28, show_default=True, help="How many days are looked at."
)


@click.command()
@click.option("--list", "growths", type=TABLE_FILE, help="A short list instead of the workspace: day, unit, organism.")
@organism_option
@until_option
@days_option
@click.option("--per-week", type=float, help="The usual number a week, where the days before cannot say it.")
@click.option("--before", type=DAY, nargs=2, help="First and last day of what is usual; a year before if left out.")
@json_option
@click.pass_context
def cluster(
    ctx: click.Context,
    growths: Path | None,
    organism: str | None,
    until: datetime | None,
    days: int,
    per_week: float | None,
    before: tuple[datetime, datetime] | None,
    as_json: bool,
) -> None:
    """Does an organism that is rare here cluster in time and place? Whom to tell; never what it means for a patient."""
    from cubital.workspace.clusters import ClusterQuestion, cluster_answer, list_cluster_answer

    question = ClusterQuestion(
        organism=organism, until=_day(until), days=days, per_week=per_week,
        baseline=(before[0].date(), before[1].date()) if before else None,
    )  # fmt: skip
    answer = list_cluster_answer(growths, question) if growths else cluster_answer(opened(ctx), question)
    print_answer(answer, as_json=as_json)
    if not as_json:
        print_table(answer.table)


@click.group()
def lots() -> None:
    """The register of lots: which gauze, antiseptic, kit or bottle lot was in use where, and when."""


@lots.command("take")
@click.argument("file", type=TABLE_FILE)
@json_option
@click.pass_context
def take(ctx: click.Context, file: Path, as_json: bool) -> None:
    """Take a list of lots: item, lot, facility, unit, from, to. An empty unit is the whole hospital."""
    from cubital.workspace.lots import take_lots

    taken = take_lots(opened(ctx), file=file)
    if as_json:
        print_json(taken)
    else:
        click.echo(f"{taken.rows} rows: {taken.added} new, {taken.changed} changed, {taken.unchanged} known already.")


@lots.command("list")
@json_option
@click.pass_context
def list_every(ctx: click.Context, as_json: bool) -> None:
    """Every lot with its places and days."""
    from cubital.workspace.lots import list_lots

    found = list_lots(opened(ctx))
    if as_json:
        print_json(list(found))
        return
    for one in found:
        until = f"to {one.to_day}" if one.to_day else "and still in use"
        click.echo(f"{one.item} {one.lot}: {one.facility}, {one.unit or 'every unit'}, from {one.from_day} {until}")
    if not found:
        click.echo("No lot is noted yet.")


@lots.command("exposure")
@organism_option
@until_option
@days_option
@json_option
@click.pass_context
def exposure(ctx: click.Context, organism: str | None, until: datetime | None, days: int, as_json: bool) -> None:
    """Lot by lot: sets that grew the clustering organism with it and without it. Exposure, not cause."""
    from cubital.workspace.clusters import cluster_report

    question = _question(organism, until, days=days)
    answer = cluster_report(opened(ctx), question).lots
    print_answer(answer, as_json=as_json)
    if not as_json:
        print_table(answer.table)


def print_table(table: AnswerTable | None) -> None:
    """The table as columns under each other; nothing where there is none."""
    if table is None:
        return
    rows = [table.columns, *(tuple("" if cell is None else str(cell) for cell in row) for row in table.rows)]
    widths = [max(len(row[i]) for row in rows) for i in range(len(table.columns))]
    click.echo(f"\n  {table.title}")
    for row in rows:
        click.echo("  " + "  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True)).rstrip())


def _question(organism: str | None, until: datetime | None, *, days: int) -> ClusterQuestion:
    from cubital.workspace.clusters import ClusterQuestion

    return ClusterQuestion(organism=organism, until=_day(until), days=days)


def _day(when: datetime | None) -> date | None:
    return when.date() if when else None


def add_commands(root: click.Group) -> None:
    """Hangs this module's commands on the root."""
    for command in (cluster, lots):
        root.add_command(command)
