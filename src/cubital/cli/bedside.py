"""Commands for the bedside: volume, split, stop line, weighing, label, timers, next step, card.

They answer from the approved policy of the workspace, or from the shipped example, which says so everywhere.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from pathlib import Path
from typing import TypeVar

import click

from cubital.bedside.answering import answer_plan, answer_split
from cubital.bedside.fill import BLOOD_DENSITY_G_ML, TareKind
from cubital.bedside.fill_answer import answer_stop_line, answer_weighing
from cubital.bedside.label import Stock
from cubital.bedside.label_answer import LabelRequest, answer_label
from cubital.bedside.next_step import answer_kit, answer_step, answer_timers
from cubital.bedside.paper_names import SHEETS
from cubital.bedside.reading import read_patient, read_volume
from cubital.cli.answering import print_answer
from cubital.cli.shared import json_option, opened
from cubital.domain.collection import CollectionPolicy

Command = TypeVar("Command", bound=Callable[..., None])

example_option = click.option(
    "--example-policy", "example", is_flag=True, help="Use the shipped EXAMPLE policy: to learn with, not for patients."
)
AGE_HELP = "Age in months."


def today() -> date:
    """The local day, by which a policy is in date or not."""
    return date.today()  # noqa: DTZ011 review days are local days


def policy_for(ctx: click.Context, *, example: bool) -> CollectionPolicy:
    """The policy that may speak: the workspace's, or the shipped example approved for this one look."""
    from cubital.workspace.collecting import current_collection_policy, example_for_a_look

    return example_for_a_look(today()) if example else current_collection_policy(opened(ctx, create=True))


@click.command()
@click.option("--weight", required=True, help="Weight, a number with a point.")
@click.option("--weight-unit", help="kg or lb.")
@click.option("--age-months", required=True, help=AGE_HELP)
@click.option("--hb", help="Haemoglobin, if known.")
@click.option("--hb-unit", help="g/dL, g/L or mmol/L.")
@click.option("--taken", default="0", show_default=True, help="mL of blood already taken in 24 hours.")
@click.option("--bottle", "bottles", multiple=True, help="A bottle at hand, by its key; several if there are more.")
@example_option
@json_option
@click.pass_context
def plan(
    ctx: click.Context,
    weight: str,
    weight_unit: str | None,
    age_months: str,
    hb: str | None,
    hb_unit: str | None,
    taken: str,
    bottles: tuple[str, ...],
    example: bool,
    as_json: bool,
) -> None:
    """How much blood, and into which bottles, for one patient. Nothing is stored."""
    patient = read_patient(
        weight=weight, weight_unit=weight_unit, age_months=age_months, haemoglobin=hb, haemoglobin_unit=hb_unit,
        taken_ml=taken,
    )  # fmt: skip
    policy = policy_for(ctx, example=example)
    print_answer(answer_plan(policy, patient, today=today(), bottle_keys=bottles), as_json=as_json)


@click.command()
@click.option("--got", required=True, help="mL obtained.")
@example_option
@json_option
@click.pass_context
def split(ctx: click.Context, got: str, example: bool, as_json: bool) -> None:
    """What goes where when less was obtained than hoped for."""
    volume = read_volume(got, what="got")
    print_answer(answer_split(policy_for(ctx, example=example), volume, today=today()), as_json=as_json)


@click.command()
@click.option("--bottle", required=True, help="The bottle, by its key in the policy.")
@click.option("--volume", required=True, help="mL to fill.")
@example_option
@json_option
@click.pass_context
def fill(ctx: click.Context, bottle: str, volume: str, example: bool, as_json: bool) -> None:
    """Where to stop on this bottle, in mm above the level before the draw."""
    wanted = read_volume(volume, what="volume")
    print_answer(answer_stop_line(policy_for(ctx, example=example), bottle, wanted, today=today()), as_json=as_json)


@click.command()
@click.argument("sheet", type=click.Path(path_type=Path, dir_okay=False))
@click.option(
    "--tare", type=click.Choice([kind.value for kind in TareKind]), default="lot", show_default=True,
    help="Where the empty weight comes from: weighed for each bottle, for the lot, or from the catalogue.",
)  # fmt: skip
@click.option("--density", type=float, default=BLOOD_DENSITY_G_ML, show_default=True, help="Blood, g/mL.")
@click.option("--tare-aerobic", type=float, help="Empty weight of an aerobic bottle, g, where the sheet has none.")
@click.option("--tare-anaerobic", type=float, help="Empty weight of an anaerobic bottle, g.")
@click.option(
    "--ask", type=click.Choice(["fill", "split", "overfill"]), default="fill", show_default=True,
    help="How full the bottles are; whether draws are short or badly split; what is overfilled.",
)  # fmt: skip
@example_option
@json_option
@click.pass_context
def weigh(
    ctx: click.Context,
    sheet: Path,
    tare: str,
    density: float,
    tare_aerobic: float | None,
    tare_anaerobic: float | None,
    ask: str,
    example: bool,
    as_json: bool,
) -> None:
    """What the balance says: fill per bottle from a sheet of weights (accession, bottle, gross g, tare g)."""
    from cubital.workspace.bedside_files import read_weighings

    tares = {"aerobic": tare_aerobic, "anaerobic": tare_anaerobic}
    weighings = read_weighings(sheet, tares={kind: grams for kind, grams in tares.items() if grams is not None})
    policy = policy_for(ctx, example=example)
    if ask == "fill":
        answer = answer_weighing(policy, weighings, tare=TareKind(tare), density_g_ml=density, today=today())
    else:  # these open a library of statistics, which the commands beside a patient do without
        from cubital.bedside.fill_sets_answer import answer_split_or_short
        from cubital.bedside.overfill_answer import answer_overfill
        from cubital.bedside.weigh_in import WeighIn

        answer_of = answer_split_or_short if ask == "split" else answer_overfill
        weigh_in = WeighIn(weighings=weighings, tare=TareKind(tare), density_g_ml=density)
        answer = answer_of(policy, weigh_in, today=today())
    print_answer(answer, as_json=as_json)


