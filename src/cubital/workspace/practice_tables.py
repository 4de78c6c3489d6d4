"""Answers about practice from small tables: attempts, sign-offs, months since a refresher. Nothing is stored."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import cubital
from cubital.answers.learning import LearningPolicy, build_learning_answer, learning_columns, parse_attempts
from cubital.answers.refresher import build_refresher_answer, parse_since, refresher_columns
from cubital.answers.signed_off import build_sign_off_answer, parse_sign_offs, sign_off_columns
from cubital.domain.answer import Answer, Receipt
from cubital.domain.words import _
from cubital.workspace.small_tables import read_rows


def learning_answer(source: Path | str, *, policy: LearningPolicy | None = None) -> Answer:
    """Is the new starter learning? Attempts of one person, in order, from a file or pasted text.

    ``FileProblem`` where it is no table of attempts.
    """
    where, rows = read_rows(source, advice=learning_columns().advice)
    attempts = parse_attempts(rows, where=where)
    return build_learning_answer(attempts, policy=policy, receipt=_receipt(where, len(attempts)))


def sign_off_answer(source: Path | str, *, on: date | None = None) -> Answer:
    """Who is signed off on the day ``on`` (today without one), by whom, and was that assessor current?

    ``FileProblem`` where it is no register.
    """
    where, rows = read_rows(source, advice=sign_off_columns().advice)
    register = parse_sign_offs(rows, where=where)
    day = on or date.today()  # noqa: DTZ011 - a sign-off runs by the calendar of the desk
    return build_sign_off_answer(register, on=day, receipt=_receipt(where, len(register)))


def refresher_answer(source: Path | str) -> Answer:
    """How long does a refresher last? From months since it, with sets and contaminated sets.

    ``FileProblem`` where it is no such table.
    """
    where, rows = read_rows(source, advice=refresher_columns().advice)
    since = parse_since(rows, where=where)
    return build_refresher_answer(since, receipt=_receipt(where, len(since)))


def _receipt(where: str, count: int) -> Receipt:
    return Receipt(
        data=_("{count} rows of {where}, given and not kept").format(count=count, where=where),
        charter=_("no charter: counts were given ready made"), policy="", code=cubital.__version__,
    )  # fmt: skip
