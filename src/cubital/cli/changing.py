"""Commands about change: did it work, and for whom."""

from __future__ import annotations

from pathlib import Path

import click

from cubital.cli.answering import print_answer
from cubital.cli.shared import json_option, unit_option

TABLE_FILE = click.Path(path_type=Path, dir_okay=False)


@click.command()
@click.argument("file", type=TABLE_FILE, required=False)
@click.option("--asks", default="", help="The column of the table that is asked about; all of them without it.")
@unit_option
@json_option
def did(file: Path | None, asks: str, unit: str | None, as_json: bool) -> None:
    """Did it work? From a table with unit, period, sets, contaminated and what differed."""
    from cubital.workspace.did_answers import did_of_counts

    if file is None:
        raise click.UsageError("Give a table.")
    print_answer(did_of_counts(file, asks=asks, at=unit or ""), as_json=as_json)


def add_commands(root: click.Group) -> None:
    """Hangs this module's commands on the root."""
    root.add_command(did)
