"""Commands about where the records are: in the workspace's own file or on a PostgreSQL server."""

from __future__ import annotations

import click

from cubital.cli.shared import json_option, opened, print_json, say


@click.group()
def records() -> None:
    """Where the records are: in the workspace's own file, or on a PostgreSQL server."""


@records.command("show")
@json_option
@click.pass_context
def show(ctx: click.Context, as_json: bool) -> None:
    """Say where the records are, what keeps them, and what to know about it."""
    from cubital.workspace.moving_records import records_place

    found = records_place(opened(ctx))
    if as_json:
        print_json(found)
        return
    click.echo(f"{found.place} ({found.software})")
    for caution in found.cautions:
        click.echo(f"  ! {caution}")


@records.command("move")
@click.argument("address", required=False)
@click.option("--back", is_flag=True, help="From the server back into the workspace's own file.")
@json_option
@click.pass_context
def move(ctx: click.Context, address: str | None, back: bool, as_json: bool) -> None:
    """Bring the records to the server at ADDRESS (or CUBITAL_RECORDS), compared row by row before it counts."""
    from cubital.workspace.moving_records import move_to_file, move_to_server, open_for_moving

    workspace, asked = open_for_moving(ctx.find_root().obj)
    if (back and address) or not (back or address or asked):
        raise click.UsageError("Give the address of the server, or --back.")
    moved = move_to_file(workspace) if back else move_to_server(workspace, address=address or asked)
    if as_json:
        print_json(moved)
        return
    click.echo(f"{sum(moved.rows.values()):,} records moved from {moved.source} to {moved.target} and found equal.")
    if moved.kept_as:
        click.echo(f"The old ones are kept as {moved.kept_as}.")
    if back and asked:
        say("Take the environment variable CUBITAL_RECORDS away, or this workspace will refuse to open.")


def add_commands(root: click.Group) -> None:
    """Hangs this module's commands on the root."""
    root.add_command(records)
