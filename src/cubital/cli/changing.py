"""Commands about change: did it work, and for whom."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

import click

from cubital.cli.answering import print_answer
from cubital.cli.shared import DAY, facility_option, json_option, opened, unit_option

TABLE_FILE = click.Path(path_type=Path, dir_okay=False)


@click.command()
@click.argument("file", type=TABLE_FILE, required=False)
@click.option("--entry", type=int, help="The number of an entry in the diary.")
@click.option("--on", type=DAY, help="The day on which it began, YYYY-MM-DD, where no entry is given.")
@facility_option
@unit_option
@click.option("--what", default="", help="What began that day, in a few words.")
@click.option("--asks", default="", help="The column of the table that is asked about; all of them without it.")
@json_option
@click.pass_context
def did(
    ctx: click.Context, file: Path | None, entry: int | None, on: datetime | None, facility: str | None,
    unit: str | None, what: str, asks: str, as_json: bool,
) -> None:  # fmt: skip
    """Did it work? Of an entry in the diary, of a day and a place, or from a table of counts before and after.

    A table has the columns unit, period (before or after), sets, contaminated, and one column for each thing that
    differed, such as collector or kit; --unit says where it began.
    """
    from cubital.workspace.did_answers import DidAsk, did_answer, did_of_counts

    if (file is not None) + (entry is not None) + (on is not None) != 1:
        raise click.UsageError("Give one of the three: a table, --entry, or --on with --unit or --facility.")
    if file is not None:
        print_answer(did_of_counts(file, asks=asks, at=unit or ""), as_json=as_json)
        return
    ask = DidAsk(number=entry, on=on.date() if on else None, facility=facility, unit=unit, words=what)
    print_answer(did_answer(opened(ctx), ask), as_json=as_json, private=True)


@click.command()
@click.argument("file", type=TABLE_FILE)
@json_option
def attended(file: Path, as_json: bool) -> None:
    """Did the training work, or did only keen people attend? From a table with attended, period, weeks and counts."""
    from cubital.workspace.did_answers import attendance_answer

    print_answer(attendance_answer(file), as_json=as_json)


def add_commands(root: click.Group) -> None:
    """Hangs this module's commands on the root."""
    for command in (did, attended):
        root.add_command(command)
