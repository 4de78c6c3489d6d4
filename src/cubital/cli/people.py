"""The private commands about people: the order of support, letters, disputes, corrections, the staff list.

Names are put beside keys on a terminal only. Where the output goes to a file or another program, a staff list is
refused: no list with names and rates may leave this computer's screen.
"""

from __future__ import annotations

import sys
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from cubital.cli.answering import print_answer
from cubital.cli.shared import MONTH, facility_option, json_option, opened, print_json
from cubital.domain.answer import Answer, AnswerTable
from cubital.domain.errors import RequestProblem
from cubital.domain.words import _, ngettext

if TYPE_CHECKING:
    from cubital.answers.people_reading import PeopleReading
    from cubital.workspace.opening import Workspace
    from cubital.workspace.people_letters import LetterStyle

FILE = click.Path(path_type=Path, dir_okay=False)
MOST_REASONS = 12
PURPOSES = ("support", "letters", "reply", "correction")  # the words of workspace.people.Purpose, which loads late

counts_option = click.option(
    "--counts", type=FILE, help="A table with the columns person, draws, contaminated; codes, never names."
)
staff_option = click.option(
    "--staff-list", type=FILE, help="The staff list, for names on the screen; read and not kept."
)
from_option = click.option("--from", "from_month", type=MONTH, help="First month; twelve months by default.")
to_option = click.option("--to", "to_month", type=MONTH, help="Last month; the newest by default.")
paper_option = click.option(
    "--paper", type=click.Choice(["a4", "letter"]), default="a4", show_default=True, help="Size of the paper."
)
contact_option = click.option("--contact", default="", help="Whom the letter says to ask.")
out_option = click.option("--out", type=FILE, required=True, help="The PDF of this one person.")


@click.group(invoke_without_command=True)
@counts_option
@from_option
@to_option
@facility_option
@staff_option
@click.option(
    "--purpose", type=click.Choice(PURPOSES), default="support", show_default=True,
    help="What the private figures are opened for; recorded.",
)  # fmt: skip
@json_option
@click.pass_context
def people(ctx: click.Context, /, as_json: bool, **asked: Any) -> None:
    """Private: who should be offered support first, fairly. Never for pay, discipline or contracts.

    From the workspace, or from a table of counts by code and no laboratory file at all.
    """
    if ctx.invoked_subcommand is not None:
        return
    if asked["counts"]:
        _print_counts(asked["counts"], as_json=as_json)
        return
    _print_workspace(opened(ctx), as_json=as_json, **asked)


def _print_counts(file: Path, *, as_json: bool) -> None:
    from cubital.answers.people import build_people_answer
    from cubital.workspace.people import counts_reading, counts_receipt, read_people_counts

    reading = counts_reading(read_people_counts(file))
    _say_private()
    _print(build_people_answer(reading, receipt=counts_receipt()), reading, as_json=as_json)


def _print_workspace(
    workspace: Workspace, *, as_json: bool, staff_list: Path | None, purpose: str, **asked: Any
) -> None:
    from cubital.answers.people import build_people_answer
    from cubital.workspace.people import Purpose, open_people
    from cubital.workspace.people_gathering import Window

    window = Window(from_month=asked["from_month"], to_month=asked["to_month"], facility=asked["facility"])
    names = _names(workspace, staff_list, as_json=as_json)
    material = open_people(workspace, window, purpose=Purpose(purpose), by="command")
    _say_private()
    answer = build_people_answer(material.reading, receipt=material.receipt)
    _print(answer, material.reading, as_json=as_json, names=names)


def _names(workspace: Workspace, staff_list: Path | None, *, as_json: bool) -> dict[str, str]:
    """Names by key, only where they end on a screen."""
    if staff_list is None:
        return {}
    if as_json or not sys.stdout.isatty():
        raise RequestProblem(
            _("names are shown on the screen only: no list with names and figures goes to a file or a program."),
            fix=_("Leave --staff-list out, or run it in a terminal without --json."),
        )
    from cubital.workspace.staff import names_of
    from cubital.workspace.staff_lists import read_staff_list

    return names_of(workspace, read_staff_list(staff_list))


