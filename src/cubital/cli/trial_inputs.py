"""Percentages, looks and plan files as they are typed at the command line."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

import click

from cubital.domain.errors import FileProblem
from cubital.domain.trial import TrialPlan, build_plan_dict
from cubital.domain.words import _

LARGEST_PLAN = 5_000_000  # bytes; a plan of a thousand turns has a fiftieth of that


class PercentText(click.ParamType[float]):
    """A percentage written ``4.2`` or ``4,2``, with or without its sign, as a share."""

    name = "4.2"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> float:
        if isinstance(value, float):
            return value
        text = str(value).strip().removesuffix("%").strip().replace(",", ".")
        if not re.fullmatch(r"-?\d+(\.\d+)?", text):
            self.fail(f"'{value}' is no percentage. Write it as 4.2.", param, ctx)
        return float(text) / 100


class LooksText(click.ParamType[tuple[float, ...]]):
    """Planned looks written ``50,100``: per cent of the planned sets, the last one 100."""

    name = "50,100"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> tuple[float, ...]:
        if isinstance(value, tuple):
            return value
        parts = str(value).split(",")
        looks = tuple(float(part) / 100 for part in parts if re.fullmatch(r"\s*\d+(\.\d+)?\s*", part))
        rising = list(looks) == sorted(set(looks))
        if len(looks) != len(parts) or not rising or looks[-1] != 1 or looks[0] <= 0 or len(looks) > 10:
            self.fail(f"'{value}' are no looks. Write rising per cents of the sets that end with 100: 50,100.",
                      param, ctx)  # fmt: skip
        return looks


PERCENT, LOOKS = PercentText(), LooksText()


def write_plan(out: Path, plan: TrialPlan) -> None:
    """The plan as JSON that can be read and, with care, changed by hand."""
    from cubital.papers.out_files import write_whole

    write_whole(out, json.dumps(build_plan_dict(plan), indent=2, ensure_ascii=False).encode() + b"\n")


def read_json(file: Path) -> object:
    """What a plan file holds; ``FileProblem`` where it is no JSON."""
    try:
        if file.stat().st_size > LARGEST_PLAN:
            raise FileProblem(_("this is far too large for a plan."), where=file.name, fix=_("Choose the plan's file."))
        found: object = json.loads(file.read_text(encoding="utf-8"))
    except (OSError, ValueError) as error:
        reason = error.strerror if isinstance(error, OSError) else _("it is no JSON")
        raise FileProblem(
            _("the plan cannot be read ({reason}).").format(reason=reason), where=file.name,
            fix=_("Make it anew with 'cubital trial plan --out'."),
        ) from None  # fmt: skip
    return found