@click.command()
@click.option("--bottle", default="adult_aerobic", show_default=True, help="The bottle, by its key in the policy.")
@click.option("--size", nargs=2, type=float, metavar="LONG SHORT", help="Label size in mm; the policy's if left out.")
@click.option("--accession", default="0123456789", show_default=True, help="What the barcode holds.")
@click.option("--sheet", type=click.Path(path_type=Path, dir_okay=False), help="Write the true-size sheet (PDF) there.")
@click.option("--picture", type=click.Path(path_type=Path, dir_okay=False), help="Write the position (SVG) there.")
@click.option(
    "--paper", type=click.Choice(["a4", "letter"]), default="a4", show_default=True, help="Size of the paper."
)
@example_option
@json_option
@click.pass_context
def label(
    ctx: click.Context,
    bottle: str,
    size: tuple[float, float] | None,
    accession: str,
    sheet: Path | None,
    picture: Path | None,
    paper: str,
    example: bool,
    as_json: bool,
) -> None:
    """Where the label goes on this bottle without covering what must stay visible."""
    from cubital.workspace.bedside_files import write_label_picture, write_label_sheet

    policy = policy_for(ctx, example=example)
    long_mm, short_mm = size or (policy.label.width_mm.value, policy.label.height_mm.value)
    request = LabelRequest(stock=Stock(long_mm=long_mm, short_mm=short_mm), accession=accession)
    print_answer(answer_label(policy, bottle, request, today=today()), as_json=as_json)
    if sheet is not None:
        write_label_sheet(policy, bottle, request, out=sheet, paper=paper, today=today())
    if picture is not None:
        write_label_picture(policy, bottle, request, out=picture, today=today())


@click.command()
@click.option("--age-months", required=True, help=AGE_HELP)
@example_option
@json_option
@click.pass_context
def timers(ctx: click.Context, age_months: str, example: bool, as_json: bool) -> None:
    """Which antiseptic at this age, how long to rub, how long to let dry."""
    age = read_volume(age_months, what="age in months")
    print_answer(answer_timers(policy_for(ctx, example=example), age, today=today()), as_json=as_json)


@click.command()
@click.argument("situation")
@example_option
@json_option
@click.pass_context
def step(ctx: click.Context, situation: str, example: bool, as_json: bool) -> None:
    """The policy's next permitted step: touched, one_stick, one_bottle, central_line, ..."""
    print_answer(answer_step(policy_for(ctx, example=example), situation, today=today()), as_json=as_json)


@click.command()
@click.argument("device")
@click.option("--sets", type=int, default=2, show_default=True, help="How many sets will be drawn.")
@example_option
@json_option
@click.pass_context
def kit(ctx: click.Context, device: str, sets: int, example: bool, as_json: bool) -> None:
    """What to take for so many sets with this device, and which bottle is filled first."""
    print_answer(answer_kit(policy_for(ctx, example=example), device, sets=sets, today=today()), as_json=as_json)


@click.command()
@click.argument("out", type=click.Path(path_type=Path, dir_okay=False))
@example_option
@click.pass_context
def card(ctx: click.Context, out: Path, example: bool) -> None:
    """Write the bedside card: one HTML file that works with no network and stores nothing."""
    from cubital.workspace.bedside_files import write_card

    size = write_card(policy_for(ctx, example=example), out=out, today=today())
    click.echo(f"{out.name}: {size / 1000:.0f} kB.")


@click.command()
@click.argument("kind", type=click.Choice(SHEETS))
@click.argument("out", type=click.Path(path_type=Path, dir_okay=False))
@click.option("--bottle", default="adult_aerobic", show_default=True, help="For the stop line: which bottle.")
@click.option(
    "--paper", type=click.Choice(["a4", "letter"]), default="a4", show_default=True, help="Size of the paper."
)
@example_option
@click.pass_context
def sheet(ctx: click.Context, kind: str, out: Path, bottle: str, paper: str, example: bool) -> None:
    """Print for wall, trolley or badge from the approved policy: volumes, short-draw, stop-line, badge, leaflet."""
    from cubital.workspace.bedside_files import write_sheet

    policy = policy_for(ctx, example=example)
    write_sheet(policy, kind, out=out, paper=paper, today=today(), bottle=bottle)
    click.echo(f"{out.name}: {kind}.")


def add_commands(root: click.Group) -> None:
    """Hangs this module's commands on the root."""
    for command in (plan, split, fill, weigh, label, timers, step, kit, card, sheet):
        root.add_command(command)
