"""Commands about the diary: what changed, where and when; corrected and withdrawn without writing over."""

from __future__ import annotations

import sys
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from cubital.cli.answering import print_answer
from cubital.cli.clusters import print_table
from cubital.cli.shared import DAY, facility_option, json_option, opened, print_json, unit_option
from cubital.domain.diary import ChangeKind

if TYPE_CHECKING:
    from cubital.domain.diary import DiaryEntry
    from cubital.workspace.diary_import import DiaryTable

KINDS = [kind.value for kind in ChangeKind if kind is not ChangeKind.RENAME]
kind_choice = click.Choice(KINDS)
by_option = click.option("--by", "noted_by", default="", help="Who notes it, by role: practice educator.")
why_option = click.option("--why", required=True, help="What was wrong with it; kept with the old entry.")


@click.group()
def diary() -> None:
    """What changed, where and on which day: training, kit, staffing, policy, analyser, list. Marked on every chart."""


@diary.command("list")
@facility_option
@unit_option
@json_option
@click.pass_context
def list_every(ctx: click.Context, facility: str | None, unit: str | None, as_json: bool) -> None:
    """Every entry in force, by day; with a place, those that reached it. Renames, signed charters and approved policies
    stand among them without a number."""
    from cubital.workspace.diary import list_entries

    if unit is not None and facility is None:
        raise click.UsageError("--unit needs --facility.")
    found = list_entries(opened(ctx), facility=facility, unit=unit)
    if as_json:
        print_json(list(found))
        return
    for entry in found:
        click.echo(_line(entry))
    if not found:
        click.echo("Nothing is in the diary yet.")


@diary.command()
@click.argument("day", type=DAY)
@click.argument("words")
@click.option("--kind", type=kind_choice, required=True, help="What sort of thing changed.")
@facility_option
@unit_option
@click.option("--until", type=DAY, help="The last day, where it ended.")
@by_option
@json_option
@click.pass_context
def add(
    ctx: click.Context,
    day: datetime,
    words: str,
    *,
    kind: str,
    facility: str | None,
    unit: str | None,
    until: datetime | None,
    noted_by: str,
    as_json: bool,
) -> None:
    """Note that something changed on DAY (YYYY-MM-DD), in a few WORDS. Without a unit it is the whole hospital, without
    a hospital everywhere."""
    from cubital.workspace.diary import note_entry

    entry = note_entry(
        opened(ctx), kind=ChangeKind(kind), on=day.date(), words=words, facility=facility, unit=unit,
        until=until.date() if until else None, noted_by=noted_by,
    )  # fmt: skip
    _print_entry(entry, as_json=as_json)


@diary.command()
@click.argument("number", type=int)
@why_option
@click.option("--day", type=DAY, help="The right day.")
@click.option("--words", help="The right words.")
@click.option("--kind", type=kind_choice, help="The right kind.")
@facility_option
@unit_option
@click.option("--everywhere", is_flag=True, help="It was everywhere, not at one place.")
@click.option("--until", type=DAY, help="The right last day.")
@click.option("--open", "still_open", is_flag=True, help="It has not ended.")
@by_option
@json_option
@click.pass_context
def correct(
    ctx: click.Context,
    number: int,
    *,
    why: str,
    day: datetime | None,
    words: str | None,
    kind: str | None,
    facility: str | None,
    unit: str | None,
    everywhere: bool,
    until: datetime | None,
    still_open: bool,
    noted_by: str,
    as_json: bool,
) -> None:
    """Correct entry NUMBER: what is not given stays as it is. The old entry is kept with the day and the reason.

    --facility without --unit makes it the whole hospital."""
    from cubital.workspace.diary import correct_entry, find_entry

    if (everywhere and (facility or unit)) or (still_open and until):
        raise click.UsageError("--everywhere excludes --facility and --unit, --open excludes --until.")
    workspace = opened(ctx)
    old = find_entry(workspace, number)
    moved = bool(everywhere or facility or unit)
    entry = correct_entry(
        workspace,
        number=number,
        why=why,
        kind=ChangeKind(kind) if kind else old.kind,
        on=day.date() if day else old.on,
        words=old.words if words is None else words,
        facility=(None if everywhere else facility or old.facility) if moved else old.facility,
        unit=unit if moved else old.unit,
        until=until.date() if until else None if still_open else old.until,
        noted_by=noted_by or old.noted_by,
    )
    _print_entry(entry, as_json=as_json)


