"""Commands that look closer: which step is left out, fair comparisons, and the hours."""

from __future__ import annotations

from pathlib import Path

import click

from cubital.cli.answering import print_answer
from cubital.cli.shared import json_option

TABLE_FILE = click.Path(path_type=Path, dir_okay=False)
SHARE = click.FloatRange(0, 100, min_open=True, max_open=True)


@click.command()
@click.argument("file", type=TABLE_FILE)
@click.option("--target", type=SHARE, default=80.0, show_default=True, help="In how many of 100 draws a step is due.")
@click.option("--next", "what_next", is_flag=True, help="Answer instead what should be watched next.")
@click.option("--plan", type=TABLE_FILE, help="With --next: the plan, columns shift, unit, role, draws.")
@click.option(
    "--each-shift", type=click.IntRange(1, 1000), default=12, show_default=True,
    help="With --next and no plan: draws wanted by day and at night.",
)  # fmt: skip
@json_option
def steps(file: Path, target: float, what_next: bool, plan: Path | None, each_shift: int, as_json: bool) -> None:
    """Which step is left out, from a table of watched draws: one row per sheet, one column per step."""
    from cubital.answers.observation_plan import PlanRules
    from cubital.answers.steps_reading import StepsPolicy
    from cubital.workspace.watched_draws import plan_answer, steps_answer

    policy = StepsPolicy(target=target / 100)
    if what_next or plan is not None:
        rules = PlanRules(each_shift=each_shift)
        print_answer(plan_answer(file, policy=policy, rules=rules, plan=plan), as_json=as_json)
    else:
        print_answer(steps_answer(file, policy=policy), as_json=as_json)


def add_commands(root: click.Group) -> None:
    """Hangs this module's commands on the root."""
    root.add_command(steps)
