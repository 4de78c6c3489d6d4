"""Baselines that somebody locked for a place: kept, listed, proposed anew, and never changed without a signature."""

from __future__ import annotations

from datetime import UTC, date, datetime

from cubital.answers.counts import MonthCount
from cubital.answers.month_text import parse_month
from cubital.answers.phases import LockedBaseline, Proposal, phase_at, propose_baseline
from cubital.answers.signal_reading import Baseline, SignalPolicy, baseline_state
from cubital.domain.errors import RequestProblem
from cubital.domain.words import _, grouped_words, month_words
from cubital.workspace import records
from cubital.workspace.asked_places import find_place
from cubital.workspace.baseline_records import baselines_of
from cubital.workspace.charters import current_charter
from cubital.workspace.opening import Workspace
from cubital.workspace.place_counts import count_place
from cubital.workspace.policies import current_policy
from cubital.workspace.policy_rules import policy_signal
from cubital.workspace.snapshots import last_batch_number
from cubital.workspace.writing import note_change, one_transaction

LONGEST_WHY = 400


def list_baselines(
    workspace: Workspace, *, facility: str | None = None, unit: str | None = None
) -> tuple[LockedBaseline, ...]:
    """The baselines of exactly this place, the one that begins first before the others."""
    return baselines_of(workspace, find_place(workspace, facility=facility, unit=unit))


def lock_baseline(
    workspace: Workspace,
    *,
    first: str,
    last: str,
    by: str,
    role: str,
    on: date,
    why: str,
    facility: str | None = None,
    unit: str | None = None,
) -> LockedBaseline:
    """Locks the months ``first`` to ``last`` as what is usual for a place from ``first`` on.

    ``RequestProblem`` where a name, role or reason is missing, the months are none, hold too little to judge by, or
    begin where a locked baseline begins already. Nothing that was locked is ever changed.
    """
    name, position, reason = (" ".join(text.split()) for text in (by, role, why))
    _check_words(name, position, reason)
    place = find_place(workspace, facility=facility, unit=unit)
    _check_months(first, last)
    counts = count_place(workspace, place)
    _check_held(counts, first=first, last=last, policy=policy_signal(current_policy(workspace)))
    if any(one.first == first for one in baselines_of(workspace, place)):
        raise RequestProblem(
            _("a baseline of {place} begins in {month} already.").format(
                place=place.name, month=month_words(first, with_year=True)
            ),
            fix=_("A locked baseline is never changed. Choose another first month for the new one."),
        )
    with one_transaction(workspace) as database:
        at = records.Facility.objects.using(database).filter(name=place.facility or "").first()
        records.Baseline.objects.using(database).create(
            facility=at, unit_key=place.unit or "", first=first, last=last, locked_by=name, role=position,
            locked_on=on, why=reason, charter=current_charter(workspace).version, batch=last_batch_number(workspace),
            noted_at=datetime.now(UTC),
        )  # fmt: skip
        note_change(
            workspace, action="lock_baseline", subject=place.name[:200], first=first, last=last, on=on.isoformat(),
            role=position,
        )  # fmt: skip
    return next(one for one in baselines_of(workspace, place) if one.first == first)


def propose_new_baseline(
    workspace: Workspace, *, facility: str | None = None, unit: str | None = None
) -> Proposal | None:
    """A sustained shift since the baseline in force, with its evidence; none where there is none. Changes nothing."""
    place = find_place(workspace, facility=facility, unit=unit)
    counts = count_place(workspace, place)
    locked = phase_at(baselines_of(workspace, place), counts[-1].month) if counts else None
    if locked is None:
        return None
    return propose_baseline(counts, locked=locked, policy=policy_signal(current_policy(workspace)))


def _check_words(name: str, role: str, why: str) -> None:
    if not name or not role:
        raise RequestProblem(
            _("a baseline needs a person who answers for it."), fix=_("Say who locks it and in which role.")
        )
    if not why:
        raise RequestProblem(
            _("a baseline needs a reason why these months are what is usual."), fix=_("Say it in one sentence.")
        )
    if max(len(name), len(role)) > 120 or len(why) > LONGEST_WHY:
        raise RequestProblem(_("the name, the role or the reason is too long."), fix=_("Say it in one sentence."))


def _check_months(first: str, last: str) -> None:
    for month in (first, last):
        if parse_month(month) != month:
            raise RequestProblem(_("'{month}' is no month.").format(month=month), fix=_("Write it as 2026-03."))
    if last < first:
        raise RequestProblem(
            _("the baseline ends before it begins."), fix=_("Give the earlier month first, the later one last.")
        )


def _check_held(counts: tuple[MonthCount, ...], *, first: str, last: str, policy: SignalPolicy) -> None:
    held = [count for count in counts if first <= count.month <= last]
    if not held or held[-1].month < last:
        raise RequestProblem(
            _("there are no sets in {month} yet, so it cannot be part of a baseline.").format(
                month=month_words(last, with_year=True)
            ),
            fix=_("Choose months that have sets."),
        )
    if baseline_state(held, policy) is not Baseline.SOUND:
        raise RequestProblem(
            _("these months hold {months} months with {sets} sets, {events} of them contaminated.").format(
                months=sum(count.sets > 0 for count in held), sets=grouped_words(sum(c.sets for c in held)),
                events=grouped_words(sum(c.contaminated for c in held)),
            ),
            fix=_("A baseline takes at least {months} months and {sets} sets, some of them contaminated.").format(
                months=policy.min_points, sets=grouped_words(policy.min_sets)
            ),
        )  # fmt: skip
