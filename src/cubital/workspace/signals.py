"""The questions about signal and noise, asked of a place in a workspace or of counts alone."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from enum import StrEnum
from itertools import pairwise
from pathlib import Path
from typing import TYPE_CHECKING

import cubital
from cubital.answers.below_target import build_target_answer
from cubital.answers.better import build_better_answer
from cubital.answers.charts.answering import build_chart_answer
from cubital.answers.charts.choosing import choose_chart
from cubital.answers.charts.gap_answering import build_gap_answer
from cubital.answers.charts.gaps import Gaps, gaps_of_counts
from cubital.answers.charts.kinds import ChartKind
from cubital.answers.counts import MonthCount
from cubital.answers.noticed import Known, build_noticed_answer
from cubital.answers.phases import build_phases_answer
from cubital.answers.signal import DEFAULT_POLICY, build_signal_answer, counts_receipt
from cubital.answers.signal_reading import SignalPolicy
from cubital.answers.since_when import build_since_answer
from cubital.answers.unit_months import build_units_answer
from cubital.domain.answer import Answer, Receipt
from cubital.domain.errors import RequestProblem
from cubital.domain.words import _
from cubital.workspace.months import given_counts, month_answer

if TYPE_CHECKING:
    from datetime import date

    from cubital.workspace.asked_places import AskedPlace
    from cubital.workspace.opening import Workspace

DEFAULT_TARGET = 0.03
UNIT_MONTHS = 12  # months of every unit that are looked at; those before are its baseline


class Question(StrEnum):
    """What can be asked about the months of a place."""

    REAL = "real"
    CHART = "chart"
    SINCE = "since"
    BETTER = "better"
    BELOW = "below"
    GAP = "gap"
    UNITS = "units"
    NOTICED = "noticed"
    PHASES = "phases"


NEEDS_PLACE = (Question.UNITS, Question.NOTICED, Question.PHASES)


def ask_counts(
    source: Path | str | Sequence[MonthCount],
    *,
    question: Question = Question.REAL,
    chart: ChartKind | None = None,
    target: float | None = None,
) -> Answer:
    """A question about months of counts; needs no workspace and stores nothing.

    ``chart`` none lets the data choose. ``RequestProblem`` for the questions that need a workspace, ``FileProblem``
    where the counts cannot be read.
    """
    counts, policy = given_counts(source), _with_target(DEFAULT_POLICY, target)
    if question in (Question.UNITS, Question.PHASES):
        raise RequestProblem(
            _("counts of one place cannot answer this question."),
            fix=_("Take the laboratory's files into a workspace."),
        )
    receipt = counts_receipt(counts, policy=policy, code=cubital.__version__)
    if question is Question.REAL:
        return build_signal_answer(counts, policy=policy, code=cubital.__version__)
    if question is Question.NOTICED:
        return _noticed_in_counts(counts, policy, receipt)
    if question is Question.GAP:
        kind = ChartKind.GAPS if chart is None else chart
        return _gap_answer(gaps_of_counts(counts), kind=kind, receipt=receipt)
    if question is Question.CHART:
        return _chart_answer(counts, chart=chart, policy=policy, receipt=receipt)
    return _month_question(counts, question=question, policy=policy, receipt=receipt)


def ask_place(
    workspace: Workspace,
    *,
    question: Question,
    chart: ChartKind | None = None,
    month: str | None = None,
    facility: str | None = None,
    unit: str | None = None,
    target: float | None = None,
) -> Answer:
    """A question about a place under the charter and policy in force, up to ``month`` (none: the last with sets).

    The baseline in force there is used. ``RequestProblem`` where the place is unknown or has no sets by then.
    """
    from cubital.workspace.asked_places import find_place
    from cubital.workspace.diary_marking import marked
    from cubital.workspace.month_gathering import receipt_of

    if question is Question.REAL:
        asked = month or last_month(workspace, facility=facility, unit=unit)
        return month_answer(workspace, month=asked, facility=facility, unit=unit)
    place = find_place(workspace, facility=facility, unit=unit)
    from cubital.workspace.charters import current_charter
    from cubital.workspace.policies import current_policy
    from cubital.workspace.policy_rules import policy_signal
    from cubital.workspace.snapshots import snapshot_words

    policy = current_policy(workspace)
    rules = _with_target(policy_signal(policy), target)
    receipt = receipt_of(snapshot_words(workspace), current_charter(workspace), policy)
    answer = _place_answer(
        workspace, place=place, question=question, chart=chart, month=month, policy=rules, receipt=receipt
    )
    return marked(workspace, answer, facility=place.facility, unit=place.unit)


def _place_answer(
    workspace: Workspace,
    *,
    place: AskedPlace,
    question: Question,
    chart: ChartKind | None,
    month: str | None,
    policy: SignalPolicy,
    receipt: Receipt,
) -> Answer:
    from cubital.workspace.baseline_records import baselines_of

    if question is Question.UNITS:
        return _units_answer(workspace, place=place, month=month, policy=policy, receipt=receipt)
    counts = _counts_until(workspace, place, month)
    if question is Question.PHASES:
        phases = baselines_of(workspace, place)
        return build_phases_answer(counts, phases=phases, place=place.noun, policy=policy, receipt=receipt)
    if question is Question.NOTICED:
        return _noticed_answer(workspace, place=place, counts=counts, policy=policy, receipt=receipt)
    if question is Question.GAP or chart in (ChartKind.GAPS, ChartKind.TIMES):
        kind = ChartKind.GAPS if chart is None else chart
        return _gap_answer(_place_gaps(workspace, place, month, kind), kind=kind, receipt=receipt)
    if question is Question.CHART:
        return _place_chart(workspace, counts, place=place, chart=chart, month=month, policy=policy, receipt=receipt)
    return _month_question(counts, question=question, policy=policy, receipt=receipt)


def _place_chart(
    workspace: Workspace,
    counts: Sequence[MonthCount],
    *,
    place: AskedPlace,
    chart: ChartKind | None,
    month: str | None,
    policy: SignalPolicy,
    receipt: Receipt,
) -> Answer:
    """One chart of the place's months; where the data ask for gaps, those."""
    from cubital.workspace.baseline_records import baseline_in_force

    locked = baseline_in_force(workspace, place, counts[-1].month)
    span = locked.span if locked else None
    choice = choose_chart(counts, policy=policy, locked=span) if chart is None else None
    why, kind = (choice.why, choice.kind) if choice else ("", chart or ChartKind.P)
    if kind is ChartKind.GAPS:
        return _gap_answer(_place_gaps(workspace, place, month, kind), kind=kind, receipt=receipt, why=why)
    return build_chart_answer(counts, kind=kind, place=place.noun, policy=policy, locked=span, receipt=receipt, why=why)


