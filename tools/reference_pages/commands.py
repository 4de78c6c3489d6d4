"""The command line, by walking the tree of commands."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import click

from cubital.cli.root import cubital as root
from reference_pages.markdown import Page, table

INTRODUCTION = """
Every command works on the workspace named by `--workspace`, which stands before the command's name. With `--json`,
standard output carries one JSON document and nothing else; progress and notes go to standard error. A run with nobody
at the terminal never asks. Exit codes are listed under [errors](errors.md).
"""


@dataclass(frozen=True)
class Entry:
    """One command with its full name."""

    name: str
    command: click.Command


def every_command() -> tuple[Entry, ...]:
    """The root and every command below it, in the order of their names."""
    return tuple(_walk("cubital", root))


def _walk(name: str, command: click.Command) -> Iterator[Entry]:
    yield Entry(name, command)
    if isinstance(command, click.Group):
        context = click.Context(command)
        for below in command.list_commands(context):
            if found := command.get_command(context, below):
                yield from _walk(f"{name} {below}", found)


def _options(command: click.Command) -> list[tuple[str, str, str]]:
    found = []
    for parameter in command.params:
        if isinstance(parameter, click.Option):
            names = ", ".join(f"`{name}`" for name in (*parameter.opts, *parameter.secondary_opts))
            found.append((names, _value(parameter), _help(parameter)))
    return found


def _value(option: click.Option) -> str:
    if option.is_flag or option.count:
        return ""
    if isinstance(option.type, click.Choice):
        return " or ".join(f"`{choice}`" for choice in option.type.choices)
    return f"`{option.metavar or option.type.name.upper()}`"


def _help(option: click.Option) -> str:
    notes = [option.help or ""]
    if option.required:
        notes.append("Must be given.")
    if option.show_default and option.default is not None and not option.is_flag:
        notes.append(f"`{option.default}` if left out.")
    if option.envvar:
        notes.append(f"Also from the environment variable `{option.envvar}`.")
    return " ".join(note for note in notes if note)


def _section(entry: Entry) -> list[str]:
    command = entry.command
    context = click.Context(command, info_name=entry.name)
    pieces = " ".join(command.collect_usage_pieces(context))
    help_text = " ".join((command.help or "").split())
    lines = [f"## {entry.name}", "", help_text, "", "```text", f"{entry.name} {pieces}", "```", ""]
    options = _options(command)
    return lines + (table(("Option", "Value", "What it does"), options) if options else [])


def build_page() -> Page:
    """The page ``command-line.md``."""
    lines = [*INTRODUCTION.strip().splitlines(), ""]
    for entry in every_command():
        lines += _section(entry)
    return Page(name="command-line.md", title="Command line", body="\n".join(lines))
