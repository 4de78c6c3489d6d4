"""The command that lays a laboratory's own list of contaminated sets beside what the charter counts."""

from __future__ import annotations

from pathlib import Path

import click

from cubital.cli.answering import print_answer
from cubital.cli.clusters import print_table
from cubital.cli.shared import MONTH, facility_option, json_option, opened


@click.command()
@click.argument("file", type=click.Path(path_type=Path, dir_okay=False))
@click.option("--month", type=MONTH, required=True, help="The month, or the first of them, YYYY-MM.")
@click.option("--to", "to_month", type=MONTH, help="The last month; the same one if left out.")
@facility_option
@json_option
@click.pass_context
def reconcile(
    ctx: click.Context, file: Path, month: str, to_month: str | None, facility: str | None, as_json: bool
) -> None:
    """Why the laboratory's number differs: their list of accession numbers against the charter, set by set."""
    from cubital.workspace.reconciled_lists import reconciled_answer

    answer = reconciled_answer(opened(ctx), file, from_month=month, to_month=to_month, facility=facility)
    print_answer(answer, as_json=as_json, private=True)
    if not as_json:
        click.echo()
        print_table(answer.table)


def add_commands(root: click.Group) -> None:
    """Hangs this module's command on the root."""
    root.add_command(reconcile)
