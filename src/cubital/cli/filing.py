"""Commands that bring something in: files, ward movements, the names of units; and what came in before."""

from __future__ import annotations

import sys
from collections.abc import Callable, Mapping
from datetime import datetime
from pathlib import Path
from typing import TypeVar

import click

from cubital.cli.shared import DAY, json_option, opened, print_json, progress_to_terminal, read_answers, say
from cubital.domain.errors import Question, QuestionsOpen
from cubital.domain.reconciliation import Tally

Report = TypeVar("Report")
EXISTING_FILE = click.Path(path_type=Path, dir_okay=False)

yes_option = click.option("--yes", is_flag=True, help="Accept what is proposed without rival; never guesses.")
answer_option = click.option(
    "--answer", "answers", multiple=True, metavar="KEY=VALUE", help="Answers an open question; may stand several times."
)


def ask_until_settled(
    attempt: Callable[[Mapping[str, str]], Report], answers: dict[str, str], *, may_ask: bool
) -> Report:
    """Runs ``attempt``; asks open questions at the terminal where a person sits there, else lets them through."""
    while True:
        try:
            return attempt(answers)
        except QuestionsOpen as open_questions:
            fresh = [q for q in open_questions.questions if q.key not in answers]
            if not may_ask or not fresh:
                raise
            for question in fresh:
                answers[question.key] = _ask(question)


def _ask(question: Question) -> str:
    kind = click.Choice(question.choices) if question.choices else str
    answer: str = click.prompt(question.text, type=kind, err=True)
    return answer


def person_at_terminal(*, as_json: bool, yes: bool) -> bool:
    """Whether a question may be asked: someone sits at a terminal and asked neither for JSON nor for silence."""
    return not as_json and not yes and sys.stdin.isatty() and sys.stderr.isatty()


def tally_rows(tallies: tuple[Tally, ...]) -> list[dict[str, str | int]]:
    """Tallies as the JSON contract has them."""
    return [{"reason": t.reason, "count": t.count, "words": t.words} for t in tallies]


def say_tallies(title: str, tallies: tuple[Tally, ...]) -> None:
    """Tallies as lines for a person."""
    if tallies:
        click.echo(title)
    for tally in tallies:
        click.echo(f"  {tally.count:>9,}  {tally.words}")


def _site_codes(file: Path | None) -> dict[str, str]:
    """The answers of a site map; none without one."""
    from cubital.reference.site_codes import read_site_codes

    if file is None:
        return {}
    return dict(read_site_codes(file.read_text(encoding="utf-8-sig").splitlines(), where=file.name))


@click.command()
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--facility", required=True, help="The hospital this file comes from.")
@click.option("--timezone", help="Its time zone, such as America/Chicago; asked once and remembered.")
@click.option("--source", help="A name for this kind of file, if a hospital sends several.")
@click.option(
    "--codes",
    type=EXISTING_FILE,
    help="A site map for messages: a CSV of kind, code, meaning for the laboratory's own codes; remembered.",
)
@yes_option
@answer_option
@json_option
@click.pass_context
def take(
    ctx: click.Context,
    file: Path,
    facility: str,
    timezone: str | None,
    source: str | None,
    codes: Path | None,
    yes: bool,
    answers: tuple[str, ...],
    as_json: bool,
) -> None:
    """Take a laboratory file in and account for every row of it.

    FILE is a table (CSV, text, workbook), a file of messages with results, or the folder of a FHIR bulk export.
    """
    from cubital.workspace.taking import take_file

    workspace = opened(ctx, create=True)
    report = ask_until_settled(
        lambda known: take_file(
            workspace, file=file, facility=facility, timezone=timezone, source=source, accept=yes,
            answers=known, progress=progress_to_terminal(),
        ),
        {**_site_codes(codes), **read_answers(answers)},
        may_ask=person_at_terminal(as_json=as_json, yes=yes),
    )  # fmt: skip
    if report.already_taken:
        say(f"This file was taken before, as batch {report.batch}: nothing changed.")
    if as_json:
        print_json(
            {
                "rows": report.rows, "sets": report.sets, "losses": tally_rows(report.losses),
                "doubts": tally_rows(report.doubts), "batch": report.batch, "already_taken": report.already_taken,
                "added": report.added, "changed": report.changed, "unchanged": report.unchanged,
            }
        )  # fmt: skip
        return
    click.echo(f"{report.rows:,} rows in, {report.sets:,} sets out (batch {report.batch}).")
    say_tallies("Rows that did not become a set of their own:", report.losses)
    say_tallies("Kept, with a doubt:", report.doubts)
    click.echo(f"{report.added:,} sets new, {report.changed:,} corrected, {report.unchanged:,} as they were.")


