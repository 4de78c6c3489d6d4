"""Which growths are odd: what each set grew, brought to the genus, and the organisms that are rare in this network."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from difflib import get_close_matches
from functools import lru_cache

from cubital.domain.errors import RequestProblem
from cubital.domain.words import _
from cubital.judge.growths import Growth
from cubital.reference.organisms import Rank, holders, organism_slug, organisms


@dataclass(frozen=True, kw_only=True)
class Event:
    """One set that grew the organism looked for; ``unit`` is a key within ``facility``, either may be empty."""

    day: date
    facility: str
    unit: str


Events = Mapping[str, tuple[Event, ...]]


def events_by_genus(growths: Sequence[Growth]) -> Events:
    """One event per set under each genus (or the organism itself where it has none), in time order.

    What a stain shows before there is a name is left out: it is everything at once.
    """
    found: dict[str, list[Event]] = defaultdict(list)
    for one in growths:
        thing = _genus(one.organism)
        if thing:
            found[thing] += [Event(day=one.day, facility=one.facility, unit=one.unit)] * one.sets
    return {thing: _in_order(events) for thing, events in found.items()}


def events_of(growths: Sequence[Growth], organism: str) -> Events:
    """The events of one organism and of everything it holds: a genus with its species, a group with its members."""
    events = [
        event
        for one in growths
        if one.organism == organism or organism in holders(one.organism)
        for event in [Event(day=one.day, facility=one.facility, unit=one.unit)] * one.sets
    ]
    return {organism: _in_order(events)}


def asked_organism(text: str, growths: Sequence[Growth]) -> str:
    """The key of the organism that was asked for by name or key; ``RequestProblem`` with the nearest ones otherwise."""
    key = organism_slug(text)
    if key and (key in organisms() or any(one.organism == key for one in growths)):
        return key
    near = get_close_matches(key, list(organisms()), n=3, cutoff=0.6)
    raise RequestProblem(
        _("'{name}' is no organism that Cubital knows.").format(name=text),
        fix=_("Did you mean {names}?").format(names=", ".join(organism_name(one) for one in near))
        if near
        else _("Write its name as the laboratory does, such as Bacillus."),
    )


def organism_name(key: str) -> str:
    """The name for people; the key itself where the list does not know it."""
    known = organisms().get(key)
    return known.name if known else key


@lru_cache(maxsize=4096)
def _genus(key: str) -> str:
    known = organisms().get(key)
    if known is None:
        return key
    if known.rank is Rank.PHRASE:
        return ""
    return known.genus if known.genus in organisms() else key


def _in_order(events: Sequence[Event]) -> tuple[Event, ...]:
    return tuple(sorted(events, key=lambda event: (event.day, event.facility, event.unit)))
