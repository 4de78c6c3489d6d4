"""Signal or noise: any of its questions, for a place or from counts alone, and the baselines that people lock."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

import click

from cubital.answers.charts.kinds import ChartKind
from cubital.cli.answering import print_answer, print_with_receipt, receipt_option
from cubital.cli.shared import DAY, MONTH, facility_option, json_option, opened, print_json, unit_option
from cubital.domain.words import _

if TYPE_CHECKING:
    from cubital.workspace.signals import Question

QUESTIONS = ("real", "chart", "since", "better", "below", "gap", "units", "noticed", "phases")


@click.command()
@click.option(
    "--counts",
    type=click.Path(path_type=Path, dir_okay=False),
    help="A table with the columns month, sets, contaminated; the last row is the month asked about. Without it the "
    "workspace is asked.",
)
@click.option(
    "--ask",
    type=click.Choice(QUESTIONS),
    help="real: is the last month really different (usual). chart: one chart and what it costs. since: since when. "
    "better: are we getting better. below: is the true rate below the target. gap: sets since the last contamination. "
    "units: would some unit look like that anyway. noticed: what month should we have noticed. phases: against the "
    "locked baselines.",
)
@click.option(
    "--chart",
    type=click.Choice([kind.value for kind in ChartKind] + ["auto"]),
    help="Which chart; auto lets the data choose and says why. gaps counts sets between contaminations, times days.",
)
@click.option("--target", type=float, help="The rate aimed at, as a share: 0.03 for 3 %.")
@click.option("--month", type=MONTH, help="The last month to look at. Without it the newest.")
@facility_option
@unit_option
@receipt_option
@json_option
@click.pass_context
def signal(
    ctx: click.Context,
    counts: Path | None,
    *,
    ask: str | None,
    chart: str | None,
    target: float | None,
    month: str | None,
    facility: str | None,
    unit: str | None,
    keep: bool,
    as_json: bool,
) -> None:
    """Noise or signal: from a small table of counts and no laboratory file at all, or for a place of the workspace."""
    from cubital.workspace.signals import Question, ask_place

    question = Question(ask or ("chart" if chart else "real"))
    kind = None if chart in (None, "auto") else ChartKind(chart)
    if counts is not None:
        if month or facility or unit:
            raise click.UsageError("--month, --facility and --unit choose a place of the workspace, not of a table.")
        _print_of_counts(ctx, counts, question=question, kind=kind, target=target, keep=keep, as_json=as_json)
        return
    workspace = opened(ctx)
    answer = ask_place(
        workspace, question=question, chart=kind, month=month, facility=facility, unit=unit, target=target
    )
    asked = {
        "question": question, "chart": kind, "month": month, "facility": facility, "unit": unit, "target": target
    }  # fmt: skip
    print_with_receipt(workspace, answer, question="signal", asked=asked, keep=keep, as_json=as_json)


def _print_of_counts(
    ctx: click.Context, file: Path, *, question: Question, kind: ChartKind | None, target: float | None, keep: bool,
    as_json: bool,
) -> None:  # fmt: skip
    """The answer from a table. A receipt keeps its months and counts, so that the file is not needed again."""
    from cubital.workspace.months import given_counts
    from cubital.workspace.signals import ask_counts

    counts = given_counts(file)
    answer = ask_counts(counts, question=question, chart=kind, target=target)
    if not keep:
        print_answer(answer, as_json=as_json)
        return
    months = [[one.month, one.sets, one.contaminated] for one in counts]
    asked = {"months": months, "question": question, "chart": kind, "target": target}
    print_with_receipt(opened(ctx), answer, question="counts of months", asked=asked, keep=True, as_json=as_json)


@click.group()
def baseline() -> None:
    """Which months are what is usual at a place: locked by a person, proposed anew, never changed silently."""


@baseline.command("list")
@facility_option
@unit_option
@json_option
@click.pass_context
def list_locked(ctx: click.Context, facility: str | None, unit: str | None, as_json: bool) -> None:
    """The baselines locked for exactly this place."""
    from cubital.answers.phases import phase_words
    from cubital.workspace.baselines import list_baselines

    found = list_baselines(opened(ctx), facility=facility, unit=unit)
    if as_json:
        print_json(list(found))
        return
    for one in found:
        click.echo(f"  {phase_words(one)}")
    if not found:
        click.echo(_("No baseline is locked here: all months before the one asked about serve as one."))


@baseline.command()
@facility_option
@unit_option
@json_option
@click.pass_context
def propose(ctx: click.Context, facility: str | None, unit: str | None, as_json: bool) -> None:
    """Whether a lasting shift asks for a new baseline, with its evidence. Changes nothing."""
    from cubital.answers.phases import proposal_words
    from cubital.workspace.baselines import propose_new_baseline

    found = propose_new_baseline(opened(ctx), facility=facility, unit=unit)
    if as_json:
        evidence = None
        if found is not None:
            evidence = {
                "first": found.first, "last": found.last, "run": found.run, "old_rate": found.old_rate,
                "new_rate": found.evidence.after, "chance": found.evidence.chance,
            }  # fmt: skip
        print_json(evidence)
        return
    click.echo(proposal_words(found) if found else _("Nothing here asks for a new baseline."))


@baseline.command()
@click.argument("first", type=MONTH)
@click.argument("last", type=MONTH)
@click.option("--by", required=True, help="Who answers for it.")
@click.option("--role", required=True, help="In which role.")
@click.option("--why", required=True, help="Why these months are what is usual, in one sentence.")
@click.option("--on", type=DAY, help="The day it is agreed. Without it, today.")
@facility_option
@unit_option
@click.pass_context
def lock(
    ctx: click.Context,
    first: str,
    last: str,
    *,
    by: str,
    role: str,
    why: str,
    on: datetime | None,
    facility: str | None,
    unit: str | None,
) -> None:
    """Locks the months FIRST to LAST (YYYY-MM) as what is usual from FIRST on."""
    from cubital.answers.phases import phase_words
    from cubital.workspace.baselines import lock_baseline

    day = (on or datetime.now()).date()  # noqa: DTZ005 - agreed on a local day
    locked = lock_baseline(
        opened(ctx), first=first, last=last, by=by, role=role, on=day, why=why, facility=facility, unit=unit
    )
    click.echo(_("Locked: {phase}.").format(phase=phase_words(locked).rstrip(".")))


def add_commands(root: click.Group) -> None:
    """Hangs this module's commands on the root."""
    root.add_command(signal)
    root.add_command(baseline)
