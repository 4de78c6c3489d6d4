"""Commands about money: is it worth it, what does one contaminated set cost, and the inputs that finance gave."""

from __future__ import annotations

import re
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from cubital.cli.answering import print_answer
from cubital.cli.leaving import OUT_FILE
from cubital.cli.shared import MONTH, facility_option, json_option, opened, print_json, unit_option

if TYPE_CHECKING:
    from cubital.domain.costs import CostTable
    from cubital.workspace.worth_answers import Worth

TABLE_FILE = click.Path(path_type=Path, dir_okay=False)
_HOURS = re.compile(r"(\d{1,2})-(\d{1,2})")


class HoursText(click.ParamType[tuple[int, int]]):
    """A stretch of the day written ``8-20``, or over midnight ``20-8``."""

    name = "8-20"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> tuple[int, int]:
        found = _HOURS.fullmatch(str(value))
        hours = (int(found.group(1)), int(found.group(2)) % 24) if found else (24, 24)
        if hours[0] > 23 or hours[0] == hours[1]:
            self.fail(
                f"'{value}' is no stretch of the day. Write its first hour and the hour it ends: 8-20.", param, ctx
            )
        return hours


@click.command()
@click.argument("file", type=TABLE_FILE, required=False)
@click.option("--with", "changes", multiple=True, help="Another value: 'relative risk=0.5', or a range with two dots.")
@click.option("--counted", is_flag=True, help="Take sets and contaminated share from the stored cultures.")
@facility_option
@unit_option
@click.option("--from", "from_month", type=MONTH, help="First month of the stored cultures, YYYY-MM.")
@click.option("--to", "to_month", type=MONTH, help="Last month of the stored cultures, YYYY-MM.")
@click.option("--hours", type=HoursText(), help="Hours of the day that it would cover: their draws, their baseline.")
@click.option("--workbook", type=OUT_FILE, help="Finance's workbook with live formulas, .xlsx, to this file.")
@click.option("--paper", type=OUT_FILE, help="The business case, two pages and the inputs, PDF, to this file.")
@click.option("--size", type=click.Choice(["a4", "letter"]), default="a4", show_default=True, help="Size of the paper.")
@json_option
@click.pass_context
def worth(
    ctx: click.Context, /, as_json: bool, workbook: Path | None, paper: Path | None, size: str, **asked: Any
) -> None:
    """Is it worth it? A model with ranges and break-evens, from a table of inputs or the newest that was kept."""
    found = _worth(ctx, **asked)
    print_answer(found.answer, as_json=as_json, private=found.counted is not None)
    if workbook or paper:
        from cubital.workspace.worth_files import write_business_case, write_finance_workbook

        if workbook:
            write_finance_workbook(opened(ctx, create=True), worth=found, out=workbook)
            click.echo(f"{workbook.name}: finance's workbook.", err=True)
        if paper:
            write_business_case(opened(ctx, create=True), worth=found, out=paper, paper=size)
            click.echo(f"{paper.name}: the business case.", err=True)


def _worth(ctx: click.Context, *, file: Path | None, changes: tuple[str, ...], counted: bool, **place: Any) -> Worth:
    from cubital.answers.worth_table import change_inputs
    from cubital.workspace.worth_answers import worth_of, worth_with_counts
    from cubital.workspace.worth_counts import CountsAsk

    table = change_inputs(_table(ctx, file), changes) if changes else _table(ctx, file)
    if counted or any(place.values()):
        return worth_with_counts(opened(ctx), table=table, ask=CountsAsk(**place))
    return worth_of(table)


def _table(ctx: click.Context, file: Path | None) -> CostTable:
    from cubital.workspace.costs import costs_to_use, read_costs

    return read_costs(file) if file else costs_to_use(opened(ctx)).table


@click.group()
def costs() -> None:
    """The inputs to money questions: kept by version, each with its source; nothing has a default."""


@costs.command("take")
@click.argument("file", type=TABLE_FILE)
@click.option("--by", "noted_by", required=True, help="Who brings them.")
@click.option("--role", required=True, help="In which role, such as finance.")
@click.pass_context
def costs_take(ctx: click.Context, file: Path, noted_by: str, role: str) -> None:
    """Keep a table of inputs as the next version."""
    from cubital.workspace.costs import read_costs, save_costs

    kept = save_costs(opened(ctx, create=True), table=read_costs(file), noted_by=noted_by, role=role)
    click.echo(f"costs {kept.number}: {len(kept.table.inputs)} inputs, brought by {kept.noted_by} ({kept.role}).")


@costs.command("show")
@json_option
@click.pass_context
def costs_show(ctx: click.Context, as_json: bool) -> None:
    """The newest version as a table that can be edited and taken again, on standard output."""
    import csv
    import sys

    from cubital.answers.worth_table import cost_rows
    from cubital.workspace.costs import costs_to_use

    kept = costs_to_use(opened(ctx))
    if as_json:
        print_json(kept)
        return
    csv.writer(sys.stdout, lineterminator="\n").writerows(cost_rows(kept.table))


@costs.command("each")
@click.argument("file", type=TABLE_FILE, required=False)
@json_option
@click.pass_context
def costs_each(ctx: click.Context, file: Path | None, as_json: bool) -> None:
    """What one contaminated set costs: a range, part by part. Marginal costs only; charges are refused."""
    from cubital.workspace.worth_answers import contamination_cost_of

    print_answer(contamination_cost_of(_table(ctx, file)), as_json=as_json)


@costs.command("published")
@json_option
def costs_published(as_json: bool) -> None:
    """What others published about it, and how each differs. To compare; never added, never a default."""
    from cubital.answers.contamination_cost import published_table

    table = published_table()
    if as_json:
        print_json(table)
        return
    click.echo(table.title)
    for row in table.rows:
        amount = f"{row[1] or 'no money'}, {row[2]}, {row[3]}"
        days = f", extra days {row[4]}" if row[4] else ""
        click.echo(f"  {row[0]}: {amount}{days}. Includes {row[5]}. Differs: {row[6]}.")


def add_commands(root: click.Group) -> None:
    """Hangs this module's commands on the root."""
    for command in (worth, costs):
        root.add_command(command)
