"""Who begins when, as a table of words: one row per unit."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from cubital.domain.trial import Stretch, TrialDesign
from cubital.domain.words import _, day_words


@dataclass(frozen=True, kw_only=True)
class OrderRow:
    """One unit: for turns its marks in order (true is new), grouped by four weeks or by week; otherwise ``words``."""

    place: str
    words: str
    groups: tuple[tuple[bool, ...], ...]


def order_rows(stretches: Sequence[Stretch], design: TrialDesign) -> tuple[OrderRow, ...]:
    """The rows in the order of the plan."""
    rows = []
    for place in dict.fromkeys(one.place for one in stretches):
        mine = sorted((one for one in stretches if one.place == place), key=lambda one: one.first)
        rows.append(OrderRow(place=place, words=_begins(mine, design), groups=_groups(mine, design)))
    return tuple(rows)


def _begins(mine: Sequence[Stretch], design: TrialDesign) -> str:
    if design.in_turns:
        return ""
    new = next((one for one in mine if one.arm), None)
    return _("new from {day}").format(day=day_words(new.first)) if new else _("stays as usual")


def _groups(mine: Sequence[Stretch], design: TrialDesign) -> tuple[tuple[bool, ...], ...]:
    if not design.in_turns:
        return ()
    size = 7 if design is TrialDesign.DAYS else 4
    marks = [bool(one.arm) for one in mine]
    return tuple(tuple(marks[at : at + size]) for at in range(0, len(marks), size))