@click.command()
@click.argument("file", type=EXISTING_FILE)
@click.option("--facility", required=True, help="The hospital whose movements these are.")
@click.option("--timezone", help="Its time zone, such as America/Chicago; asked once and remembered.")
@click.option("--source", help="A name for this kind of file, if a hospital sends several.")
@yes_option
@answer_option
@json_option
@click.pass_context
def movements(
    ctx: click.Context,
    file: Path,
    facility: str,
    timezone: str | None,
    source: str | None,
    yes: bool,
    answers: tuple[str, ...],
    as_json: bool,
) -> None:
    """Take ward movements (patient, unit, from, to): the collecting unit is then read from them."""
    from cubital.workspace.moving import take_movements

    workspace = opened(ctx, create=True)
    report = ask_until_settled(
        lambda known: take_movements(
            workspace, file=file, facility=facility, timezone=timezone, source=source, accept=yes, answers=known
        ),
        read_answers(answers),
        may_ask=person_at_terminal(as_json=as_json, yes=yes),
    )
    if as_json:
        print_json(report)
        return
    for name, value in vars(report).items():
        if isinstance(value, int) and not isinstance(value, bool):
            click.echo(f"{value:>9,}  {name.replace('_', ' ')}")


@click.group()
def units() -> None:
    """The names of units over time."""


@units.command("rename")
@click.argument("old")
@click.argument("new")
@click.option("--on", "on", type=DAY, required=True, metavar="YYYY-MM-DD", help="First day of the new name.")
@click.option("--facility", required=True, help="The hospital.")
@json_option
@click.pass_context
def rename(ctx: click.Context, old: str, new: str, on: datetime, facility: str, as_json: bool) -> None:
    """Say that OLD became NEW on a day: both count as one unit, with a mark on that day."""
    from cubital.workspace.units import rename_unit

    rename_unit(opened(ctx, create=True), facility=facility, old=old, new=new, on=on.date())
    if as_json:
        print_json({"facility": facility, "old": old, "new": new, "on": on.date()})
        return
    click.echo(f"From {on.date()} on, {old} at {facility} is called {new}. Both names count as one unit.")


@units.command("list")
@json_option
@click.pass_context
def list_of_units(ctx: click.Context, as_json: bool) -> None:
    """Every unit with the names it has had."""
    from cubital.workspace.units import list_units

    found = list_units(opened(ctx))
    if as_json:
        print_json(list(found))
        return
    for unit in found:
        click.echo(f"{unit.facility} · {unit.unit_name}: {unit.sets:,} sets, {unit.first_month} to {unit.last_month}")
        for rename in unit.renames:
            click.echo(f"    called {rename.new_name} from {rename.on} on, '{rename.old_key}' before")


@click.command()
@json_option
@click.pass_context
def batches(ctx: click.Context, as_json: bool) -> None:
    """What came in, when, and what became of it."""
    from cubital.workspace.batches import list_batches

    found = list_batches(opened(ctx))
    if as_json:
        print_json(list(found))
        return
    for batch in found:
        account = batch.reconciliation
        click.echo(
            f"{batch.number:>4}  {batch.taken_at:%Y-%m-%d %H:%M}  {batch.facility} · {batch.file_name}: "
            f"{account.rows:,} rows, {batch.added:,} new, {batch.changed:,} corrected, {batch.unchanged:,} as they were"
        )


def add_commands(root: click.Group) -> None:
    """Hangs this module's commands on the root."""
    for command in (take, movements, units, batches):
        root.add_command(command)
