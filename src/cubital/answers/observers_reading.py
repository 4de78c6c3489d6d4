"""Do those who watch agree? Two observers step by step, or many, over the draws that more than one of them watched."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from cubital.answers.observation_sheets import Seen, Sheet
from cubital.stats.agreement import ManyObservers, TwoObservers, many_observers, two_observers

READABLE = (Seen.YES, Seen.NO)
Together = Mapping[str, Sequence[Sheet]]


@dataclass(frozen=True, kw_only=True)
class ObserverReading:
    """Two observers over the draws both watched, for one step; ``table`` counts yes/yes, yes/no, no/yes, no/no."""

    step: str
    table: tuple[int, int, int, int]
    agreement: TwoObservers


@dataclass(frozen=True, kw_only=True)
class ManyReading:
    """More than two observers over ``draws`` that at least two of them could read, for one step.

    ``same`` counts the draws on which all who watched said the same. A step is done or not: without an order of
    grades between the two a weighted kappa would be the same as the plain one, and none is given.
    """

    step: str
    draws: int
    same: int
    agreement: ManyObservers


def watched_together(sheets: Sequence[Sheet]) -> dict[str, list[Sheet]]:
    """The sheets of every draw that more than one observer watched, by draw."""
    by_draw: dict[str, list[Sheet]] = {}
    for sheet in sheets:
        by_draw.setdefault(sheet.draw, []).append(sheet)
    return {draw: found for draw, found in by_draw.items() if len(found) > 1}


def read_two_observers(step: str, together: Together, *, first: str) -> ObserverReading | None:
    """One step between two people; ``first`` is the one whose answer stands first. None where none can be read."""
    counts: Counter[tuple[Seen, Seen]] = Counter()
    for sheets in together.values():
        ordered = sorted(sheets, key=lambda sheet: sheet.observer != first)
        marks = [sheet.marks.get(step, Seen.NOT_SEEN) for sheet in ordered[:2]]
        counts[marks[0], marks[1]] += 1
    both, one, other, neither = (counts[a, b] for a in READABLE for b in READABLE)
    if not both + one + other + neither:
        return None
    agreement = two_observers([[both, one], [other, neither]])
    return ObserverReading(step=step, table=(both, one, other, neither), agreement=agreement)


def read_many_observers(step: str, together: Together) -> ManyReading | None:
    """One step among many; None where no draw was read by two of them."""
    counts = []
    for sheets in together.values():
        marks = Counter(sheet.marks.get(step, Seen.NOT_SEEN) for sheet in sheets)
        if marks[Seen.YES] + marks[Seen.NO] > 1:
            counts.append([marks[Seen.YES], marks[Seen.NO]])
    if not counts:
        return None
    same = sum(not min(yes_no) for yes_no in counts)
    return ManyReading(step=step, draws=len(counts), same=same, agreement=many_observers(counts))
