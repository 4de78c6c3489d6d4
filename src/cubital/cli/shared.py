"""What several commands share: options, the opened workspace, output of one object as JSON or words."""

from __future__ import annotations

import json
import sys
from collections.abc import Callable
from dataclasses import asdict, is_dataclass, replace
from datetime import date, datetime
from enum import Enum
from pathlib import Path
from typing import Any, TypeVar

import click

from cubital.workspace.opening import Workspace, open_workspace

Command = TypeVar("Command", bound=Callable[..., Any])

json_option = click.option("--json", "as_json", is_flag=True, help="JSON alone on standard output.")
facility_option = click.option("--facility", help="The hospital, as you named it when taking its file.")
unit_option = click.option("--unit", help="The unit, by any name it has had.")


class MonthText(click.ParamType[str]):
    """A month written ``YYYY-MM``."""

    name = "YYYY-MM"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> str:
        text = str(value)
        try:
            date.fromisoformat(f"{text}-01")
        except ValueError:
            self.fail(f"'{text}' is no month. Write the year and the month, such as 2026-03.", param, ctx)
        return text


MONTH = MonthText()
DAY = click.DateTime(formats=["%Y-%m-%d"])


def opened(ctx: click.Context, *, create: bool = False) -> Workspace:
    """The workspace of this run, on the engine of this run; ``create`` makes the folder on first use."""
    root = ctx.find_root()
    return replace(open_workspace(root.obj, create=create, say=say), engine=root.params["engine"])


def print_json(value: Any) -> None:
    """One JSON document on standard output."""
    click.echo(json.dumps(value, ensure_ascii=False, indent=2, default=_plain, allow_nan=False))


def _plain(value: Any) -> Any:
    if is_dataclass(value) and not isinstance(value, type):
        return asdict(value)
    if isinstance(value, Enum):
        return value.value
    if isinstance(value, date | datetime):
        return value.isoformat()
    if isinstance(value, Path):
        return value.name
    raise TypeError(f"no JSON form for {type(value).__name__}")


def say(text: str) -> None:
    """A note on standard error, so that standard output stays clean."""
    click.echo(text, err=True)


def progress_to_terminal() -> Callable[[str, float], None]:
    """A callback that keeps one line on the terminal up to date; silent where nobody watches."""
    watched = sys.stderr.isatty()

    def show(step: str, fraction: float) -> None:
        if watched:
            filled = round(20 * max(0.0, min(1.0, fraction)))
            click.echo(f"\r{'#' * filled}{'.' * (20 - filled)} {step:<50.50}", err=True, nl=fraction >= 1)

    return show


def read_answers(pairs: tuple[str, ...]) -> dict[str, str]:
    """``--answer key=value`` as a dictionary; anything else is a usage error."""
    found: dict[str, str] = {}
    for pair in pairs:
        key, sign, value = pair.partition("=")
        if not sign or not key:
            raise click.BadParameter(f"'{pair}' is not KEY=VALUE", param_hint="--answer")
        found[key.strip()] = value.strip()
    return found
