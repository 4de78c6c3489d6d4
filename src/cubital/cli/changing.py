"""Commands about change: did it work, and for whom."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

import click

from cubital.cli.answering import print_answer, private_words, receipt_option
from cubital.cli.shared import DAY, facility_option, json_option, opened, print_json, unit_option
from cubital.domain.answer import Answer, build_answer_dict

if TYPE_CHECKING:
    from cubital.answers.did_hours import MatchedHours
    from cubital.workspace.opening import Workspace

TABLE_FILE = click.Path(path_type=Path, dir_okay=False)


@click.command()
@click.argument("file", type=TABLE_FILE, required=False)
@click.option("--entry", type=int, help="The number of an entry in the diary.")
@click.option("--on", type=DAY, help="The day on which it began, YYYY-MM-DD, where no entry is given.")
@facility_option
@unit_option
@click.option("--what", default="", help="What began that day, in a few words.")
@click.option("--asks", default="", help="The column of the table that is asked about; all of them without it.")
@receipt_option
@json_option
@click.pass_context
def did(
    ctx: click.Context, file: Path | None, entry: int | None, on: datetime | None, facility: str | None,
    unit: str | None, what: str, asks: str, keep: bool, as_json: bool,
) -> None:  # fmt: skip
    """Did it work? Of an entry in the diary, of a day and a place, or from a table of counts before and after.

    A table has the columns unit, period (before or after), sets, contaminated, and one column for each thing that
    differed, such as collector or kit; --unit says where it began, and --on the day from which this workspace's own
    sets of that unit are compared hour by hour beside it.
    """
    from cubital.workspace.did_answers import DidAsk, did_answer, did_of_counts, hours_around

    if (file is None) == (entry is None and on is None) or (entry is not None and on is not None):
        raise click.UsageError("Give one of the three: a table, --entry, or --on with --unit or --facility.")
    if file is not None:
        found = did_of_counts(file, asks=asks, at=unit or "")
        hours = hours_around(opened(ctx), facility=facility, unit=unit, on=on.date()) if on and unit else None
        _print_found(found, hours, as_json=as_json, private=hours is not None)
        return
    workspace = opened(ctx)
    both = did_answer(
        workspace, DidAsk(number=entry, on=on.date() if on else None, facility=facility, unit=unit, words=what)
    )
    code = _kept(workspace, both.answer, entry=entry, on=on, place=(facility, unit), what=what) if keep else None
    _print_found(both.answer, both.hours, as_json=as_json, private=True, code=code)


def _kept(
    workspace: Workspace, answer: Answer, *, entry: int | None, on: datetime | None,
    place: tuple[str | None, str | None], what: str,
) -> str:  # fmt: skip
    from cubital.workspace.receipts import keep_receipt

    day = f"{on:%Y-%m-%d}" if on else None
    asked = {"number": entry, "on": day, "facility": place[0], "unit": place[1], "words": what}
    return keep_receipt(workspace, question="did", asked=asked, answer=answer)


def _print_found(
    answer: Answer, hours: MatchedHours | None, *, as_json: bool, private: bool, code: str | None = None
) -> None:
    """The answer; after it the same hours, where they were looked at, and the receipt, where one was asked for."""
    if as_json:
        beside = {"hours": {"words": hours.words, "table": hours.table}} if hours else {}
        kept = {"receipt_code": code} if code is not None else {}
        print_json(build_answer_dict(answer) | beside | kept | ({"private": private_words()} if private else {}))
        return
    print_answer(answer, as_json=False, private=private)
    if hours is not None:
        click.echo(f"\n  {hours.words}")
        for row in hours.table.rows if hours.table else ():
            click.echo("  " + "  ".join(str(cell) for cell in row))
    if code is not None:
        from cubital.workspace.receipts import receipt_words

        click.echo(f"  {receipt_words(code)}")


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
