"""Watched draws, from a file or pasted text: which step is left out, and what to watch next. Nothing is stored."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import cubital
from cubital.answers.observation_plan import PlanCell, PlanRules, parse_plan, read_plan
from cubital.answers.observation_sheets import Sheet, parse_sheets, parse_sheets_text
from cubital.answers.plan_words import build_plan_answer
from cubital.answers.steps import build_steps_answer
from cubital.answers.steps_reading import StepsPolicy, read_steps
from cubital.answers.watched_outcome import build_outcome_answer, read_outcome
from cubital.domain.answer import Answer, Receipt
from cubital.domain.errors import RequestProblem
from cubital.domain.words import _
from cubital.workspace.small_tables import read_small_table


def read_sheets(source: Path | str) -> tuple[Sheet, ...]:
    """The sheets in a file (CSV, TSV, XLSX) or pasted text; ``FileProblem`` where it holds none or names a person."""
    too_large = _("this is too large for sheets of watched draws.")
    if isinstance(source, str):
        return parse_sheets_text(source, where=_("pasted sheets"))
    table = read_small_table(source, too_large=too_large)
    if table.rows is not None:
        return parse_sheets(table.rows, where=table.name)
    return parse_sheets_text(table.text or "", where=table.name)


def steps_answer(source: Path | str | Sequence[Sheet], *, policy: StepsPolicy | None = None) -> Answer:
    """Which step is left out, as far as watched draws can tell; needs no workspace and stores nothing."""
    sheets = _given(source)
    reading = read_steps(sheets, policy=policy or StepsPolicy())
    return build_steps_answer(reading, receipt=_receipt(len(sheets)))


def plan_answer(
    source: Path | str | Sequence[Sheet],
    *,
    policy: StepsPolicy | None = None,
    rules: PlanRules | None = None,
    plan: Path | None = None,
) -> Answer:
    """What to watch next: gaps by shift, unit and role against ``plan``, and how many draws more for which statement.

    ``plan`` is a file with the columns shift, unit, role, draws; without one the draws of ``rules`` are split evenly.
    """
    sheets = _given(source)
    wanted: tuple[PlanCell, ...] = ()
    if plan is not None:
        table = read_small_table(plan)
        wanted = parse_plan(table.rows if table.rows is not None else table.text or "", where=table.name)
    steps = read_steps(sheets, policy=policy or StepsPolicy())
    return build_plan_answer(
        read_plan(sheets, steps=steps, rules=rules or PlanRules(), wanted=wanted), receipt=_receipt(len(sheets))
    )


def outcome_answer(source: Path | str | Sequence[Sheet], *, contaminated: int, sets: int) -> Answer:
    """Watched draws beside ``contaminated`` of ``sets`` of the same time; says nothing of a cause.

    ``RequestProblem`` for counts that cannot be.
    """
    if not sets or contaminated > sets:
        raise RequestProblem(
            _("{contaminated} contaminated of {sets} sets cannot be.").format(contaminated=contaminated, sets=sets),
            fix=_("Give the contaminated sets first, then all sets of the same time."),
        )
    sheets = _given(source)
    reading = read_outcome(read_steps(sheets, policy=StepsPolicy()), contaminated=contaminated, sets=sets)
    return build_outcome_answer(reading, receipt=_receipt(len(sheets)))


def _given(source: Path | str | Sequence[Sheet]) -> tuple[Sheet, ...]:
    return read_sheets(source) if isinstance(source, str | Path) else tuple(source)


def _receipt(sheets: int) -> Receipt:
    return Receipt(
        data=_("{count} sheets, given and not kept").format(count=sheets),
        charter=_("no charter: watched draws"), policy=_("thresholds as asked"), code=cubital.__version__,
    )  # fmt: skip
