"""The month's answer: from the stored cultures under the charter in force, or from counts alone."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import cubital
from cubital.answers.counts import MonthCount, parse_counts_text
from cubital.answers.signal import DEFAULT_POLICY, build_signal_answer
from cubital.answers.signal_reading import SignalPolicy
from cubital.answers.signal_words import Place
from cubital.domain.answer import Answer
from cubital.domain.errors import FileProblem
from cubital.domain.words import _
from cubital.workspace.count_files import read_counts

if TYPE_CHECKING:
    from cubital.workspace.opening import Workspace


def signal_answer(
    source: Path | str | Sequence[MonthCount], *, place: Place = "department", policy: SignalPolicy = DEFAULT_POLICY
) -> Answer:
    """Is the last month noise or signal, from counts alone; needs no workspace and stores nothing.

    ``source`` is a file, pasted text, or counts in time order. ``FileProblem`` where it cannot be read or is empty.
    """
    counts = _given_counts(source)
    if not counts:
        raise FileProblem(_("there is no month in it."), fix=_("Give at least one month with its sets."))
    return build_signal_answer(counts, place=place, policy=policy, code=cubital.__version__)


def month_answer(workspace: Workspace, *, month: str, facility: str | None = None, unit: str | None = None) -> Answer:
    """How a month (``YYYY-MM``) was at a unit, a facility, or the network, under the charter and the policy in force.

    ``RequestProblem`` where nothing has been taken in yet, the place is unknown, or it has no sets in that month.
    """
    from cubital.answers.month import build_month_answer
    from cubital.workspace.month_gathering import gather_month

    return build_month_answer(gather_month(workspace, month=month, facility=facility, unit=unit))


def _given_counts(source: Path | str | Sequence[MonthCount]) -> tuple[MonthCount, ...]:
    if isinstance(source, Path):
        return read_counts(source)
    if isinstance(source, str):
        return parse_counts_text(source, where=_("pasted counts"))
    return tuple(source)
