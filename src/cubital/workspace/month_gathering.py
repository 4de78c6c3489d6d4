"""Gathers what the answer about a month is made of, from the snapshot that the last batch left."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date

import cubital
from cubital.answers.month_material import MonthMaterial, Standing
from cubital.answers.month_text import month_before, parse_month
from cubital.domain.answer import Receipt
from cubital.domain.errors import RequestProblem
from cubital.domain.policy import Policy, PolicyState
from cubital.domain.words import _, month_words
from cubital.engine import QuerySession
from cubital.judge.api import count_months, count_process, count_rates, judged_sets
from cubital.judge.counts import MonthCounts
from cubital.store.places import FacilityMonth, read_facility_months
from cubital.workspace.asked_places import AskedPlace, find_place
from cubital.workspace.baseline_records import baseline_in_force
from cubital.workspace.charters import CharterVersion, current_charter, list_charters
from cubital.workspace.month_surroundings import grouping_of, old_figures, rename_marks, unit_change
from cubital.workspace.opening import Workspace
from cubital.workspace.pins import today_of
from cubital.workspace.policies import current_policy
from cubital.workspace.policy_rules import policy_limits, policy_signal
from cubital.workspace.snapshots import open_snapshot, snapshot_words

LOOK_BACK = 12  # months beside which the asked one is looked at


def gather_month(workspace: Workspace, *, month: str, facility: str | None, unit: str | None) -> MonthMaterial:
    """Everything the month's answer is made of; errors as for ``month_answer``."""
    with open_snapshot(workspace) as session:
        place = find_place(workspace, facility=facility, unit=unit)
        return _gather(workspace, session, place=place, month=month)


def _gather(workspace: Workspace, session: QuerySession, *, place: AskedPlace, month: str) -> MonthMaterial:
    version, policy = current_charter(workspace), current_policy(workspace)
    charter, limits, by = version.charter, policy_limits(policy), grouping_of(place)
    every = count_rates(session, charter, scope=place.scope(), by=by)
    history = fill_months(_until(every, month, place), filed=read_facility_months(session), place=place)
    scope = place.scope(from_month=month_before(month, LOOK_BACK), to_month=month)
    recent = count_months(session, charter, scope=scope, by=by)
    process = count_process(session, charter, scope=scope, by=by, limits=limits, judge=False)
    now = history[-1].numerator, history[-1].denominator
    return MonthMaterial(
        history=history,
        recent=recent,
        process=process,
        sets=judged_sets(session, charter, scope=place.scope(from_month=month, to_month=month)),
        place=place.noun,
        place_name=place.name,
        charter=charter,
        limits=limits,
        policy=policy_signal(policy),
        standing=_standing(workspace, version, policy),
        receipt=receipt_of(snapshot_words(workspace), version, policy),
        renames=rename_marks(place),
        old_figures=old_figures(workspace, charter, place=place, month=month, now=now),
        unit_change=unit_change(session, charter, place=place, month=month),
        baseline=baseline_in_force(workspace, place, month),
    )


def fill_months(
    counted: Sequence[MonthCounts], *, filed: Iterable[FacilityMonth], place: AskedPlace
) -> tuple[MonthCounts, ...]:
    """The counts with a row of zeros for every month between in which a file came but this place drew nothing.

    ``counted`` holds at least one month.
    """
    held = {counts.month for counts in counted}
    first, last = counted[0].month, counted[-1].month
    months = {one.month for one in filed if place.facility in (None, one.facility) and first < one.month < last}
    empty = (_nothing(month, counted[0]) for month in months - held)
    return tuple(sorted((*counted, *empty), key=lambda counts: counts.month))


def _nothing(month: str, like: MonthCounts) -> MonthCounts:
    return MonthCounts(
        month=month, facility=like.facility, unit=like.unit, unit_name=like.unit_name, numerator=0, denominator=0,
        sets=0, positives=0, preliminary=0, solitary_excluded=0,
    )  # fmt: skip


def _until(every: Sequence[MonthCounts], month: str, place: AskedPlace) -> tuple[MonthCounts, ...]:
    """The dated months up to ``month``, which must be among them."""
    dated = [counts for counts in every if counts.month != "undated"]
    if month not in {counts.month for counts in dated}:
        words = _("there are no sets in {month}.") if place.noun == "network" else _("{place} has no sets in {month}.")
        raise RequestProblem(
            words.format(place=place.name, month=_month_name(month)),
            fix=_held_words([counts.month for counts in dated]),
        )
    return tuple(counts for counts in dated if counts.month <= month)


def _month_name(month: str) -> str:
    return month_words(month, with_year=True) if parse_month(month) == month else f"'{month}'"


def _held_words(months: Sequence[str]) -> str:
    if not months:
        return _("No month has sets of it.")
    first, last = (month_words(month, with_year=True) for month in (months[0], months[-1]))
    if first == last:
        return _("The only month with sets is {month}.").format(month=first)
    return _("Months with sets run from {first} to {last}.").format(first=first, last=last)


def _standing(workspace: Workspace, version: CharterVersion, policy: Policy) -> Standing:
    state = policy.state(today_of(workspace))
    return Standing(
        charter_signed=version.frozen,
        policy_approved=state is PolicyState.APPROVED,
        policy_expired=state is PolicyState.EXPIRED,
        charter_since=_charter_since(workspace, version),
    )


def _charter_since(workspace: Workspace, version: CharterVersion) -> date | None:
    """The day on which this charter was first signed, where another one was signed before it."""
    replaced = any(one.frozen and one.version < version.version for one in list_charters(workspace))
    return min((signature.signed_on for signature in version.signatures), default=None) if replaced else None


def receipt_of(data: str, version: CharterVersion, policy: Policy) -> Receipt:
    """What an answer from the workspace was computed from."""
    charter = version.charter
    return Receipt(
        data=data,
        charter=_("charter {version} '{name}' {fingerprint}").format(
            version=charter.version, name=charter.name, fingerprint=version.fingerprint
        ),
        policy=_("policy {version} '{name}' {fingerprint}").format(
            version=policy.version, name=policy.name, fingerprint=policy.fingerprint()
        ),
        code=cubital.__version__,
    )