def _month_question(
    counts: Sequence[MonthCount], *, question: Question, policy: SignalPolicy, receipt: Receipt
) -> Answer:
    if question is Question.SINCE:
        return build_since_answer(counts, policy=policy, receipt=receipt)
    if question is Question.BETTER:
        return build_better_answer(counts, policy=policy, receipt=receipt)
    target = DEFAULT_TARGET if policy.target is None else policy.target
    return build_target_answer(counts, target=target, policy=policy, receipt=receipt)


def _chart_answer(
    counts: Sequence[MonthCount], *, chart: ChartKind | None, policy: SignalPolicy, receipt: Receipt
) -> Answer:
    choice = choose_chart(counts, policy=policy) if chart is None else None
    kind = choice.kind if choice else chart or ChartKind.P
    why = choice.why if choice else ""
    if kind in (ChartKind.GAPS, ChartKind.TIMES):
        return _gap_answer(gaps_of_counts(counts), kind=kind, receipt=receipt, why=why)
    return build_chart_answer(counts, kind=kind, policy=policy, receipt=receipt, why=why)


def _gap_answer(gaps: Gaps, *, kind: ChartKind, receipt: Receipt, why: str = "") -> Answer:
    if kind is ChartKind.TIMES and gaps.unit != "days":
        raise RequestProblem(
            _("counts by month do not say on which day a contamination was."),
            fix=_("Ask for the chart of sets between contaminations, or take the laboratory's files into a workspace."),
        )
    if kind not in (ChartKind.GAPS, ChartKind.TIMES):
        raise RequestProblem(
            _("this question is answered by gaps, not by a chart of months."), fix=_("Choose gaps or times.")
        )
    answer = build_gap_answer(gaps, kind=kind, receipt=receipt)
    return replace(answer, cautions=(why, *answer.cautions)) if why else answer


def _with_target(policy: SignalPolicy, target: float | None) -> SignalPolicy:
    if target is None:
        return policy
    if not 0 < target < 1:
        raise RequestProblem(
            _("a target of {target} is no share between 0 and 1.").format(target=f"{target:g}"),
            fix=_("Write 3 % as 0.03."),
        )
    return replace(policy, target=target)


