"""Commands that look closer: which step is left out, fair comparisons, and the hours."""

from __future__ import annotations

from pathlib import Path

import click

from cubital.cli.answering import print_answer, print_with_receipt, receipt_option
from cubital.cli.shared import MONTH, facility_option, json_option, opened, unit_option

TABLE_FILE = click.Path(path_type=Path, dir_okay=False)
DAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
from_option = click.option("--from", "from_month", type=MONTH, help="First month; otherwise the last twelve are taken.")
to_option = click.option("--to", "to_month", type=MONTH, help="Last month; otherwise the last one there is.")
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
@click.option(
    "--outcome", nargs=2, type=click.IntRange(min=0), metavar="CONTAMINATED SETS",
    help="Put the watched draws beside the outcome of the same time: contaminated sets, then all sets.",
)  # fmt: skip
@json_option
def steps(
    file: Path, target: float, what_next: bool, plan: Path | None, each_shift: int,
    outcome: tuple[int, int] | None, as_json: bool,
) -> None:  # fmt: skip
    """Which step is left out, from a table of watched draws: one row per sheet, one column per step."""
    from cubital.answers.observation_plan import PlanRules
    from cubital.answers.steps_reading import StepsPolicy
    from cubital.workspace.watched_draws import outcome_answer, plan_answer, steps_answer

    policy = StepsPolicy(target=target / 100)
    if outcome is not None:
        contaminated, sets = outcome
        print_answer(outcome_answer(file, contaminated=contaminated, sets=sets), as_json=as_json)
    elif what_next or plan is not None:
        rules = PlanRules(each_shift=each_shift)
        print_answer(plan_answer(file, policy=policy, rules=rules, plan=plan), as_json=as_json)
    else:
        print_answer(steps_answer(file, policy=policy), as_json=as_json)


def _days(_ctx: click.Context, _param: click.Parameter, text: str) -> tuple[int, ...]:
    """``mon,tue`` or ``mon-fri`` as numbers, 0 for Monday."""
    found: set[int] = set()
    for part in text.casefold().replace(" ", "").split(","):
        first, _dash, last = part.partition("-")
        if first not in DAYS or (last or first) not in DAYS:
            raise click.BadParameter(f"'{part}' is no day. Write mon, tue, wed, thu, fri, sat, sun, or mon-fri.")
        start, end = DAYS.index(first), DAYS.index(last or first)
        found |= {(start + step) % 7 for step in range((end - start) % 7 + 1)}
    return tuple(sorted(found))


@click.command()
@click.option("--by", required=True, help="role, shift, weekend, method, facility; with --counts any heading of it.")
@click.option(
    "--counts", type=TABLE_FILE,
    help="A table instead of the workspace: sets, contaminated, and columns to divide by or to hold equal.",
)  # fmt: skip
@from_option
@to_option
@facility_option
@unit_option
@receipt_option
@json_option
@click.pass_context
def compare(
    ctx: click.Context, by: str, counts: Path | None, from_month: str | None, to_month: str | None,
    facility: str | None, unit: str | None, keep: bool, as_json: bool,
) -> None:  # fmt: skip
    """Are groups different, compared fairly: overlap first, then like with like."""
    from cubital.workspace.fair_answers import comparison_answer, comparison_of_counts

    if counts is not None:
        print_answer(comparison_of_counts(counts, by=by), as_json=as_json)
        return
    from cubital.workspace.fair_gathering import FairAsk, FairBy

    if by not in list(FairBy):
        raise click.BadParameter(f"'{by}' is not one of {', '.join(FairBy)}.", param_hint="--by")
    ask = FairAsk(by=FairBy(by), facility=facility, unit=unit, from_month=from_month, to_month=to_month)
    workspace, asked = opened(ctx), {
        "by": by, "facility": facility, "unit": unit, "from_month": from_month, "to_month": to_month
    }  # fmt: skip
    answer = comparison_answer(workspace, ask)
    print_with_receipt(workspace, answer, question="compare", asked=asked, keep=keep, as_json=as_json)


@click.command()
@click.option("--length", type=click.IntRange(1, 23), default=12, show_default=True, help="How many hours in a row.")
@click.option("--days", callback=_days, default="mon-sun", show_default=True, help="On which days they begin.")
@click.option(
    "--counts", type=TABLE_FILE,
    help="A table instead of the workspace: weekday (1 is Monday), hour, sets, contaminated.",
)  # fmt: skip
@click.option("--weeks", type=click.FloatRange(min=1), help="With --counts: over how many weeks they were drawn.")
@click.option(
    "--minutes", type=click.IntRange(1, 120), default=15, show_default=True, help="One set takes a collector."
)
@from_option
@to_option
@facility_option
@unit_option
@receipt_option
@json_option
@click.pass_context
def hours(
    ctx: click.Context, length: int, days: tuple[int, ...], counts: Path | None, weeks: float | None, minutes: int,
    from_month: str | None, to_month: str | None, facility: str | None, unit: str | None, keep: bool, as_json: bool,
) -> None:  # fmt: skip
    """Which hours in a row hold most contaminated sets, how sure that is, and how busy they are."""
    from cubital.answers.hours_reading import HoursPolicy
    from cubital.workspace.fair_answers import hours_answer, hours_of_counts

    policy = HoursPolicy(minutes_per_set=minutes)
    if counts is not None:
        print_answer(hours_of_counts(counts, length=length, days=days, weeks=weeks, policy=policy), as_json=as_json)
        return
    from cubital.workspace.fair_gathering import FairAsk

    workspace = opened(ctx)
    ask = FairAsk(facility=facility, unit=unit, from_month=from_month, to_month=to_month)
    asked = {
        "length": length, "days": list(days), "minutes": minutes, "facility": facility, "unit": unit,
        "from_month": from_month, "to_month": to_month,
    }  # fmt: skip
    answer = hours_answer(workspace, ask, length=length, days=days, policy=policy)
    print_with_receipt(workspace, answer, question="hours", asked=asked, keep=keep, as_json=as_json)


def add_commands(root: click.Group) -> None:
    """Hangs this module's commands on the root."""
    for command in (steps, compare, hours):
        root.add_command(command)
