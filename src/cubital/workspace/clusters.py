"""Looks for clusters of odd organisms in the cultures of a workspace, or in a short list typed by hand."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

import cubital
from cubital.answers.cluster import build_cluster_answer, build_lot_answer
from cubital.answers.cluster_reading import ClusterPolicy, ClusterReading, Look, look_back, read_clusters
from cubital.answers.growth_lists import growth_columns, parse_growths
from cubital.answers.lots import Exposure, LotStay, expose
from cubital.answers.odd_growths import Events, asked_organism, events_by_genus, events_of
from cubital.domain.answer import Answer, Receipt
from cubital.domain.errors import RequestProblem
from cubital.domain.words import _
from cubital.judge.growths import DrawnDay, Growth, count_drawn_days, count_growths, dated_span
from cubital.workspace.small_tables import read_rows

if TYPE_CHECKING:
    from cubital.workspace.opening import Workspace

LOOK_DAYS = 28
MOST_DAYS = 366
Days = tuple[date, date]


@dataclass(frozen=True, kw_only=True)
class ClusterQuestion:
    """What is asked: one organism or every odd one, the days up to ``until``, and what they are compared with.

    None means: every organism that is rare here, the last day with a set, up to a year before.
    """

    organism: str | None = None
    until: date | None = None
    days: int = LOOK_DAYS
    baseline: Days | None = None
    per_week: float | None = None

    def __post_init__(self) -> None:
        if not 1 <= self.days <= MOST_DAYS:
            raise RequestProblem(
                _("{days} days cannot be looked at.").format(days=self.days),
                fix=_("Choose from 1 to {most} days.").format(most=MOST_DAYS),
            )
        if self.baseline and self.baseline[1] < self.baseline[0]:
            raise RequestProblem(_("the days before end before they begin."), fix=_("Give the earlier day first."))
        if self.per_week is not None and not self.organism:
            raise RequestProblem(
                _("a usual number a week belongs to one organism."), fix=_("Say which with --organism.")
            )
        if self.per_week is not None and self.per_week <= 0:
            raise RequestProblem(
                _("a usual number of zero makes every growth impossible."),
                fix=_("Give what is usual, such as 0.4, or leave it out."),
            )


@dataclass(frozen=True, kw_only=True)
class ClusterReport:
    """The answer about the cluster, and the one about the lots in use there."""

    cluster: Answer
    lots: Answer


def cluster_report(workspace: Workspace, question: ClusterQuestion | None = None) -> ClusterReport:
    """Does an odd organism cluster, and which lots were in use there? Private: small counts stand in it.

    ``RequestProblem`` where nothing is taken in, the organism is unknown, or the baseline overlaps the days asked for.
    """
    from cubital.workspace.lots import list_lots
    from cubital.workspace.snapshots import open_snapshot, snapshot_words

    asked = question or ClusterQuestion()
    with open_snapshot(workspace) as session:
        span = dated_span(session)
        if span is None:
            raise RequestProblem(_("no set has a day, so nothing can be followed over time."))
        first, last, before = _days(asked, span)
        growths = count_growths(session, first=before[0] if before else first, last=last)
        drawn = count_drawn_days(session, first=before[0] if before else first, last=last)
    receipt = _receipt(snapshot_words(workspace))
    return _report(
        asked, growths, drawn=drawn, days=(first, last), before=before, receipt=receipt,
        stays=list_lots(workspace),
    )  # fmt: skip


def cluster_answer(workspace: Workspace, question: ClusterQuestion | None = None) -> Answer:
    """The first half of ``cluster_report``."""
    return cluster_report(workspace, question).cluster


def list_cluster_answer(source: Path | str, question: ClusterQuestion) -> Answer:
    """The same from a file or pasted text with day, unit, organism; needs no workspace and stores nothing."""
    where, rows = read_rows(source, advice=growth_columns().advice, pasted=_("pasted list"))
    growths = parse_growths(rows, where=where)
    first, last, before = _days(question, (growths[0].day, growths[-1].day))
    reading, _names = _read(question, growths, units=(), days=(first, last), before=before)
    return build_cluster_answer(
        reading, names=unit_names(growths), receipt=_receipt(_("a list of {count} rows").format(count=len(growths)))
    )


def _report(
    asked: ClusterQuestion,
    growths: Sequence[Growth],
    *,
    drawn: Sequence[DrawnDay],
    days: Days,
    before: Days | None,
    receipt: Receipt,
    stays: Sequence[LotStay],
) -> ClusterReport:
    names = unit_names(drawn)
    reading, _events = _read(asked, growths, units=tuple(names), days=days, before=before)
    rows = _exposures(reading, drawn=drawn, stays=stays)
    return ClusterReport(
        cluster=build_cluster_answer(
            reading, names=names, drawn=_weekly_sets(drawn, days=days, before=before),
            lots=rows if stays else None, receipt=receipt,
        ),
        lots=build_lot_answer(reading, rows=rows, receipt=receipt),
    )  # fmt: skip


def _exposures(reading: ClusterReading, *, drawn: Sequence[DrawnDay], stays: Sequence[LotStay]) -> tuple[Exposure, ...]:
    if reading.best is None:
        return ()
    look = reading.look
    inside = [day for day in drawn if look.first <= day.day <= look.last]
    return expose(stays, reading.events.get(reading.best.organism, ()), inside)


def _read(
    asked: ClusterQuestion,
    growths: Sequence[Growth],
    *,
    units: tuple[tuple[str, str], ...],
    days: Days,
    before: Days | None,
) -> tuple[ClusterReading, Events]:
    events = events_of(growths, asked_organism(asked.organism, growths)) if asked.organism else events_by_genus(growths)
    look = Look(
        first=days[0], last=days[1], before=None if asked.per_week is not None else before, units=units,
        per_week=asked.per_week,
    )  # fmt: skip
    return read_clusters(events, look, policy=ClusterPolicy(), asked=asked.organism is not None), events


def _days(asked: ClusterQuestion, span: Days) -> tuple[date, date, Days | None]:
    last = asked.until or span[1]
    if last < span[0]:
        raise RequestProblem(
            _("no set was drawn up to {day}.").format(day=last), fix=_("The first is of {day}.").format(day=span[0])
        )
    first, before = look_back(last, days=asked.days, earliest=span[0])
    if asked.baseline is None:
        return first, last, before
    if asked.baseline[1] >= first:
        raise RequestProblem(
            _("the days compared with reach into the days asked about ({first} to {last}).").format(
                first=first, last=last
            ),
            fix=_("End them before {day}.").format(day=first),
        )
    return first, last, asked.baseline


def unit_names(rows: Sequence[DrawnDay] | Sequence[Growth]) -> dict[tuple[str, str], str]:
    """Unit names by facility and key; with the facility where two have a unit of that name."""
    names = {(row.facility, row.unit): row.unit_name for row in rows}
    times = Counter(name for name in names.values() if name)
    return {key: f"{name} ({key[0]})" if times[name] > 1 and key[0] else name for key, name in sorted(names.items())}


def _weekly_sets(drawn: Sequence[DrawnDay], *, days: Days, before: Days | None) -> tuple[float, float] | None:
    if before is None:
        return None
    return _per_week(drawn, days), _per_week(drawn, before)


def _per_week(drawn: Sequence[DrawnDay], days: Days) -> float:
    length = (days[1] - days[0]).days + 1
    return 7 * sum(one.sets for one in drawn if days[0] <= one.day <= days[1]) / length


def _receipt(data: str) -> Receipt:
    return Receipt(
        data=data,
        charter=_("no charter: every set counts, whatever its class"),
        policy=_("cluster rules: {rules}").format(rules=_rules()),
        code=cubital.__version__,
    )


def _rules() -> str:
    policy = ClusterPolicy()
    words = _(
        "stretches of {lengths} days, at least {least} sets, odd up to {odd:g} a week, called at a chance of {most:g}"
    )
    return words.format(
        lengths=", ".join(str(length) for length in policy.lengths), least=policy.min_events, odd=policy.odd_per_week,
        most=policy.most_chance,
    )  # fmt: skip
