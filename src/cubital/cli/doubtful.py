"""Commands about the sets that medical microbiology decides: list, export, decide, take the filled list, take back."""

from __future__ import annotations

from datetime import date, datetime
from pathlib import Path

import click

from cubital.cli.answering import print_answer
from cubital.cli.leaving import OUT_FILE
from cubital.cli.shared import DAY, MONTH, json_option, opened, print_json
from cubital.domain.decisions import Decision

FILE = click.Path(path_type=Path, dir_okay=False)
from_option = click.option("--from", "from_month", type=MONTH, required=True, help="First month, YYYY-MM.")
to_option = click.option("--to", "to_month", type=MONTH, help="Last month, YYYY-MM; the first one if left out.")
initials_option = click.option("--initials", required=True, help="Initials of who decided; no names are kept.")
role_option = click.option("--role", default="medical microbiology", show_default=True, help="In which role.")
on_option = click.option("--on", type=DAY, metavar="YYYY-MM-DD", help="Day of the decision; today if left out.")


@click.group()
def doubtful() -> None:
    """Sets that the charter leaves to medical microbiology: blind lists, decisions, and what they change."""


@doubtful.command("list")
@from_option
@to_option
@json_option
@click.pass_context
def list_sets(ctx: click.Context, from_month: str, to_month: str | None, as_json: bool) -> None:
    """Which sets wait, without unit, collector or hour, and how far the decisions can move the rate."""
    from cubital.workspace.doubtful import doubtful_answer

    answer = doubtful_answer(opened(ctx), from_month=from_month, to_month=to_month or from_month)
    print_answer(answer, as_json=as_json)


@doubtful.command("export")
@click.argument("out", type=OUT_FILE)
@from_option
@to_option
@click.pass_context
def export_list(ctx: click.Context, out: Path, from_month: str, to_month: str | None) -> None:
    """Write the blind list (.xlsx or .csv) for the laboratory to fill in."""
    from cubital.workspace.doubtful import export_doubtful

    count = export_doubtful(opened(ctx), from_month=from_month, to_month=to_month or from_month, out=out)
    click.echo(f"{out.name}: {count} doubtful sets. For medical microbiology to fill in; do not pass it on.")


@doubtful.command("decide")
@click.argument("facility")
@click.argument("accession")
@click.argument("decision", type=click.Choice([one.value for one in Decision]))
@click.option("--why", required=True, help="The reason, in one sentence.")
@initials_option
@role_option
@on_option
@json_option
@click.pass_context
def decide(
    ctx: click.Context,
    facility: str,
    accession: str,
    decision: str,
    why: str,
    initials: str,
    role: str,
    on: datetime | None,
    as_json: bool,
) -> None:
    """Note what medical microbiology decided about one set."""
    from cubital.answers.doubtful_file import Saying
    from cubital.workspace.doubtful import decide_sets

    saying = Saying(facility=facility, accession=accession, decision=Decision(decision), why=why)
    noted = decide_sets(opened(ctx), sayings=[saying], initials=initials, role=role, on=_day(on))
    if as_json:
        print_json(noted)
        return
    click.echo(f"Noted: set {accession} of {noted[0].facility}, {decision} (decision {noted[0].number}).")


@doubtful.command("take")
@click.argument("file", type=FILE)
@initials_option
@role_option
@on_option
@json_option
@click.pass_context
def take_list(ctx: click.Context, file: Path, initials: str, role: str, on: datetime | None, as_json: bool) -> None:
    """Take the list that the laboratory filled in, whole or not at all; rows left empty still wait."""
    from cubital.workspace.doubtful import take_decisions

    noted = take_decisions(opened(ctx), file=file, initials=initials, role=role, on=_day(on))
    if as_json:
        print_json(noted)
        return
    click.echo(f"{len(noted)} decisions stand from {file.name}.")


@doubtful.command("withdraw")
@click.argument("number", type=int)
@click.option("--why", required=True, help="The reason, in one sentence.")
@click.pass_context
def withdraw(ctx: click.Context, number: int, why: str) -> None:
    """Take a decision back. It stays in the records, and the set waits again."""
    from cubital.workspace.doubtful import withdraw_decision

    said = withdraw_decision(opened(ctx), number=number, why=why)
    click.echo(f"Decision {number} is taken back; set {said.accession} of {said.facility} waits again.")


def _day(on: datetime | None) -> date:
    return on.date() if on else date.today()  # noqa: DTZ011 a decision carries the local day


def add_commands(root: click.Group) -> None:
    """Hangs this module's commands on the root."""
    root.add_command(doubtful)
