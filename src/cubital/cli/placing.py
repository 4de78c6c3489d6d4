"""Commands about places: who stands out, with the mix allowed for, after a visit, after a merger."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from cubital.answers.place_words import By
from cubital.cli.answering import print_answer, print_with_receipt, receipt_option
from cubital.cli.clusters import print_table
from cubital.cli.shared import MONTH, facility_option, json_option, opened, unit_option
from cubital.domain.answer import Answer


@click.command()
@click.option(
    "--by",
    type=click.Choice([one.value for one in By]),
    default=By.UNIT.value,
    show_default=True,
    help="What is compared.",
)
@facility_option
@unit_option
@click.option("--from", "from_month", type=MONTH, help="The first month; by default the last twelve are taken.")
@click.option("--to", "to_month", type=MONTH, help="The last month.")
@click.option("--standard", is_flag=True, help="Allow for age group, way of drawing and shift.")
@click.option("--visited", metavar="UNIT", help="A unit before and after a visit: the expected fall first.")
@click.option("--on", type=MONTH, help="The month of the visit.")
@click.option("--merged", type=MONTH, help="The first month after hospitals merged, or a definition changed.")
@click.option(
    "--widening",
    type=click.Choice(["additive", "multiplicative"]),
    default="additive",
    show_default=True,
    help="How a funnel is widened for what places usually differ by.",
)
@click.option("--private", is_flag=True, help="Show small counts as well; for your own eyes only.")
@click.option(
    "--counts",
    type=click.Path(path_type=Path, dir_okay=False),
    help="A table with the columns place, sets, contaminated, instead of the workspace.",
)
@receipt_option
@json_option
@click.pass_context
def places(
    ctx: click.Context,
    by: str,
    facility: str | None,
    unit: str | None,
    from_month: str | None,
    to_month: str | None,
    standard: bool,
    visited: str | None,
    on: str | None,
    merged: str | None,
    widening: str,
    private: bool,
    counts: Path | None,
    keep: bool,
    as_json: bool,
) -> None:
    """Which place really differs, once chance and the usual differences are allowed for."""
    from cubital.workspace import places_answers
    from cubital.workspace.places_gathering import PlacesAsk

    if (visited is None) != (on is None):
        raise click.UsageError("--visited and --on go together: which unit, and in which month the visit was.")
    if sum(map(bool, (counts, visited, merged, standard))) > 1:
        raise click.UsageError("--counts, --visited, --merged and --standard are four different questions.")
    if counts is not None:
        _print(places_answers.counts_answer(counts), as_json=as_json)
        return
    ask = PlacesAsk(
        by=By(by), facility=facility, unit=unit, from_month=from_month, to_month=to_month,
        widening="multiplicative" if widening == "multiplicative" else "additive",
    )  # fmt: skip
    workspace = opened(ctx)
    asked: dict[str, Any] = {
        "by": by, "facility": facility, "unit": unit, "from_month": from_month, "to_month": to_month,
        "widening": widening,
    }  # fmt: skip
    if visited is not None and on is not None:
        answer = places_answers.visit_answer(workspace, unit=visited, facility=facility, on=on, ask=ask)
        question, asked = "visit", {**asked, "visited": visited, "on": on}
    elif merged is not None:
        answer = places_answers.merged_answer(workspace, at=merged, ask=ask)
        question, asked = "merged", {**asked, "at": merged}
    else:
        answer = places_answers.places_answer(workspace, ask, guarded=not private, standard=standard).answer
        question, asked = "places", {**asked, "guarded": not private, "standard": standard}
    shown = private or question != "places"
    print_with_receipt(workspace, answer, question=question, asked=asked, keep=keep, as_json=as_json, private=shown)
    _print_below(answer, as_json=as_json)


def _print(answer: Answer, *, as_json: bool, private: bool = False) -> None:
    """The answer, and its table below it: counts first, one line per place."""
    print_answer(answer, as_json=as_json, private=private)
    _print_below(answer, as_json=as_json)


def _print_below(answer: Answer, *, as_json: bool) -> None:
    if not as_json:
        click.echo()
        print_table(answer.table)


def add_commands(root: click.Group) -> None:
    """Hangs this module's command on the root."""
    root.add_command(places)
