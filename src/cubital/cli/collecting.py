"""Commands around the policy on collecting: look at it, take it in and out as a file, compare, approve."""

from __future__ import annotations

from datetime import date, datetime
from pathlib import Path

import click

from cubital.bedside.policy_file import changed_policy_values, example_policy, flat_values, write_policy
from cubital.cli.shared import DAY, json_option, opened, print_json
from cubital.papers.out_files import write_whole
from cubital.reference.collection_guidance import guidance_for


@click.group()
def collecting() -> None:
    """The local policy on collecting: volumes, bottles, antisepsis, lines, labels. A draft until approved."""


@collecting.command("show")
@json_option
@click.pass_context
def show(ctx: click.Context, as_json: bool) -> None:
    """Every value of the policy in force with what has been published beside it."""
    from cubital.workspace.collecting import current_collection_policy

    policy = current_collection_policy(opened(ctx, create=True))
    state = policy.state(date.today())  # noqa: DTZ011 review days are local days
    values = flat_values(policy)
    if as_json:
        print_json({"name": policy.name, "version": policy.version, "state": state, "values": values})
        return
    click.echo(f"{policy.name}, version {policy.version}: {state}")
    shown: set[str] = set()
    for path, value in values.items():
        click.echo(f"  {path} = {value}")
        for entry in guidance_for(path):
            if entry.words not in shown:
                shown.add(entry.words)
                click.echo(f"      published ({entry.confidence}): {entry.words} [{entry.source}]")


@collecting.command("export")
@click.argument("out", type=click.Path(path_type=Path, dir_okay=False))
@click.option("--example", is_flag=True, help="The shipped example instead of the policy in force.")
@click.pass_context
def export_policy(ctx: click.Context, out: Path, example: bool) -> None:
    """Write the policy as one readable TOML file."""
    from cubital.workspace.collecting import current_collection_policy

    policy = example_policy() if example else current_collection_policy(opened(ctx, create=True))
    write_whole(out, write_policy(policy).encode())
    click.echo(f"{out.name}: version {policy.version}.")


@collecting.command("import")
@click.argument("file", type=click.Path(path_type=Path, dir_okay=False))
@click.pass_context
def import_policy(ctx: click.Context, file: Path) -> None:
    """Take a TOML file as the next version: a draft, whatever approval it claims."""
    from cubital.workspace.collecting import read_policy_file, save_collection_policy

    saved = save_collection_policy(opened(ctx, create=True), policy=read_policy_file(file))
    click.echo(f"Version {saved.version} kept as a draft. It gives no bedside number until it is approved.")


@collecting.command("compare")
@click.argument("old", type=int)
@click.argument("new", type=int)
@json_option
@click.pass_context
def compare(ctx: click.Context, old: int, new: int, as_json: bool) -> None:
    """What changed between two versions, value by value and step by step."""
    from cubital.workspace.collecting import find_collection_policy

    workspace = opened(ctx)
    changed = changed_policy_values(find_collection_policy(workspace, old), find_collection_policy(workspace, new))
    if as_json:
        print_json([{"path": path, "old": before, "new": after} for path, before, after in changed])
        return
    for path, before, after in changed:
        click.echo(f"{path}: {before} → {after}")
    if not changed:
        click.echo("Nothing differs.")


@collecting.command("approve")
@click.argument("version", type=int)
@click.option("--by", "approved_by", required=True, help="Who approves.")
@click.option("--on", "on", type=DAY, metavar="YYYY-MM-DD", help="Day of approval; today if left out.")
@click.option("--review-by", type=DAY, required=True, metavar="YYYY-MM-DD", help="Last day on which it may speak.")
@click.pass_context
def approve(ctx: click.Context, version: int, approved_by: str, on: datetime | None, review_by: datetime) -> None:
    """Approve a version until its review day."""
    from cubital.workspace.collecting import approve_collection_policy

    day = on.date() if on else date.today()  # noqa: DTZ011 an approval carries the local day
    approved = approve_collection_policy(
        opened(ctx), version=version, approved_by=approved_by, on=day, review_by=review_by.date()
    )
    click.echo(
        f"Version {approved.version} approved by {approved.approved_by}, to be reviewed by {approved.review_by}."
    )


def add_commands(root: click.Group) -> None:
    """Hangs this module's commands on the root."""
    root.add_command(collecting)