@diary.command()
@click.argument("number", type=int)
@why_option
@json_option
@click.pass_context
def withdraw(ctx: click.Context, number: int, *, why: str, as_json: bool) -> None:
    """Withdraw entry NUMBER: it counts no more and stays readable in its history."""
    from cubital.workspace.diary import withdraw_entry

    line = withdraw_entry(opened(ctx), number=number, why=why)
    if as_json:
        print_json(line)
    else:
        click.echo(f"Withdrawn: {_line(line.entry)}")


@diary.command()
@click.argument("number", type=int)
@json_option
@click.pass_context
def history(ctx: click.Context, number: int, as_json: bool) -> None:
    """Every form that entry NUMBER has had, oldest first, with the reason for each change."""
    from cubital.workspace.diary import entry_history

    lines = entry_history(opened(ctx), number)
    if as_json:
        print_json(list(lines))
        return
    for line in lines:
        end = f"; ended {line.ended_at:%Y-%m-%d}: {line.why}" if line.ended_at else "; in force"
        click.echo(f"{_line(line.entry)} (noted {line.noted_at:%Y-%m-%d}{end})")


@diary.command("import")
@click.argument("file", type=click.Path(path_type=Path, dir_okay=False, allow_dash=True))
@click.option("--preview", is_flag=True, help="Only show what would be added.")
@by_option
@json_option
@click.pass_context
def take(ctx: click.Context, file: Path, *, preview: bool, noted_by: str, as_json: bool) -> None:
    """Take a diary kept by hand: day, until, kind, facility, unit, what. All rows or none; known rows add nothing.

    FILE is CSV, TSV or XLSX; - reads pasted text from standard input."""
    from cubital.workspace.diary_import import import_diary, preview_diary

    source: Path | str = sys.stdin.read() if str(file) == "-" else file
    workspace = opened(ctx)
    if preview:
        _print_preview(preview_diary(workspace, source), as_json=as_json)
        return
    taken = import_diary(workspace, source, noted_by=noted_by)
    if as_json:
        print_json(taken)
        return
    for entry in taken.added:
        click.echo(_line(entry))
    click.echo(f"{taken.rows} rows: {len(taken.added)} new, {taken.known} known already.")


@diary.command()
@facility_option
@unit_option
@click.option(
    "--window", type=click.IntRange(0, 366), default=31, show_default=True, help="Days within which two changes meet."
)
@json_option
@click.pass_context
def overlaps(ctx: click.Context, *, facility: str | None, unit: str | None, window: int, as_json: bool) -> None:
    """What changed together, and what can be tested: against other units, by before and after alone, or not."""
    from cubital.workspace.diary_answers import diary_answer

    if unit is not None and facility is None:
        raise click.UsageError("--unit needs --facility.")
    answer = diary_answer(opened(ctx), facility=facility, unit=unit, window=window)
    print_answer(answer, as_json=as_json, private=True)
    if not as_json:
        print_table(answer.table)


def _line(entry: DiaryEntry) -> str:
    from cubital.answers.diary import entry_words
    from cubital.answers.diary_entry import kind_words

    number = f"{entry.number}." if entry.number else "–"
    return f"{number:>4} {entry_words(entry)} [{kind_words(entry.kind)}]"


def _print_entry(entry: DiaryEntry, *, as_json: bool) -> None:
    if as_json:
        print_json(entry)
    else:
        click.echo(_line(entry))


def _print_preview(table: DiaryTable, *, as_json: bool) -> None:
    if as_json:
        print_json(table)
        return
    for draft in table.new:
        place: Any = ", ".join(part for part in (draft.facility, draft.unit) if part) or "everywhere"
        click.echo(f"row {draft.row}: {draft.on} {place}: {draft.words} [{draft.kind.value}]")
    click.echo(f"{len(table.new)} would be new, {table.known} are known already. Nothing was kept.")


def add_commands(root: click.Group) -> None:
    """Hangs this module's commands on the root."""
    root.add_command(diary)
