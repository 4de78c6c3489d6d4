"""Commands that keep a workspace small: join small files, set the keep time, let old states go."""

from __future__ import annotations

from typing import Any

import click

from cubital.cli.shared import json_option, opened, print_json
from cubital.domain.words import _, ngettext

ALWAYS = "always"


class KeepTime(click.ParamType[int | str]):
    """A number of days, or the word for no end."""

    name = "DAYS|always"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> int | str:
        text = str(value).strip().casefold()
        if text == ALWAYS:
            return ALWAYS
        if not text.isdecimal():
            self.fail(
                f"'{value}' is no keep time. Write a number of days, such as 400, or the word always.", param, ctx
            )
        return int(text)


@click.command()
@click.option("--plan", is_flag=True, help="Only say what would be joined.")
@json_option
@click.pass_context
def compact(ctx: click.Context, plan: bool, as_json: bool) -> None:
    """Join the many small files of each month into one. Not one row, number or answer changes."""
    from cubital.workspace.compacting import compact_workspace, plan_compaction

    workspace = opened(ctx)
    report = plan_compaction(workspace) if plan else compact_workspace(workspace)
    if as_json:
        print_json(report)
    elif not report.files_before:
        click.echo(_("Nothing to join: every month lies in one file already."))
    else:
        words = _("{before} files would become {after}.") if plan else _("{before} files became {after}.")
        click.echo(words.format(before=report.files_before, after=report.files_after))


@click.command()
@click.argument("keep_time", type=KeepTime(), required=False)
@click.pass_context
def keep(ctx: click.Context, keep_time: int | str | None) -> None:
    """Say how long an old state can be opened again, or set it: DAYS, or the word always.

    The last state, and every state that a frozen month rests on, are kept whatever the keep time.
    """
    from cubital.workspace.vacuuming import keep_days, set_keep_days

    workspace = opened(ctx)
    if keep_time is not None:
        set_keep_days(workspace, keep_time if isinstance(keep_time, int) else None)
    days = keep_days(workspace)
    if days is None:
        click.echo(_("Every state that a file ever left can be opened again, always."))
    else:
        text = ngettext(
            "An old state can be opened again for {days} day after a later file replaced it.",
            "An old state can be opened again for {days} days after a later file replaced it.",
            days,
        )
        click.echo(text.format(days=days))


@click.command()
@click.option("--yes", is_flag=True, help="Let go and delete. Without it, only say what would go.")
@json_option
@click.pass_context
def vacuum(ctx: click.Context, yes: bool, as_json: bool) -> None:
    """Let old states go whose keep time has passed, and delete the files that only they needed.

    Says what would go; does it with --yes. Keep a backup if you may ever need an old state again.
    """
    from cubital.workspace.vacuuming import plan_vacuum, vacuum_workspace

    workspace = opened(ctx)
    report = vacuum_workspace(workspace) if yes else plan_vacuum(workspace)
    if as_json:
        print_json(report)
        return
    if not (report.batches or report.files or report.later_files):
        click.echo(_("Nothing to let go: every file is needed by a state that is promised."))
        return
    if report.batches:
        batches = ", ".join(str(number) for number in report.batches)
        words = _("No longer opened: what these batches left: {batches}.")
        click.echo(words.format(batches=batches))
    words = _("Deleted: {files} files, {size} MB.") if yes else _("Would be deleted: {files} files, {size} MB.")
    click.echo(words.format(files=report.files, size=_megabytes(report.bytes)))
    if report.later_files:
        words = _("Not before an hour has passed, because they may be being read: {files} files, {size} MB.")
        click.echo(words.format(files=report.later_files, size=_megabytes(report.later_bytes)))
    if not yes:
        click.echo(_("Nothing was changed. To do it: cubital vacuum --yes"))


def _megabytes(size: int) -> str:
    return f"{size / 1e6:,.1f}"


def add_commands(root: click.Group) -> None:
    """Hangs this module's commands on the root."""
    for command in (compact, keep, vacuum):
        root.add_command(command)
