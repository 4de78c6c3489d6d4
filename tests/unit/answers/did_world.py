"""Invented networks with a known truth, by unit and day, for questions about what changed."""

from __future__ import annotations

from datetime import date

import numpy as np

from cubital.answers.did_material import DidMaterial, UnitDays
from cubital.answers.places_reading import PlacesPolicy
from cubital.domain.diary import ChangeKind, DiaryEntry

HOSPITAL = "Marrowby General"


def unit(name, days, contaminated, sets, facility=HOSPITAL):
    return UnitDays(
        key=f"{facility}|{name}", name=name, facility=facility, unit=name, days=np.asarray(days, dtype=np.int64),
        sets=np.asarray(sets, dtype=np.int64), contaminated=np.asarray(contaminated, dtype=np.int64),
    )  # fmt: skip


def steady(name, *, first, last, rate, per_day=5, on=None, times=1.0, random=None, shift=0.0, facility=HOSPITAL):
    """A unit with ``per_day`` sets; the odds are multiplied by ``times`` from ``on``, and by exp(shift) with it."""
    days = np.arange(first.toordinal(), last.toordinal() + 1)
    odds = np.full(len(days), rate / (1 - rate))
    if on is not None:
        odds = np.where(days >= on.toordinal(), odds * times * np.exp(shift), odds)
    share = odds / (1 + odds)
    sets = np.full(len(days), per_day)
    if random is not None:
        return unit(name, days, random.binomial(sets, share), sets, facility)
    running = np.floor(np.cumsum(share * sets) + 1e-9).astype(int)  # as even as whole sets allow
    return unit(name, days, np.diff(running, prepend=0), sets, facility)


def entry(name="ED", *, on=date(2025, 7, 1), words="new kit", kind=ChangeKind.KIT, **more):
    """A diary entry; ``more`` are number, until and facility."""
    facility = more.pop("facility", HOSPITAL)
    return DiaryEntry(
        kind=kind, on=on, words=words, facility=facility, unit=name, number=more.pop("number", 1),
        place=f"{facility}, {name}" if name else (facility or "everywhere"), **more,
    )  # fmt: skip


def material(change, units, *, entries=(), policy=None):
    here = [one for one in units if change.covers(facility=one.facility, unit=one.unit)]
    return DidMaterial(
        change=change, name=change.place, units=tuple(units), here=frozenset(one.key for one in here),
        entries=tuple(entries), first=date.fromordinal(int(min(one.days[0] for one in here))),
        last=date.fromordinal(int(max(one.days[-1] for one in here))), policy=policy or PlacesPolicy(),
    )  # fmt: skip
