"""Commands that keep the data safe: back up, restore, verify."""

from __future__ import annotations

from pathlib import Path

import click

from cubital.cli.shared import json_option, opened, print_json, progress_to_terminal, say
from cubital.domain.errors import WorkspaceProblem
from cubital.domain.words import _, grouped_words, ngettext

PLACE = click.Path(path_type=Path)


@click.command()
@click.option("--to", required=True, type=PLACE, help="A new file, or a folder, at best on another disk.")
@json_option
@click.pass_context
def backup(ctx: click.Context, to: Path, as_json: bool) -> None:
    """Write everything into one file, as it is at this moment.

    The file holds the secret of the workspace: keep it as safe as the workspace itself.
    """
    from cubital.workspace.backing_up import back_up

    with opened(ctx) as workspace:
        report = back_up(workspace, to=to, progress=progress_to_terminal())
    if as_json:
        print_json(report)
        return
    click.echo(
        _("{files} files up to batch {batch}, {size} MB, written to {place}.").format(
            files=grouped_words(report.files), batch=report.batch, size=_megabytes(report.bytes), place=report.path
        )
    )
    click.echo(_("Its seal: {seal}").format(seal=report.seal))
    click.echo(_("The file holds the secret of this workspace. Keep it as safe as the workspace itself."))


@click.command()
@click.argument("backup_file", metavar="BACKUP", type=PLACE)
@click.argument("folder", type=PLACE)
@json_option
def restore(backup_file: Path, folder: Path, as_json: bool) -> None:
    """Put BACKUP back into the new or empty FOLDER: everything, checked, or nothing."""
    from cubital.workspace.restoring import restore as restore_backup

    report = restore_backup(backup_file, to=folder, progress=progress_to_terminal(), say=say)
    if as_json:
        print_json(report)
        return
    click.echo(
        _("{files} files up to batch {batch}, backed up {moment}, restored to {place} and verified.").format(
            files=grouped_words(report.files), batch=report.batch, moment=report.made_at, place=report.folder
        )
    )


@click.command()
@click.argument("backup_file", metavar="[BACKUP]", required=False, type=PLACE)
@click.option(
    "--discard-copies", is_flag=True, help="If all is well, delete the copies made before bringing it forward."
)
@json_option
@click.pass_context
def verify(ctx: click.Context, backup_file: Path | None, discard_copies: bool, as_json: bool) -> None:
    """Look whether everything is still as it was accepted: the workspace, or BACKUP if you name one.

    Ends with 0 where all is well, and with 12 (10 for a backup) where something is damaged.
    """
    from cubital.workspace.verifying import VerifyReport, verify_backup, verify_workspace

    if backup_file is not None:
        report: VerifyReport = verify_backup(backup_file)
    else:
        with opened(ctx) as workspace:
            report = verify_workspace(workspace, progress=progress_to_terminal())
    if as_json:
        print_json(report)
    else:
        for finding in report.findings:
            click.echo(finding.sentence())
    if report.findings:
        raise _damage(len(report.findings), "" if backup_file else str(ctx.find_root().obj))
    if not as_json:
        _say_well(report.files, report.bytes, unsealed=report.unsealed)
        _say_copies(ctx, report.copies, discard=discard_copies)


def _damage(count: int, where: str) -> WorkspaceProblem:
    found = ngettext("{count} thing is damaged.", "{count} things are damaged.", count).format(count=count)
    return WorkspaceProblem(
        found, where=where, fix=_("Restore the last backup into a new folder, and take the later files again.")
    )


def _say_well(files: int, size: int, *, unsealed: int) -> None:
    text = _("All is well: {files} files, {size} MB, are as they were accepted.")
    click.echo(text.format(files=grouped_words(files), size=_megabytes(size)))
    if unsealed:
        note = ngettext(
            "Of {count} file no fingerprint was noted when it was accepted; it can be read, and has its rows.",
            "Of {count} files no fingerprint was noted when they were accepted; they can be read, and have their rows.",
            unsealed,
        )
        click.echo(note.format(count=grouped_words(unsealed)))


def _say_copies(ctx: click.Context, copies: tuple[str, ...], *, discard: bool) -> None:
    if not copies:
        return
    if discard:
        from cubital.workspace.migrating import discard_copies
        from cubital.workspace.writing import hold_workspace

        with opened(ctx) as workspace, hold_workspace(workspace):
            discard_copies(workspace)
        click.echo(_("Deleted, as no longer needed: {names}.").format(names=", ".join(copies)))
        return
    click.echo(
        _("Copies from before it was brought forward can go now (--discard-copies): {names}.").format(
            names=", ".join(copies)
        )
    )


def _megabytes(size: int) -> str:
    return f"{max(size, 100_000) / 1_000_000:,.1f}"


def add_commands(root: click.Group) -> None:
    """Hangs this module's commands on the root."""
    for command in (backup, restore, verify):
        root.add_command(command)