def _noticed_in_counts(counts: Sequence[MonthCount], policy: SignalPolicy, receipt: Receipt) -> Answer:
    from datetime import date

    today = date.today()  # noqa: DTZ011 - counts carry no day of their own; the desk's stands beside them
    known = [Known(counts=tuple(counts[: end + 1]), by=_("the table"), on=today) for end in range(len(counts))]
    return build_noticed_answer(known, policy=policy, receipt=receipt)


def last_month(workspace: Workspace, *, facility: str | None, unit: str | None) -> str:
    """The newest month with sets of the place; ``RequestProblem`` where there is none."""
    from cubital.workspace.asked_places import find_place

    return _counts_until(workspace, find_place(workspace, facility=facility, unit=unit), None)[-1].month


def _counts_until(workspace: Workspace, place: AskedPlace, month: str | None) -> tuple[MonthCount, ...]:
    from cubital.workspace.place_counts import count_place

    counts = tuple(c for c in count_place(workspace, place) if month is None or c.month <= month)
    if not counts:
        raise RequestProblem(
            _("{place} has no sets to judge by.").format(place=place.name),
            fix=_("Choose a later month, or take a file in that has its sets."),
        )
    return counts


def _units_answer(
    workspace: Workspace, *, place: AskedPlace, month: str | None, policy: SignalPolicy, receipt: Receipt
) -> Answer:
    from cubital.workspace.charters import current_charter
    from cubital.workspace.place_counts import count_units
    from cubital.workspace.snapshots import open_snapshot

    with open_snapshot(workspace) as session:
        units = count_units(session, current_charter(workspace).charter, facility=place.facility, to_month=month)
    return build_units_answer(units, months=UNIT_MONTHS, policy=policy, receipt=receipt)


def _noticed_answer(
    workspace: Workspace, *, place: AskedPlace, counts: tuple[MonthCount, ...], policy: SignalPolicy, receipt: Receipt
) -> Answer:
    from cubital.workspace.charters import current_charter
    from cubital.workspace.known_then import months_as_known

    charter = current_charter(workspace).charter
    known, whole = months_as_known(workspace, charter, place=place, today=counts)
    if not known:
        raise RequestProblem(
            _("no month of {place} is over yet in any file.").format(place=place.name),
            fix=_("Ask again once a file was taken in after the month's last day."),
        )
    restated = counts if any(one.counts[-1] not in counts for one in known) else None
    answer = build_noticed_answer(known, restated=restated, policy=policy, receipt=receipt)
    if whole:
        return answer
    words = _("Some old states were let go; for their months the next state that is kept stands in.")
    return replace(answer, cautions=(*answer.cautions, words))


def _place_gaps(workspace: Workspace, place: AskedPlace, month: str | None, kind: ChartKind) -> Gaps:
    from cubital.workspace.baseline_records import baseline_in_force
    from cubital.workspace.charters import current_charter
    from cubital.workspace.place_counts import count_days
    from cubital.workspace.snapshots import open_snapshot

    with open_snapshot(workspace) as session:
        days = count_days(session, current_charter(workspace).charter, place=place, to_month=month)
    locked = baseline_in_force(workspace, place, f"{days[-1][0]:%Y-%m}") if days else None
    until = locked.last if locked else None
    return gaps_of_days(days, until=until) if kind is ChartKind.GAPS else times_of_days(days, until=until)


def gaps_of_days(days: Sequence[tuple[date, int, int]], *, until: str | None = None) -> Gaps:
    """Clean sets between contaminated ones from days of (day, sets, contaminated); exact but for the order in a day.

    The gaps that close by the month ``until`` are the baseline; none takes them all.
    """
    as_months = [MonthCount(month="2000-01", sets=sets, contaminated=events) for _day, sets, events in days]
    held = None if until is None else sum(f"{day:%Y-%m}" <= until for day, _sets, _events in days)
    return gaps_of_counts(as_months, baseline_months=held)


def times_of_days(days: Sequence[tuple[date, int, int]], *, until: str | None = None) -> Gaps:
    """Days from one contamination to the next; two on one day are no day apart. ``until`` as for the gaps in sets."""
    events = [day for day, _sets, count in days for _copy in range(count)]
    closed = tuple((later - earlier).days for earlier, later in pairwise(events))
    last = days[-1][0] if days else None
    opened = (last - events[-1]).days if events and last else 0
    held = None if until is None else max(0, sum(f"{day:%Y-%m}" <= until for day in events) - 1)
    return Gaps(closed=closed, open=opened, unit="days", baseline=held)
