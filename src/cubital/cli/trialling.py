"""Commands for a trial: how large, who begins when, sealed before its data, looked at, and printed."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from cubital.cli.answering import print_answer
from cubital.cli.leaving import OUT_FILE, paper_option
from cubital.cli.shared import DAY, facility_option, json_option, opened, print_json
from cubital.cli.trial_inputs import LOOKS, PERCENT, read_json, write_plan
from cubital.domain.trial import Spending, Stretch, TrialDesign, TrialPlan, build_plan_dict
from cubital.domain.words import _, day_words, share_words

if TYPE_CHECKING:
    from cubital.workspace.trial_planning import PlannedTrial
    from cubital.workspace.trials import SealedTrial

PLAN_FILE = click.Path(path_type=Path, dir_okay=False)
DESIGNS = {"weeks": TrialDesign.WEEKS, "days": TrialDesign.DAYS, "units": TrialDesign.PARALLEL,
           "steps": TrialDesign.STEPPED}  # fmt: skip
SPENDINGS = {"late": Spending.CAUTIOUS, "even": Spending.EVEN}


@click.group()
def trial() -> None:
    """Plan a trial, seal it before its data, look at it, and compare what was done with what was written."""


@trial.command("size")
@click.option("--now", "baseline", type=PERCENT, required=True, help="Contaminated now, per cent of sets: 4.2.")
@click.option("--hoped", "expected", type=PERCENT, help="What is hoped for, per cent of sets: 2.6.")
@click.option("--relative-risk", type=float, help="Or the relative risk that is hoped for: 0.6.")
@click.option("--per-month", type=float, required=True, help="Sets a month of all units that take part, together.")
@click.option("--units", type=int, default=1, show_default=True, help="How many units take part.")
@click.option("--design", type=click.Choice(list(DESIGNS)), default="weeks", show_default=True,
              help="Turns by week or day, units beside units, or one unit after the other.")  # fmt: skip
@click.option("--icc", type=float, help="Correlation of sets within a unit; 0.01 is assumed where it is not known.")
@click.option("--variation", type=float, default=0.0, help="How unequal the units are: standard deviation over mean.")
@click.option("--power", type=PERCENT, default=0.8, help="Chance of finding it, per cent; 80 if left out.")
@click.option("--level", type=PERCENT, default=0.95, help="Level, per cent; 95 if left out.")
@click.option("--months", type=float, help="How many months there are.")
@json_option
def trial_size(as_json: bool, relative_risk: float | None, design: str, icc: float | None, **asked: Any) -> None:
    """How many sets and months, from numbers alone; nothing of a workspace is used."""
    from cubital.answers.trial_ask import IccSource, TrialAsk
    from cubital.answers.trial_plan import answer_size

    if (asked["expected"] is None) == (relative_risk is None):
        raise click.UsageError("Give what is hoped for, or the relative risk: one of the two.")
    if relative_risk is not None:
        asked["expected"] = asked["baseline"] * relative_risk
    known: dict[str, Any] = {} if icc is None else {"icc": icc, "icc_range": (icc, icc), "icc_source": IccSource.GIVEN}
    print_answer(answer_size(TrialAsk(design=DESIGNS[design], **asked, **known)), as_json=as_json)


@trial.command("plan")
@facility_option
@click.option("--unit", "units", multiple=True, help="A unit that takes part; may be given several times.")
@click.option("--start", type=DAY, required=True, help="First day, best a Monday: 2026-05-04.")
@click.option("--weeks", type=int, help="How many weeks; as many as the size takes if left out.")
@click.option("--now", "baseline", type=PERCENT, help="Contaminated now, per cent; the last twelve months if left out.")
@click.option("--hoped", "expected", type=PERCENT, help="What is hoped for, per cent of sets: 2.6.")
@click.option("--relative-risk", type=float, help="Or the relative risk that is hoped for: 0.6.")
@click.option("--design", type=click.Choice(list(DESIGNS)), default="weeks", show_default=True,
              help="Turns by week or day, units beside units, or one unit after the other.")  # fmt: skip
@click.option("--icc", type=float, help="Correlation of sets within a unit; learnt from your units if left out.")
@click.option("--seed", type=int, help="Number that the order is drawn with; drawn if left out, and printed.")
@click.option("--power", type=PERCENT, default=0.8, help="Chance of finding it, per cent; 80 if left out.")
@click.option("--level", type=PERCENT, default=0.95, help="Level, per cent; 95 if left out.")
@click.option("--looks", type=LOOKS, default=(0.5, 1.0), help="Planned looks, per cent of the sets; 50,100.")
@click.option("--spending", type=click.Choice(list(SPENDINGS)), default="late", help="Spend the error late or evenly.")
@click.option("--out", type=PLAN_FILE, help="Write the plan to this file, to be read, agreed and sealed.")
@click.option("--name", default="", help="Name of the trial, for --out.")
@click.option("--new", default="", help="What is new, in a word or two, for --out.")
@click.option("--usual", default="", help="What is usual; 'as now' if left out.")
@click.option("--question", default="", help="The question in one sentence.")
@click.option("--meaningful", type=PERCENT, default=0.01, help="Least fall that would be acted on, in points; 1.")
@click.option("--decides", default="", help="Who decides, by role, for --out.")
@click.option("--stop-rule", default="", help="When it stops; at the limits if left out.")
@click.option("--leave-out", "exclusions", multiple=True, help="What is left out; may be given several times.")
@click.option("--settle-days", type=int, default=0, help="Days after each change that do not count.")
@click.option("--replaces", type=int, help="Number of the trial that this plan changes.")
@json_option
@click.pass_context
def trial_plan(ctx: click.Context, /, as_json: bool, out: Path | None, **asked: Any) -> None:
    """How long here, who begins when, and what speaks against it; with --out the plan as a file."""
    from cubital.workspace.trial_drafts import TrialWords, draft_plan
    from cubital.workspace.trial_planning import TrialRequest, plan_trial

    words = {key: asked.pop(key) for key in ("name", "new", "usual", "question", "meaningful", "decides", "stop_rule",
                                             "exclusions", "settle_days", "replaces")}  # fmt: skip
    asked["start"] = asked["start"].date()
    asked["design"], asked["spending"] = DESIGNS[asked["design"]], SPENDINGS[asked["spending"]]
    workspace = opened(ctx)
    planned = plan_trial(workspace, TrialRequest(**asked))
    if out is not None:
        plan = draft_plan(workspace, planned, TrialWords(**words))
        write_plan(out, plan)
    print_answer(planned.answer, as_json=as_json, private=True)
    if not as_json:
        _print_order(planned)
        if out is not None:
            click.echo(f"{out.name} holds the plan. Read it, agree on it, then: cubital trial seal {out.name}")


@trial.command("seal")
@click.argument("file", type=PLAN_FILE)
@click.option("--by", required=True, help="Who answers for the plan.")
@click.option("--role", required=True, help="In which role.")
@click.option("--late", is_flag=True, help="Data of its days are there already: seal it as late, and say so for ever.")
@click.pass_context
def trial_seal(ctx: click.Context, file: Path, by: str, role: str, late: bool) -> None:
    """Seals a plan for good. It is refused once data of its first day are in."""
    from cubital.workspace.trials import plan_from_file, seal_protocol

    plan = plan_from_file(read_json(file), where=file.name)
    sealed = seal_protocol(opened(ctx), plan=plan, by=by, role=role, late=late)
    click.echo("\n".join(_trial_lines(sealed)))


@trial.command("draft")
@click.argument("file", type=PLAN_FILE)
@click.argument("out", type=OUT_FILE)
@paper_option
@click.pass_context
def trial_draft(ctx: click.Context, file: Path, out: Path, paper: str) -> None:
    """The protocol of a plan that is not sealed yet, on one page, to be agreed on; it binds nobody."""
    from cubital.workspace.trial_papers import print_draft
    from cubital.workspace.trials import plan_from_file

    plan = plan_from_file(read_json(file), where=file.name)
    print_draft(opened(ctx), plan=plan, out=out, paper=paper)
    click.echo(f"{out.name}: the draft of '{plan.name}'.")


@trial.command("list")
@json_option
@click.pass_context
def trial_list(ctx: click.Context, as_json: bool) -> None:
    """Every sealed trial with its fingerprint and its looks."""
    from cubital.workspace.trial_looks import list_looks
    from cubital.workspace.trial_papers import looked_words
    from cubital.workspace.trials import list_protocols

    workspace = opened(ctx)
    found = list_protocols(workspace)
    if as_json:
        print_json([_plain_trial(one, len(list_looks(workspace, one.number))) for one in found])
        return
    if not found:
        click.echo(_("No trial is sealed yet."))
    for one in found:
        click.echo("\n".join(_trial_lines(one)))
        for look in list_looks(workspace, one.number):
            click.echo(f"  {looked_words(look)} ({share_words(look.share, 0)})")


@trial.command("show")
@click.argument("number", type=int)
@json_option
@click.pass_context
def trial_show(ctx: click.Context, number: int, as_json: bool) -> None:
    """One sealed plan with every turn of every unit."""
    from cubital.workspace.trials import get_protocol

    sealed = get_protocol(opened(ctx), number)
    if as_json:
        print_json({**_plain_trial(sealed), "plan": build_plan_dict(sealed.plan)})
        return
    click.echo("\n".join(_trial_lines(sealed)))
    for one in sealed.plan.stretches:
        click.echo(_stretch_line(one, sealed.plan))


@trial.command("look")
@click.argument("number", type=int)
@click.option("--end", is_flag=True, help="This look ends the trial, whatever it says.")
@json_option
@click.pass_context
def trial_look(ctx: click.Context, number: int, end: bool, as_json: bool) -> None:
    """Counts the trial as far as data are in, against the limit of this look. Every look is kept."""
    from cubital.workspace.trial_looks import look_at_trial

    print_answer(look_at_trial(opened(ctx), number=number, end=end), as_json=as_json, private=True)


@trial.command("result")
@click.argument("number", type=int)
@click.option("--look", type=int, help="Which look; the last one if left out.")
@json_option
@click.pass_context
def trial_result(ctx: click.Context, number: int, look: int | None, as_json: bool) -> None:
    """What a look said, with every deviation from the plan. Nothing is counted anew."""
    from cubital.workspace.trial_looks import trial_result as result

    print_answer(result(opened(ctx), number=number, look=look), as_json=as_json, private=True)


@trial.command("paper")
@click.argument("number", type=int)
@click.argument("out", type=OUT_FILE)
@click.option("--result", is_flag=True, help="The result instead of the protocol; small counts do not leave.")
@click.option("--own", is_flag=True, help="The trial's own result page: small counts are not hidden, and it stays.")
@paper_option
@click.pass_context
def trial_paper(ctx: click.Context, number: int, out: Path, result: bool, own: bool, paper: str) -> None:
    """The protocol of a trial on one page, or its result."""
    from cubital.workspace.trial_papers import print_protocol, print_result

    workspace = opened(ctx)
    if result or own:
        print_result(workspace, number=number, out=out, paper=paper, own=own)
    else:
        print_protocol(workspace, number=number, out=out, paper=paper)
    click.echo(f"{out.name}: trial {number}.")


def _print_order(planned: PlannedTrial) -> None:
    if not planned.stretches:
        return
    click.echo(f"  Order drawn with seed {planned.seed}; {planned.sets_per_arm:,} sets in each arm with its looks:")
    for place in dict.fromkeys(one.place for one in planned.stretches):
        mine = [one for one in planned.stretches if one.place == place]
        marks = "".join("N" if one.arm else "-" for one in mine)
        if planned.request.design.in_turns:
            click.echo(f"    {place}: {marks}")
        else:
            new = next((one for one in mine if one.arm), None)
            click.echo(f"    {place}: {f'new from {day_words(new.first)}' if new else 'stays as usual'}")


def _trial_lines(sealed: SealedTrial) -> list[str]:
    from cubital.workspace.trial_papers import sealed_words

    plan = sealed.plan
    lines = [
        f"Trial {sealed.number}: {plan.name}. {plan.question}",
        f"  {day_words(plan.start)} to {day_words(plan.end)}, {plan.sets_per_arm:,} sets in each arm",
        f"  {sealed_words(sealed)}",
        f"  fingerprint {sealed.fingerprint}",
    ]
    if plan.replaces:
        lines.append(f"  replaces trial {plan.replaces}")
    if sealed.replaced_by:
        lines.append(f"  replaced by trial {', '.join(map(str, sealed.replaced_by))}")
    return lines


def _stretch_line(one: Stretch, plan: TrialPlan) -> str:
    name = plan.new if one.arm else plan.usual
    days = one.first.isoformat() if one.first == one.last else f"{one.first.isoformat()} to {one.last.isoformat()}"
    return f"  {one.place}: {days}  {name}"


def _plain_trial(sealed: SealedTrial, looks: int | None = None) -> dict[str, Any]:
    plain: dict[str, Any] = {
        "number": sealed.number, "name": sealed.plan.name, "fingerprint": sealed.fingerprint, "late": sealed.plan.late,
        "sealed_by": sealed.sealed_by, "role": sealed.role, "sealed_at": sealed.sealed_at.isoformat(),
        "start": sealed.plan.start.isoformat(), "end": sealed.plan.end.isoformat(),
        "sets_per_arm": sealed.plan.sets_per_arm, "replaced_by": list(sealed.replaced_by),
    }  # fmt: skip
    return plain if looks is None else {**plain, "looks": looks}


def add_commands(root: click.Group) -> None:
    """Hangs this module's commands on the root."""
    root.add_command(trial)
