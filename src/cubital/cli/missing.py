"""Commands about what may be missed and what would move it: short bottles, single sets, weights, changes of policy."""

from __future__ import annotations

from pathlib import Path

import click

from cubital.bedside.fill import BLOOD_DENSITY_G_ML, TareKind
from cubital.bedside.tare_answer import answer_tare_doubt
from cubital.cli.answering import print_answer, print_with_receipt, receipt_option
from cubital.cli.bedside import example_option, policy_for, today
from cubital.cli.shared import MONTH, facility_option, json_option, opened, unit_option

VOLUME, SINGLE_SETS, OVERFILL = "volume", "single-sets", "overfill"
PERCENT = click.FloatRange(0, 100)


@click.command()
@click.option(
    "--question", type=click.Choice([VOLUME, SINGLE_SETS, OVERFILL]), default=VOLUME, show_default=True,
    help="Short bottles, single sets, or overfilled bottles month by month.",
)  # fmt: skip
@click.option("--detected", type=click.IntRange(min=0), help="Infections found a year; otherwise from the workspace.")
@click.option("--mean-ml", type=float, help="Mean mL of an episode, where no weigh-in sheet is given.")
@click.option("--target-ml", type=float, help="mL wanted for an episode; otherwise what policy asks, never above it.")
@click.option("--single-share", type=PERCENT, help="Episodes with a single set, of 100; otherwise from the workspace.")
@click.option(
    "--positive-share", type=PERCENT, help="Episodes that are positive, of 100; otherwise 9 or the place's own."
)
@click.option("--weights", type=click.Path(path_type=Path, dir_okay=False), help="A weigh-in sheet, as for weigh.")
@click.option(
    "--tare", type=click.Choice([kind.value for kind in TareKind]), default="lot", show_default=True,
    help="Where the sheet's empty weights come from.",
)  # fmt: skip
@click.option("--tare-aerobic", type=float, help="Empty weight of an aerobic bottle, g, where the sheet has none.")
@click.option("--tare-anaerobic", type=float, help="Empty weight of an anaerobic bottle, g.")
@click.option("--from", "from_month", type=MONTH, help="First month; otherwise the last twelve are taken.")
@click.option("--to", "to_month", type=MONTH, help="Last month; otherwise the last one there is.")
@facility_option
@unit_option
@example_option
@receipt_option
@json_option
@click.pass_context
def missed(
    ctx: click.Context, question: str, detected: int | None, mean_ml: float | None, target_ml: float | None,
    single_share: float | None, positive_share: float | None, weights: Path | None, tare: str,
    tare_aerobic: float | None, tare_anaerobic: float | None, from_month: str | None, to_month: str | None,
    facility: str | None, unit: str | None, example: bool, keep: bool, as_json: bool,
) -> None:  # fmt: skip
    """What may be missed: a range over published models, never one number, and never about a patient."""
    from cubital.workspace.missed import MissedAsk, answer_asked, plain_asked
    from cubital.workspace.missed_gathering import PlaceAsk

    place = PlaceAsk(facility=facility, unit=unit, from_month=from_month, to_month=to_month)
    if question == OVERFILL:
        from cubital.workspace.overfilled import overfilled_answer

        print_answer(overfilled_answer(opened(ctx), place), as_json=as_json, private=True)
        return
    tares = {"aerobic": tare_aerobic, "anaerobic": tare_anaerobic}
    ask = MissedAsk(
        found=detected, mean_ml=mean_ml, target_ml=target_ml, single_share=_share(single_share),
        positive_share=_share(positive_share), weights=weights, tare=TareKind(tare),
        tares={kind: grams for kind, grams in tares.items() if grams is not None},
    )  # fmt: skip
    needs = detected is None or (single_share is None and (question == SINGLE_SETS or weights is not None))
    policy, workspace = policy_for(ctx, example=example), opened(ctx, create=True)
    asked = plain_asked(ask, question=question, policy=policy, today=today(), place=place if needs else None)
    answer = answer_asked(asked, workspace=workspace)
    print_with_receipt(workspace, answer, question="missed", asked=asked, keep=keep, as_json=as_json, private=needs)


@click.command()
@click.option("--from", "from_month", type=MONTH, help="First month; otherwise the last twelve are taken.")
@click.option("--to", "to_month", type=MONTH, help="Last month; otherwise the last one there is.")
@facility_option
@unit_option
@receipt_option
@json_option
@click.pass_context
def drivers(
    ctx: click.Context, from_month: str | None, to_month: str | None, facility: str | None, unit: str | None,
    keep: bool, as_json: bool,
) -> None:  # fmt: skip
    """Which policy change would move which number? Published effects over local shares; scenarios, not causal proof."""
    from cubital.workspace.driver_gathering import driver_answer
    from cubital.workspace.missed_gathering import PlaceAsk

    workspace = opened(ctx)
    asked = {"facility": facility, "unit": unit, "from_month": from_month, "to_month": to_month}
    answer = driver_answer(workspace, PlaceAsk(**asked))
    print_with_receipt(workspace, answer, question="drivers", asked=asked, keep=keep, as_json=as_json, private=True)


def _share(percent: float | None) -> float | None:
    return None if percent is None else percent / 100


@click.command()
@click.option("--sd", type=float, required=True, help="Spread of the empty weights, g (1 SD).")
@click.option("--bottles", type=click.IntRange(min=1), default=1, show_default=True, help="How many were weighed.")
@click.option("--shared", is_flag=True, help="One tare was used for all of them.")
@click.option("--density", type=float, default=BLOOD_DENSITY_G_ML, show_default=True, help="Of blood, g/mL.")
@json_option
def tare(sd: float, bottles: int, shared: bool, density: float, as_json: bool) -> None:
    """Can I trust the weights? What a spread of empty weights makes of one bottle and of a mean."""
    print_answer(answer_tare_doubt(tare_sd_g=sd, bottles=bottles, shared=shared, density_g_ml=density), as_json=as_json)


def add_commands(root: click.Group) -> None:
    """Hangs this module's commands on the root."""
    for command in (missed, drivers, tare):
        root.add_command(command)
