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
    counts = given_counts(source)
    return build_signal_answer(counts, place=place, policy=policy, code=cubital.__version__)


def month_answer(workspace: Workspace, *, month: str, facility: str | None = None, unit: str | None = None) -> Answer:
    """How a month (``YYYY-MM``) was at a unit, a facility, or the network, under the charter and the policy in force.

    ``RequestProblem`` where nothing has been taken in yet, the place is unknown, or it has no sets in that month.
    """
    from cubital.answers.month import build_month_answer
    from cubital.workspace.diary_marking import marked
    from cubital.workspace.month_gathering import gather_month

    answer = build_month_answer(gather_month(workspace, month=month, facility=facility, unit=unit))
    return marked(workspace, answer, facility=facility, unit=unit)


def given_counts(source: Path | str | Sequence[MonthCount]) -> tuple[MonthCount, ...]:
    """The months of a file, of pasted text, or as they are; ``FileProblem`` where they cannot be read or are none."""
    if isinstance(source, Path):
        counts = read_counts(source)
    else:
        counts = parse_counts_text(source, where=_("pasted counts")) if isinstance(source, str) else tuple(source)
    if not counts:
        raise FileProblem(_("there is no month in it."), fix=_("Give at least one month with its sets."))
    return counts