def _say_private() -> None:
    """The purpose, and that the guard of what leaves was not applied, before any figure."""
    from cubital.answers.person_letter import purpose_words

    click.echo(purpose_words(), err=True)
    click.echo(
        _("Small counts are shown here: the guard for what leaves was not applied, because this must not leave."),
        err=True,
    )


def _print(answer: Answer, reading: PeopleReading, *, as_json: bool, names: dict[str, str] | None = None) -> None:
    if as_json:
        print_answer(answer, as_json=True)
        return
    print_answer(answer, as_json=False)
    if answer.table:
        _print_table(answer.table, names or {})
    _print_reasons(reading)


def _print_table(table: AnswerTable, names: dict[str, str]) -> None:
    columns: Sequence[str] = (*table.columns, _("Name")) if names else table.columns
    rows = [[*row, names.get(str(row[1]), "")] if names else list(row) for row in table.rows]
    shown = [list(columns), *[["" if cell is None else str(cell) for cell in row] for row in rows]]
    widths = [max(len(row[place]) for row in shown) for place in range(len(columns))]
    click.echo(f"\n  {table.title}")
    for row in shown:
        click.echo("  " + "  ".join(cell.rjust(width) for cell, width in zip(row, widths, strict=True)).rstrip())


def _print_reasons(reading: PeopleReading) -> None:
    from cubital.answers.people import reason_words

    click.echo()
    for one in (*reading.queue, *reading.considered[:MOST_REASONS]):
        click.echo(f"  {one.count.key}: {reason_words(one, reading)}")
    left = len(reading.considered) - MOST_REASONS
    if left > 0:
        words = ngettext(
            "and {count} more, considered and not chosen", "and {count} more, considered and not chosen", left
        )
        click.echo("  " + words.format(count=left))


@people.command()
@click.argument("file", type=FILE)
@click.option("--facility", required=True, help="The hospital whose staff it lists.")
@json_option
@click.pass_context
def roster(ctx: click.Context, file: Path, facility: str, as_json: bool) -> None:
    """Take a staff list in: name, initials, badge, role, unit, from, to. Names are not kept."""
    from cubital.workspace.staff import import_roster, report_words

    report = import_roster(opened(ctx), file=file, facility=facility)
    print_json(report) if as_json else click.echo(report_words(report))


@people.command()
@click.argument("key")
@out_option
@counts_option
@from_option
@to_option
@staff_option
@paper_option
@contact_option
@click.pass_context
def letter(
    ctx: click.Context, /, key: str, out: Path, counts: Path | None, staff_list: Path | None, paper: str, contact: str,
    **months: str | None,
) -> None:  # fmt: skip
    """Make the private letter of one person: clean draws first, no one else in it."""
    from cubital.workspace.people import read_people_counts
    from cubital.workspace.people_gathering import Window
    from cubital.workspace.people_letters import LetterStyle, make_letter, print_letter_from_counts

    style = LetterStyle(contact=contact, paper=paper)
    if counts:
        print_letter_from_counts(read_people_counts(counts), key=key, out=out, style=style)
    else:
        workspace = opened(ctx)
        addressed = _addressed(style, workspace, key, staff_list)
        make_letter(workspace, Window(**months), key=key, out=out, style=addressed)
        _record(workspace, "letters")
    click.echo(_("One letter, for one person: {file}").format(file=out.name))


@people.command()
@click.argument("key")
@out_option
@staff_option
@paper_option
@contact_option
@click.pass_context
def correction(ctx: click.Context, key: str, out: Path, staff_list: Path | None, paper: str, contact: str) -> None:
    """Make the letter that puts an earlier one right: what changed, why, and an apology."""
    from cubital.workspace.people_letters import LetterStyle, make_correction

    workspace = opened(ctx)
    style = _addressed(LetterStyle(contact=contact, paper=paper), workspace, key, staff_list)
    done = make_correction(workspace, key=key, out=out, style=style)
    _record(workspace, "correction")
    click.echo(_("A correction of {count} sets: {file}").format(count=done.changes, file=out.name))


