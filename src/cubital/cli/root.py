"""The root command: where the workspace is, which language, and how errors become sentences and exit codes."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Any

import click

from cubital import __version__
from cubital.domain.errors import CubitalError
from cubital.domain.words import LANGUAGES, choose_language

DEFAULT_WORKSPACE = "cubital-workspace"


class SentenceGroup(click.Group):
    """Shows what Cubital has to say as one sentence on standard error, with the exit code of its kind."""

    def invoke(self, ctx: click.Context) -> Any:
        try:
            return super().invoke(ctx)
        except CubitalError as problem:
            click.echo(problem.sentence(), err=True)
            ctx.exit(problem.exit_code)


@click.group(cls=SentenceGroup, context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 110})
@click.option(
    "--workspace",
    type=click.Path(path_type=Path, file_okay=False),
    default=DEFAULT_WORKSPACE,
    show_default=True,
    envvar="CUBITAL_WORKSPACE",
    help="The folder that holds everything. Made on first use; move or copy it as you like.",
)
@click.option("--language", type=click.Choice(LANGUAGES), default="en", help="Language of the sentences.")
@click.version_option(__version__, prog_name="cubital")
@click.pass_context
def cubital(ctx: click.Context, workspace: Path, language: str) -> None:
    """How blood is collected for culture: from the laboratory's file to the sentence for the meeting.

    Nothing leaves this computer. Classes are for counting and never a diagnosis; follow local policy.
    """
    choose_language(language)
    ctx.obj = workspace


def main() -> None:
    """Entry point of ``cubital`` and ``python -m cubital``."""
    from cubital.cli import answering, bedside, care, collecting, definitions, filing, keeping_small, leaving, watching

    for module in (filing, answering, definitions, bedside, collecting, leaving, care, keeping_small, watching):
        module.add_commands(cubital)
    if hasattr(sys.stdout, "reconfigure"):
        sys.stdout.reconfigure(encoding="utf-8")
    cubital(prog_name="cubital")
