"""The root command: where the workspace is, which language, and how errors become sentences and exit codes."""

from __future__ import annotations

import sys
from importlib import import_module
from itertools import chain
from pathlib import Path
from typing import Any

import click
from click.core import ParameterSource

from cubital import __version__
from cubital.domain.errors import CubitalError
from cubital.domain.words import LANGUAGES, _, choose_language

DEFAULT_WORKSPACE = "cubital-workspace"
EMBEDDED = "duckdb"
ON_ANY_ENGINE = ("month", "bench", "export", "paper")
MODULES = {
    "answering": ("month",),
    "bedside": ("plan", "split", "fill", "weigh", "label", "timers", "step", "kit", "card", "sheet"),
    "care": ("serve", "demo", "practice"),
    "changing": ("did", "attended"),
    "clusters": ("cluster", "lots"),
    "collecting": ("collecting",),
    "costing": ("worth", "costs"),
    "definitions": ("bench", "charter", "policy"),
    "diary": ("diary",),
    "doubtful": ("doubtful",),
    "filing": ("take", "movements", "units", "batches"),
    "investigating": ("reporting", "scenario", "paper"),
    "keeping_small": ("compact", "keep", "vacuum"),
    "leaving": ("export", "paper"),
    "looking_closer": ("steps", "compare", "hours"),
    "missing": ("missed", "drivers", "tare"),
    "packing": ("actions", "pack"),
    "people": ("people",),
    "placing": ("places",),
    "practising": ("learning", "signed-off", "refresher"),
    "receipts": ("again",),
    "reconciling": ("reconcile",),
    "records": ("records",),
    "safekeeping": ("backup", "restore", "verify"),
    "signalling": ("signal", "baseline"),
    "supplying": ("stock", "coverage", "paper"),
    "trialling": ("trial",),
    "watching": ("watch",),
}  # what each module of this package adds to the commands; one with parts in several modules stands at each of them


class SentenceGroup(click.Group):
    """Shows what Cubital has to say as one sentence on standard error, with the exit code of its kind.

    A command's module is loaded only when that command is asked for, since most of them open large libraries.
    """

    def list_commands(self, ctx: click.Context) -> list[str]:
        """Every command's name, whether its module is loaded or not."""
        return sorted({*chain(*MODULES.values()), *super().list_commands(ctx)})

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        """The command of that name, from its module; none where there is no such command."""
        for module, commands in MODULES.items():
            if cmd_name in commands:
                import_module(f"cubital.cli.{module}").add_commands(self)
        return super().get_command(ctx, cmd_name)

    def invoke(self, ctx: click.Context) -> Any:
        from cubital.workspace.writing import gone_problem, identity_of

        folder = Path(ctx.params.get("workspace", DEFAULT_WORKSPACE)).absolute()
        was = identity_of(folder)
        try:
            return super().invoke(ctx)
        except (click.ClickException, click.exceptions.Exit, click.Abort):
            raise
        except CubitalError as problem:
            self._show(ctx, problem)
        except Exception as error:
            gone = gone_problem(error, folder=folder, was=was)
            if gone is None:
                raise
            self._show(ctx, gone)

    def _show(self, ctx: click.Context, problem: CubitalError) -> None:
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
@click.option(
    "--engine",
    default=EMBEDDED,
    show_default=True,
    envvar="CUBITAL_ENGINE",
    help="What runs month, bench, export and paper: duckdb inside this process, or Spark: spark:local[2], "
    "spark://host:7077. Other commands are always embedded.",
)
@click.option("--language", type=click.Choice(LANGUAGES), default="en", help="Language of the sentences.")
@click.version_option(__version__, prog_name="cubital")
@click.pass_context
def cubital(ctx: click.Context, workspace: Path, engine: str, language: str) -> None:
    """How blood is collected for culture: from the laboratory's file to the sentence for the meeting.

    Nothing leaves this computer. Classes are for counting and never a diagnosis; follow local policy.
    """
    choose_language(language)
    ctx.obj = workspace
    if engine == EMBEDDED:
        return
    from cubital.engine import check_engine  # opens the engine's library, which most runs that say a word never need

    check_engine(engine)
    if ctx.invoked_subcommand not in ON_ANY_ENGINE and _is_typed(ctx, "engine"):
        click.echo(
            _("'{command}' runs inside this process; --engine is for {others}.").format(
                command=ctx.invoked_subcommand, others=", ".join(ON_ANY_ENGINE)
            ),
            err=True,
        )


def _is_typed(ctx: click.Context, option: str) -> bool:
    return ctx.get_parameter_source(option) is ParameterSource.COMMANDLINE


def main() -> None:
    """Entry point of ``cubital`` and ``python -m cubital``."""
    if hasattr(sys.stdout, "reconfigure"):
        sys.stdout.reconfigure(encoding="utf-8")
    cubital(prog_name="cubital")