@people.command()
@json_option
@click.pass_context
def corrections(ctx: click.Context, as_json: bool) -> None:
    """List the letters that no longer hold, by key, with the sets that changed."""
    from cubital.answers.person_letter import change_words
    from cubital.workspace.people_letters import corrections_due

    due = corrections_due(opened(ctx))
    if as_json:
        print_json(due)
        return
    _say_private()
    for one in due:
        click.echo(f"{one.key}: " + " ".join(change_words(change) for change in one.changes))
    if not due:
        click.echo(_("Every letter still holds."))


@people.command()
@click.argument("key")
@click.option("--set", "accessions", multiple=True, help="The number of a set that was not theirs; may be repeated.")
@click.option("--take-back", is_flag=True, help="Take disputes back instead: of the sets named, or all of this person.")
@click.option("--counts", type=FILE, help="Counts by code, with --without, instead of the workspace.")
@click.option("--without", nargs=2, type=int, help="With --counts: how many draws, and how many of them contaminated.")
@from_option
@to_option
@json_option
@click.pass_context
def dispute(
    ctx: click.Context, /, key: str, accessions: tuple[str, ...], take_back: bool, counts: Path | None,
    without: tuple[int, int] | None, as_json: bool, **months: str | None,
) -> None:  # fmt: skip
    """Count again without sets that somebody says were not theirs: old and new side by side."""
    from cubital.workspace import people as desk
    from cubital.workspace.people_gathering import Window

    if counts or without:
        if not (counts and without):
            raise click.UsageError(_("--counts and --without go together."))
        read = desk.read_people_counts(counts)
        answer = desk.dispute_in_counts(read, key=key, draws=without[0], contaminated=without[1])
    else:
        workspace = opened(ctx)
        if take_back:
            desk.take_back_disputes(workspace, key=key, accessions=accessions)
            answer = desk.dispute_answer(workspace, Window(**months), key=key)
        else:
            answer = desk.dispute_sets(workspace, Window(**months), key=key, accessions=accessions)
        _record(workspace, "reply")
    _say_private()
    print_answer(answer, as_json=as_json)
    if answer.table and not as_json:
        _print_table(answer.table, {})


@people.command()
@json_option
@click.pass_context
def openings(ctx: click.Context, as_json: bool) -> None:
    """List when private figures were opened, and for what."""
    from cubital.workspace.people import list_openings, purpose_name

    found = list_openings(opened(ctx))
    if as_json:
        print_json(found)
        return
    for one in found:
        click.echo(f"{one.at:%Y-%m-%d %H:%M}  {purpose_name(one.purpose)}  ({one.by}, {one.people})")


@people.command()
@click.pass_context
def expire(ctx: click.Context) -> None:
    """Delete what is kept of letters whose day has passed."""
    from cubital.workspace.people_letters import expire_individual

    count = expire_individual(opened(ctx))
    click.echo(_("Deleted: {count} records of letters.").format(count=count))


def _addressed(style: LetterStyle, workspace: Workspace, key: str, staff_list: Path | None) -> LetterStyle:
    if staff_list is None:
        return style
    from cubital.workspace.staff import names_of
    from cubital.workspace.staff_lists import read_staff_list

    return replace(style, name=names_of(workspace, read_staff_list(staff_list)).get(key, ""))


def _record(workspace: Workspace, purpose: str) -> None:
    from cubital.workspace.people import Purpose, record_opening

    record_opening(workspace, purpose=Purpose(purpose), by="command", people=1)


def add_commands(root: click.Group) -> None:
    """Hangs this module's commands on the root."""
    root.add_command(people)
