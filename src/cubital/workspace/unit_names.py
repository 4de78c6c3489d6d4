"""Joins the labels that one unit has had, and says how a unit is written today."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from cubital.domain.words import _
from cubital.store.places import UnitLabel
from cubital.workspace import records
from cubital.workspace.opening import Workspace

SHORT_WORD = 3  # up to so many letters a word is taken for an abbreviation: ED, ICU
_WORD = re.compile(r"[^\W\d_]+")
_SMALL_WORDS = frozenset({"of", "the", "and", "for", "in", "on", "de", "del", "la", "el", "y"})


@dataclass(frozen=True, kw_only=True)
class Rename:
    """On a day the label ``old_key`` became ``new_key``, written ``new_name``."""

    facility: str
    old_key: str
    new_key: str
    new_name: str
    on: date


@dataclass(frozen=True, kw_only=True)
class NamedUnit:
    """One label, the key of the unit it belongs to today, and that unit's name."""

    facility: str
    unit_key: str
    current_key: str
    unit_name: str


def unit_key(label: str) -> str:
    """A unit's label as it is compared and stored: no difference of case or spacing."""
    return " ".join(label.split()).casefold()


def read_renames(workspace: Workspace) -> tuple[Rename, ...]:
    """Every rename of the workspace, oldest first."""
    if workspace.pinned is not None:
        return tuple(
            Rename(facility=facility, old_key=old, new_key=new, new_name=name, on=date.fromisoformat(day))
            for facility, old, new, name, day in workspace.pinned.renames
        )
    found = records.UnitRename.objects.using(workspace.alias).select_related("facility").order_by("on", "id")
    return tuple(
        Rename(
            facility=entry.facility.name, old_key=entry.old_key, new_key=entry.new_key, new_name=entry.new_name,
            on=entry.on,
        )
        for entry in found
    )  # fmt: skip


def read_unit_names(workspace: Workspace) -> dict[tuple[str, str], str]:
    """How units are written for people where somebody said so, by facility and key."""
    if workspace.pinned is not None:
        return {(facility, key): name for facility, key, name in workspace.pinned.names}
    found = records.UnitName.objects.using(workspace.alias).select_related("facility")
    return {(entry.facility.name, entry.unit_key): entry.name for entry in found}


def resolve_units(workspace: Workspace, labels: Iterable[UnitLabel]) -> tuple[NamedUnit, ...]:
    """Today's key and name for every label, and for every label that a rename speaks of."""
    renames = read_renames(workspace)
    written = read_unit_names(workspace)
    keys = {(label.facility, label.unit_key) for label in labels}
    keys |= {(rename.facility, key) for rename in renames for key in (rename.old_key, rename.new_key)}
    current = join_labels(renames)
    names = {(rename.facility, rename.new_key): rename.new_name for rename in renames} | written
    return tuple(
        NamedUnit(
            facility=facility,
            unit_key=key,
            current_key=current.get((facility, key), key),
            unit_name=_name_of(names, facility, current.get((facility, key), key)),
        )
        for facility, key in sorted(keys)
    )


def join_labels(renames: Sequence[Rename]) -> Mapping[tuple[str, str], str]:
    """For every label that a rename speaks of, the key of its unit today: the newest name among the joined ones.

    A label that goes away and comes back, or that takes in several others, ends with the name given last.
    """
    group: dict[tuple[str, str], set[tuple[str, str]]] = {}
    newest: dict[tuple[str, str], str] = {}
    for rename in sorted(renames, key=lambda entry: entry.on):
        ends = [(rename.facility, rename.old_key), (rename.facility, rename.new_key)]
        joined = set().union(*(group.get(end, {end}) for end in ends))
        for label in joined:
            group[label] = joined
            newest[label] = rename.new_key
    return newest


def label_words(key: str) -> str:
    """A tidied label in its best-looking case: ``ED``, ``5 West``, ``A&E``, ``Care of the Elderly``."""
    return _WORD.sub(_cased, key) if key else _("unit not known")


def _cased(word: re.Match[str]) -> str:
    text = word[0]
    if text in _SMALL_WORDS and word.start() > 0:
        return text
    return text.upper() if len(text) <= SHORT_WORD or text.endswith("icu") else text.capitalize()


def _name_of(names: Mapping[tuple[str, str], str], facility: str, key: str) -> str:
    return names.get((facility, key)) or label_words(key)
