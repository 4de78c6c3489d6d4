"""Commands around definitions: the bench, the charter, the policy."""

from __future__ import annotations

from dataclasses import asdict
from datetime import date, datetime
from typing import TYPE_CHECKING, Any

import click

from cubital.cli.answering import receipt_option
from cubital.cli.shared import DAY, MONTH, json_option, opened, print_json
from cubital.domain.charter import build_charter
from cubital.domain.errors import CharterProblem
from cubital.domain.words import share_words
from cubital.reference.charters import published_charters

if TYPE_CHECKING:
    from cubital.answers.bench import Bench
    from cubital.workspace.opening import Workspace


@click.command()
@click.option("--from", "from_month", type=MONTH, help="First month, YYYY-MM.")
@click.option("--to", "to_month", type=MONTH, help="Last month, YYYY-MM.")
@click.option("--adults", is_flag=True, help="Count adults only; sets of unknown age are kept and said.")
@receipt_option
@json_option
@click.pass_context
def bench(
    ctx: click.Context, from_month: str | None, to_month: str | None, adults: bool, keep: bool, as_json: bool
) -> None:
    """Every definition on the same data, side by side, and which sets move between them."""
    from cubital.answers.bench import build_bench_dict
    from cubital.workspace.judging import run_bench

    workspace = opened(ctx)
    found = run_bench(workspace, from_month=from_month, to_month=to_month, adults=adults)
    plain = build_bench_dict(found)
    asked = {"from_month": from_month, "to_month": to_month, "adults": adults}
    code = _keep_bench(workspace, found, asked) if keep else None
    if code is not None:
        plain["receipt_code"] = code
    if as_json:
        print_json(plain)
        return
    for line in plain["definitions"]:
        rate = share_words(line["rate"]) if line["rate"] is not None else "no rate"
        spread = f"({share_words(line['low'])} to {share_words(line['high'])})" if line["low"] is not None else ""
        click.echo(f"{line['numerator']:>7,} of {line['denominator']:>9,}  {rate:>8} {spread:<20} {line['key']}")
    click.echo(f"{len(plain['moves']):,} sets change class between two definitions; --json lists them.")
    if code is not None:
        from cubital.workspace.receipts import receipt_words

        click.echo(receipt_words(code))


def _keep_bench(workspace: Workspace, found: Bench, asked: dict[str, Any]) -> str:
    from cubital.workspace.left_answers import definitions_as_answer, workspace_receipt
    from cubital.workspace.receipts import keep_receipt

    answer = definitions_as_answer(found, receipt=workspace_receipt(workspace))
    return keep_receipt(workspace, question="definitions", asked=asked, answer=answer)


@click.group()
def charter() -> None:
    """The signed page on what counts as a contaminated set."""


@charter.command("show")
@json_option
@click.pass_context
def show_charter(ctx: click.Context, as_json: bool) -> None:
    """The charter in force, with its signatures."""
    from cubital.workspace.charters import current_charter

    found = current_charter(opened(ctx))
    if as_json:
        print_json(found)
        return
    rules = asdict(found.charter)
    for name, value in rules.items():
        click.echo(f"{name:>20}  {value}")
    for signature in found.signatures:
        click.echo(f"{'signed':>20}  {signature.name}, {signature.role}, {signature.signed_on}")


@charter.command("published")
@json_option
def show_published(as_json: bool) -> None:
    """The published definitions that Cubital ships, with their sources."""
    found = published_charters()
    if as_json:
        print_json({key: asdict(entry) for key, entry in found.items()})
        return
    for key, entry in found.items():
        click.echo(f"{key}\n    {entry.name}\n    {entry.source} {entry.confidence}".rstrip())


@charter.command("set")
@click.option("--start-from", help="Key of a published definition; otherwise the charter in force.")
@click.argument("settings", nargs=-1, metavar="[NAME=VALUE]...")
@click.pass_context
def set_charter(ctx: click.Context, start_from: str | None, settings: tuple[str, ...]) -> None:
    """Write a new version of the charter, from a published definition or by changing settings of the present one."""
    from cubital.workspace.charters import current_charter, save_charter

    workspace = opened(ctx, create=True)
    base = current_charter(workspace).charter
    if start_from is not None:
        published = published_charters()
        if start_from not in published:
            raise CharterProblem(f"'{start_from}' is not shipped.", fix=f"Known are: {', '.join(published)}.")
        base = published[start_from]
    values = {name: value for name, value in asdict(base).items() if name != "version"}
    for pair in settings:
        name, sign, text = pair.partition("=")
        if not sign:
            raise click.BadParameter(f"'{pair}' is not NAME=VALUE", param_hint="SETTINGS")
        values[name] = _setting_value(values.get(name), text)
    saved = save_charter(workspace, charter=build_charter(values))
    click.echo(f"Charter version {saved.charter.version}, fingerprint {saved.charter.fingerprint()}, not signed yet.")


def _setting_value(present: object, text: str) -> object:
    if isinstance(present, int):
        if not text.isdigit():
            raise CharterProblem(f"'{text}' is no whole number.")
        return int(text)
    if isinstance(present, tuple | list):
        return tuple(part.strip() for part in text.split(",") if part.strip())
    return text


@charter.command("sign")
@click.option("--name", required=True, help="Who signs.")
@click.option("--role", required=True, help="In which role, such as 'practice educator' or 'medical microbiology'.")
@click.option("--on", "on", type=DAY, metavar="YYYY-MM-DD", help="Day of signing; today if left out.")
@click.pass_context
def sign(ctx: click.Context, name: str, role: str, on: datetime | None) -> None:
    """Sign the charter in force."""
    from cubital.workspace.charters import current_charter, sign_charter

    workspace = opened(ctx)
    version = current_charter(workspace).charter.version
    day = on.date() if on else date.today()  # noqa: DTZ011 a signature carries the local day
    signed = sign_charter(workspace, version=version, name=name, role=role, on=day)
    click.echo(f"Charter version {version} carries {len(signed.signatures)} signature(s).")


@click.group()
def policy() -> None:
    """Local thresholds, each with unit, source, owner and approval."""


@policy.command("show")
@json_option
@click.pass_context
def show_policy(ctx: click.Context, as_json: bool) -> None:
    """The policy in force and its state."""
    from cubital.workspace.policies import current_policy

    found = current_policy(opened(ctx))
    state = found.state(date.today())  # noqa: DTZ011 review days are local days
    if as_json:
        print_json({"state": state, **asdict(found)})
        return
    click.echo(f"{found.name}, version {found.version}: {state}")
    for value in found.values:
        click.echo(f"{value.value:>10g} {value.unit:<12} {value.label} (source: {value.source}; owner: {value.owner})")


def add_commands(root: click.Group) -> None:
    """Hangs this module's commands on the root."""
    for command in (bench, charter, policy):
        root.add_command(command)
