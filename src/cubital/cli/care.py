"""Commands that keep the house: serve the pages, load the invented network, write practice files."""

from __future__ import annotations

from pathlib import Path

import click

from cubital.cli.shared import opened, progress_to_terminal, say

DEFAULT_PORT = 8765

port_option = click.option(
    "--port", type=click.IntRange(1024, 65535), default=DEFAULT_PORT, show_default=True,
    help="The port of the pages; another one where this is taken.",
)  # fmt: skip
browser_option = click.option("--browser/--no-browser", default=True, help="Open the page in the browser.")


@click.command()
@port_option
@browser_option
@click.pass_context
def serve(ctx: click.Context, port: int, browser: bool) -> None:
    """Show the pages on this computer only, opened by a link that works once."""
    from cubital.web.serving import serve as serve_pages

    workspace = opened(ctx, create=True)
    serve_pages(workspace.folder, port=port, open_browser=browser, announce=say)


@click.command()
@port_option
@browser_option
@click.option("--serve/--no-serve", "then_serve", default=True, help="Show the pages when loaded.")
@click.pass_context
def demo(ctx: click.Context, port: int, browser: bool, then_serve: bool) -> None:
    """Load the invented Vellorin network, say its month, show the pages."""
    from cubital.cli.answering import print_answer
    from cubital.workspace.demo import load_demo
    from cubital.workspace.months import month_answer
    from cubital.workspace.places import last_place

    workspace = opened(ctx, create=True)
    load_demo(workspace, progress=progress_to_terminal())
    place = last_place(workspace)
    if place and place.month:
        print_answer(
            month_answer(workspace, month=place.month, facility=place.facility, unit=place.unit), as_json=False
        )
    if then_serve:
        ctx.invoke(serve, port=port, browser=browser)


@click.command()
@click.argument("folder", type=click.Path(path_type=Path, file_okay=False))
def practice(folder: Path) -> None:
    """Write the invented network's files into FOLDER, to learn on or to teach with."""
    from cubital.workspace.demo import write_practice_files

    for written in write_practice_files(folder):
        click.echo(written.name)


def add_commands(root: click.Group) -> None:
    """Hangs this module's commands on the root."""
    for command in (serve, demo, practice):
        root.add_command(command)
