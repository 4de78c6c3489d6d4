"""The command that watches a folder."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

import click

from cubital.cli.filing import answer_option
from cubital.cli.shared import opened, read_answers

SECONDS = click.FloatRange(min=0, max=86_400)


def _say(sentence: str) -> None:
    """One line of the log, by the clock on the wall."""
    click.echo(f"{datetime.now():%Y-%m-%d %H:%M:%S}  {sentence}")  # noqa: DTZ005 - read beside other local logs


@click.command()
@click.argument("folder", type=click.Path(path_type=Path, file_okay=False))
@click.option("--facility", help="Files land in FOLDER itself, all of this hospital. Else: one folder per hospital.")
@click.option("--timezone", help="The hospital's time zone, such as America/Chicago; remembered.")
@click.option("--source", help="A name for this kind of file, if the hospital sends several.")
@answer_option
@click.option("--once", is_flag=True, help="Take what has landed and end; for a task scheduler.")
@click.option("--every", type=SECONDS, default=5.0, show_default=True, help="Seconds between two looks.")
@click.option(
    "--settle", type=SECONDS, default=10.0, show_default=True,
    help="Seconds for which a file must not change before it is taken.",
)  # fmt: skip
@click.pass_context
def watch(
    ctx: click.Context,
    folder: Path,
    facility: str | None,
    timezone: str | None,
    source: str | None,
    answers: tuple[str, ...],
    once: bool,
    every: float,
    settle: float,
) -> None:
    """Take files as they land in FOLDER, each once; move them to taken or refused, with their account beside them."""
    from cubital.workspace.watched_folder import LandingPlace
    from cubital.workspace.watching import Watch

    if facility is None and (timezone or source or answers):
        raise click.UsageError(
            "--timezone, --source and --answer need --facility; for several hospitals write them into watch.toml."
        )
    place = folder.expanduser().absolute()
    usual = None
    if facility is not None:
        usual = LandingPlace(
            folder=place, facility=facility, timezone=timezone, source=source,
            answers=tuple(read_answers(answers).items()),
        )  # fmt: skip
    watching = Watch(opened(ctx, create=True), folder=place, usual=usual, settle=settle, say=_say)
    if not once:
        watching.until_stopped(every=every)
        return
    done = watching.once()
    _say(f"{done.taken:,} taken, {done.refused:,} refused, {done.left:,} left for another look.")


def add_commands(root: click.Group) -> None:
    """Hangs this module's command on the root."""
    root.add_command(watch)
