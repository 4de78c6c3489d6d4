"""Commands about practice from small tables: learning a step, who is signed off, how long a refresher lasts."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

import click

from cubital.cli.answering import print_answer
from cubital.cli.shared import json_option

TABLE_FILE = click.Path(path_type=Path, dir_okay=False)


@click.command()
@click.argument("file", type=TABLE_FILE)
@click.option(
    "--adequate",
    type=click.FloatRange(0, 1, min_open=True, max_open=True),
    default=0.1,
    show_default=True,
    help="Share of attempts not done well that is good enough.",
)
@click.option(
    "--inadequate",
    type=click.FloatRange(0, 1, min_open=True, max_open=True),
    default=0.2,
    show_default=True,
    help="Share that is not good enough.",
)
@click.option(
    "--limit",
    type=click.FloatRange(0, min_open=True),
    default=1.25,
    show_default=True,
    help="The sum that signals competence. Set all three before watching begins.",
)
@json_option
def learning(file: Path, adequate: float, inadequate: float, limit: float, as_json: bool) -> None:
    """Private: is the new starter learning a step? Watched attempts in order: attempt, done. Never contamination."""
    from cubital.answers.learning import LearningPolicy
    from cubital.workspace.practice_tables import learning_answer

    if adequate >= inadequate:
        raise click.UsageError("--adequate must be below --inadequate.")
    policy = LearningPolicy(adequate=adequate, inadequate=inadequate, limit=limit)
    print_answer(learning_answer(file, policy=policy), as_json=as_json)


@click.command("signed-off")
@click.argument("file", type=TABLE_FILE)
@click.option("--on", type=click.DateTime(["%Y-%m-%d"]), help="The day asked about; today if left out.")
@json_option
def signed_off(file: Path, on: datetime | None, as_json: bool) -> None:
    """Who is signed off, by whom, until when? A register: person, assessor, signed, until."""
    from cubital.workspace.practice_tables import sign_off_answer

    print_answer(sign_off_answer(file, on=on.date() if on else None), as_json=as_json)


@click.command()
@click.argument("file", type=TABLE_FILE)
@json_option
def refresher(file: Path, as_json: bool) -> None:
    """How long does a refresher last? From months since it, sets and contaminated sets; usually it cannot be told."""
    from cubital.workspace.practice_tables import refresher_answer

    print_answer(refresher_answer(file), as_json=as_json)


def add_commands(root: click.Group) -> None:
    """Hangs this module's commands on the root."""
    for command in (learning, signed_off, refresher):
        root.add_command(command)
