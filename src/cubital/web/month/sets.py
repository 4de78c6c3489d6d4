"""Every set behind a number: the judged sets of a place and month, with class and reason in words."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

from cubital.answers.class_words import class_words, reason_words
from cubital.domain.charter import Charter, SetClass
from cubital.domain.cultures import TimeQuality
from cubital.domain.decisions import bare_key
from cubital.domain.words import _
from cubital.judge.api import judged_sets
from cubital.judge.counts import JudgedSet
from cubital.reference.organisms import organisms
from cubital.web.desk import the_workspace
from cubital.web.month.places import Asked
from cubital.workspace.asked_places import find_place
from cubital.workspace.decided import decision_state
from cubital.workspace.snapshots import last_batch_number, open_snapshot
from cubital.workspace.unit_names import Rename, read_renames

SETS_ON_A_PAGE = 50
MARKS = {
    SetClass.CONTAMINATED: "▲", SetClass.ADJUDICATE: "?", SetClass.SOLITARY_COMMENSAL: "△", SetClass.UNRESOLVED: "?",
    SetClass.PATHOGEN: "●", SetClass.NO_GROWTH: "○", SetClass.OUTSIDE: "–",
}  # fmt: skip


@dataclass(frozen=True, kw_only=True)
class SetWords:
    """One set as a row of the list."""

    accession: str
    facility: str
    unit: str
    when: str
    mark: str
    set_class: str
    reason: str
    organisms: str
    companions: str


def sets_behind(asked: Asked, charter: Charter) -> tuple[JudgedSet, ...]:
    """Every valid set of that place and month under ``charter``; judged once for the data there are."""
    workspace = the_workspace()
    names = read_renames(workspace)
    state = (last_batch_number(workspace), *decision_state(workspace))
    return _judged(workspace.folder.as_posix(), state, names, asked, charter)


@lru_cache(maxsize=8)
def _judged(
    _folder: str, _state: tuple[int, ...], _names: tuple[Rename, ...], asked: Asked, charter: Charter
) -> tuple[JudgedSet, ...]:
    workspace = the_workspace()
    place = find_place(workspace, facility=asked.facility, unit=asked.unit)
    scope = place.scope(from_month=asked.month, to_month=asked.month)
    with open_snapshot(workspace) as session:
        return judged_sets(session, charter, scope=scope)


def classes_found(sets: Sequence[JudgedSet]) -> list[tuple[str, str]]:
    """The classes that occur, with their counts in words, for the list to choose from."""
    counts = {one: sum(found.set_class is one for found in sets) for one in SetClass}
    named = [
        (one.value, f"{class_words(one)} ({counts[one]:,})")
        for one in (SetClass.CONTAMINATED, SetClass.ADJUDICATE, SetClass.SOLITARY_COMMENSAL, SetClass.UNRESOLVED,
                    SetClass.PATHOGEN, SetClass.OUTSIDE, SetClass.NO_GROWTH)
        if counts[one]
    ]  # fmt: skip
    return [("", _("every class ({count:,})").format(count=len(sets))), *named]


def set_words(one: JudgedSet) -> SetWords:
    """One set in words; the hour is left out where it cannot be trusted."""
    return SetWords(
        accession=one.accession,
        facility=one.facility,
        unit=one.unit_name or _("not named"),
        when=_when(one),
        mark=MARKS[one.set_class],
        set_class=class_words(one.set_class),
        reason=reason_words(one.reason),
        organisms=", ".join(_organism(key) for key in one.organisms),
        companions=", ".join(f"{other.accession}: {class_words(other.set_class)}" for other in one.companions),
    )


def _when(one: JudgedSet) -> str:
    if one.collected_local is not None and one.time_quality in (TimeQuality.EXACT, TimeQuality.AMBIGUOUS_HOUR):
        doubt = _(" (hour doubtful)") if one.time_quality is TimeQuality.AMBIGUOUS_HOUR else ""
        return f"{one.collected_local:%Y-%m-%d %H:%M}{doubt}"
    return f"{one.day:%Y-%m-%d}" if one.day else _("no date")


def _organism(key: str) -> str:
    known = organisms().get(bare_key(key))
    return known.name if known else _("not read")
