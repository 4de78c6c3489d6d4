"""Infections found a year, single sets and positive episodes of a place, from the stored cultures."""

from __future__ import annotations

from dataclasses import dataclass

from cubital.domain.answer import Receipt
from cubital.domain.charter import Charter
from cubital.domain.cultures import AgeGroup
from cubital.domain.words import _, ngettext
from cubital.engine import QuerySession
from cubital.judge.api import count_months
from cubital.judge.cells import Dimension, count_cells
from cubital.judge.counts import MonthCounts, Scope
from cubital.judge.found import count_found_series
from cubital.workspace.asked_places import find_place
from cubital.workspace.charters import current_charter
from cubital.workspace.month_gathering import receipt_of
from cubital.workspace.opening import Workspace
from cubital.workspace.places import list_places
from cubital.workspace.places_gathering import PlacesAsk, settle_months
from cubital.workspace.policies import current_policy
from cubital.workspace.snapshots import open_snapshot, snapshot_words

CHILDREN = (AgeGroup.UNDER_1, AgeGroup.FROM_1_TO_17)
YEAR = 12


@dataclass(frozen=True, kw_only=True)
class FoundHere:
    """What the workspace knows of a place: all of adults where the ages are known.

    ``found`` are series with a set that grew a pathogen, a year; ``single_share`` and ``positive_share`` are over
    ``episodes`` and none where the sets could not be joined to episodes.
    """

    found: int
    episodes: int | None
    single_share: float | None
    positive_share: float | None
    months: int
    receipt: Receipt
    cautions: tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class PlaceAsk:
    """Which place, and over which months; none takes the last twelve."""

    facility: str | None = None
    unit: str | None = None
    from_month: str | None = None
    to_month: str | None = None


def gather_found_if_any(workspace: Workspace, ask: PlaceAsk) -> FoundHere | None:
    """The same, or none where no file has been taken in yet."""
    return gather_found(workspace, ask) if list_places(workspace).months else None


def gather_found(workspace: Workspace, ask: PlaceAsk) -> FoundHere:
    """What the cultures of a place say; ``RequestProblem`` where nothing was taken in or the place is unknown."""
    with open_snapshot(workspace) as session:
        return found_in(session, workspace, scope=asked_scope(workspace, ask))


def asked_scope(workspace: Workspace, ask: PlaceAsk) -> Scope:
    """The sets that were asked about, with both months filled in; errors as for ``gather_found``."""
    settled = settle_months(workspace, PlacesAsk(from_month=ask.from_month, to_month=ask.to_month))
    place = find_place(workspace, facility=ask.facility, unit=ask.unit)
    return place.scope(from_month=settled.from_month, to_month=settled.to_month)


def found_in(session: QuerySession, workspace: Workspace, *, scope: Scope) -> FoundHere:
    """The same in an open snapshot; judges the scope, so that calls after it may use the judgement."""
    version, policy = current_charter(workspace), current_policy(workspace)
    months = count_months(session, version.charter, scope=scope)
    return _found_here(
        months, found=count_found_series(session, without=CHILDREN),
        children=_children_share(session, version.charter, scope=scope),
        receipt=receipt_of(snapshot_words(workspace), version, policy),
    )  # fmt: skip


def _children_share(session: QuerySession, charter: Charter, *, scope: Scope) -> float:
    cells = count_cells(session, charter, by=(Dimension.AGE_GROUP,), scope=scope, judge=False)
    sets = cells.sets.sum()
    young = [age in CHILDREN for age in cells.keys[Dimension.AGE_GROUP]]
    return float(cells.sets[young].sum() / sets) if sets else 0.0


def _found_here(
    months: tuple[MonthCounts, ...], *, found: int, children: float, receipt: Receipt
) -> FoundHere:  # fmt: skip
    count = len([one for one in months if one.month != "undated"]) or 1
    episodes = sum(one.episodes or 0 for one in months)
    solitary = sum(one.solitary or 0 for one in months)
    unpairable = sum(one.unpairable or 0 for one in months)
    sets = sum(one.sets for one in months)
    joined = episodes > 0 and unpairable <= sets / 2
    adult_episodes = episodes * (1 - children)
    return FoundHere(
        found=round(found * YEAR / count), episodes=episodes if joined else None,
        single_share=solitary / episodes if joined else None,
        positive_share=found / adult_episodes if joined and 0 < found < adult_episodes else None,
        months=count, receipt=receipt, cautions=_cautions(count, children=children, unpairable=unpairable),
    )  # fmt: skip


def _cautions(months: int, *, children: float, unpairable: int) -> tuple[str, ...]:
    said = [
        _(
            "Found: series with a set that counts as a pathogen under the charter. That is a class for counting and no "
            "diagnosis."
        )
    ]
    if months != YEAR:
        said.append(
            ngettext(
                "Counted over {count} month and put as a year.",
                "Counted over {count} months and put as a year.",
                months,
            ).format(count=months)
        )
    if children:
        said.append(_("Children's infections are left out; their single sets are in the share of single sets."))
    if unpairable:
        said.append(
            ngettext(
                "{count} set has no patient or no time and is in no episode.",
                "{count} sets have no patient or no time and are in no episode.",
                unpairable,
            ).format(count=unpairable)
        )
    return tuple(said)
