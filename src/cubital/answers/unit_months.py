"""The worst of many units: how often does some unit look like this somewhere, and which are more than chance?"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from cubital.answers.counts import MonthCount
from cubital.answers.signal_reading import Baseline, SignalPolicy, baseline_state
from cubital.domain.answer import Answer, AnswerTable, Figure, Receipt, Verdict
from cubital.domain.words import _, grouped_words, month_words, ngettext, share_words
from cubital.stats.look_elsewhere import chance_of_any_cell, split_chances
from cubital.stats.multiplicity import adjust_p_values
from cubital.stats.tails import chance_at_least

FALSE_SHARE = 0.05  # of the findings, on average, may be false
_MOST_NAMED = 5


@dataclass(frozen=True, kw_only=True)
class UnitMonths:
    """One unit and its months in time order."""

    name: str
    counts: tuple[MonthCount, ...]


@dataclass(frozen=True, kw_only=True)
class UnitMonth:
    """One month of one unit against the unit's own months before the look: ``rate`` is theirs.

    ``tail`` is the exact chance, at that rate, of as many or more. ``split`` is the chance that as many of all events
    of baseline and month fall in the month, which needs no known rate; ``adjusted`` is that for so many questions.
    """

    name: str
    count: MonthCount
    rate: float
    tail: float
    split: float = 1.0
    adjusted: float = 1.0


def build_units_answer(
    units: Sequence[UnitMonths], *, months: int = 12, policy: SignalPolicy | None = None, receipt: Receipt | None = None
) -> Answer:
    """Looks at the last ``months`` months of every unit; the months before are each unit's baseline.

    A unit whose baseline is thin by ``policy`` is left out and counted.
    """
    rules = policy or SignalPolicy()
    question = _("One unit looks bad. Would some unit look like that anyway?")
    cells, left_out = _judged_cells(units, months=months, policy=rules)
    if not cells:
        return Answer(
            question=question, verdict=Verdict.TOO_FEW, receipt=receipt,
            sentence=_(
                "Too few to say: no unit has a baseline of at least {months} months and {sets} sets before the months "
                "looked at."
            ).format(months=rules.min_points, sets=grouped_words(rules.min_sets)),
        )  # fmt: skip
    worst = min(cells, key=lambda cell: (cell.tail, cell.name, cell.count.month))
    chance = chance_of_any_cell(worst.tail, [c.count.sets for c in cells], rates=[c.rate for c in cells])
    found = [cell for cell in cells if cell.adjusted <= FALSE_SHARE]
    return Answer(
        question=question,
        verdict=Verdict.SIGNAL if found else Verdict.WITHIN_VARIATION,
        sentence=_sentence(cells, worst=worst, chance=chance, found=found),
        figures=_figures(cells, worst=worst, chance=chance, found=found),
        cautions=_cautions(left_out),
        table=_table(cells),
        receipt=receipt,
    )


def _judged_cells(
    units: Sequence[UnitMonths], *, months: int, policy: SignalPolicy
) -> tuple[list[UnitMonth], list[str]]:
    cells: list[UnitMonth] = []
    elsewhere: list[tuple[int, int]] = []
    left_out: list[str] = []
    last = max((unit.counts[-1].month for unit in units if unit.counts), default="")
    looked = _last_months(units, last=last, months=months)
    for unit in units:
        before = [count for count in unit.counts if count.month not in looked]
        if baseline_state(before, policy) is not Baseline.SOUND:
            left_out.append(unit.name)
            continue
        x, n = sum(c.contaminated for c in before), sum(c.sets for c in before)
        for count in unit.counts:
            if count.month in looked and count.sets:
                tail = chance_at_least(count.contaminated, count.sets, rate=x / n)
                cells.append(UnitMonth(name=unit.name, count=count, rate=x / n, tail=tail))
                elsewhere.append((x, n))
    return _with_adjusted(cells, elsewhere), left_out


def _last_months(units: Sequence[UnitMonths], *, last: str, months: int) -> set[str]:
    every = sorted({count.month for unit in units for count in unit.counts if count.month <= last})
    return set(every[-months:])


def _with_adjusted(cells: Sequence[UnitMonth], elsewhere: Sequence[tuple[int, int]]) -> list[UnitMonth]:
    if not cells:
        return []
    x, n = (np.array([getattr(cell.count, name) for cell in cells]) for name in ("contaminated", "sets"))
    before_x, before_n = (np.array(column) for column in zip(*elsewhere, strict=True))
    split = split_chances(x, n, all_events=x + before_x, all_sets=n + before_n)  # type: ignore[arg-type]
    split = np.clip(split, 0.0, 1.0)
    adjusted = adjust_p_values([float(one) for one in split], method="bh")
    return [
        UnitMonth(name=c.name, count=c.count, rate=c.rate, tail=c.tail, split=float(s), adjusted=a)
        for c, s, a in zip(cells, split, adjusted, strict=True)
    ]


def cell_words(cell: UnitMonth) -> str:
    """``Ward 3 in March 2026 (11 of 200, 5.5 %)``."""
    return _("{unit} in {month} ({count} of {sets}, {share})").format(
        unit=cell.name, month=month_words(cell.count.month, with_year=True),
        count=grouped_words(cell.count.contaminated), sets=grouped_words(cell.count.sets),
        share=share_words(cell.count.contaminated / cell.count.sets),
    )  # fmt: skip


def _sentence(cells: Sequence[UnitMonth], *, worst: UnitMonth, chance: float, found: Sequence[UnitMonth]) -> str:
    units = len({cell.name for cell in cells})
    values = {
        "worst": cell_words(worst), "chance": share_words(chance, 0 if chance >= 0.1 else 1), "cells": len(cells),
        "units": units,
    }  # fmt: skip
    if not found:
        return _(
            "{worst} looks worst among {cells} months of {units} units. When nothing has changed anywhere, the chance "
            "that at least one of them looks like that is {chance}. Nothing stands out from chance; no unit is to be "
            "singled out for it."
        ).format(**values)
    named = "; ".join(cell_words(cell) for cell in sorted(found, key=lambda cell: cell.split)[:_MOST_NAMED])
    more = len(found) - _MOST_NAMED
    if more > 0:
        named += "; " + _("and {count} more").format(count=more)
    return ngettext(
        "Among {cells} months of {units} units {count} stands out from chance: {named}. Look there first, for what "
        "changed and not for whom to blame.",
        "Among {cells} months of {units} units {count} stand out from chance: {named}. Look there first, for what "
        "changed and not for whom to blame.",
        len(found),
    ).format(count=len(found), named=named, **values)


def _figures(
    cells: Sequence[UnitMonth], *, worst: UnitMonth, chance: float, found: Sequence[UnitMonth]
) -> tuple[Figure, ...]:
    return (
        Figure(
            key="tail", label=_("Chance of the worst, looked at alone"), value=worst.tail, unit="proportion",
            method=_("exact binomial at the unit's own baseline"),
            definition=_("chance of this many or more in that month of that unit when nothing has changed"),
        ),
        Figure(
            key="chance_of_any", label=_("Chance that some unit looks like that"), value=chance, unit="proportion",
            method=_("exact over all units and months, each with its own size and rate"),
            definition=_("chance that at least one of the months looked at is as unusual, when nothing has changed"),
        ),
        Figure(
            key="findings", label=_("Months that stand out"), value=float(len(found)), unit="months",
            method=_("exact test of each month, Benjamini and Hochberg over all"),
            definition=_("of such findings at most {share} are false on average").format(
                share=share_words(FALSE_SHARE, 0)
            ),
        ),
        Figure(
            key="looked_at", label=_("Months looked at"), value=float(len(cells)), unit="months",
            definition=_("units times months that have sets"),
        ),
    )  # fmt: skip


def _cautions(left_out: Sequence[str]) -> tuple[str, ...]:
    found = [_("The rule keeps false findings rare among those named; it does not show that the others are well.")]
    if left_out:
        found.append(
            ngettext(
                "{count} unit has too few months or sets before and was left out.",
                "{count} units have too few months or sets before and were left out.",
                len(left_out),
            ).format(count=len(left_out))
        )
    return tuple(found)


def _table(cells: Sequence[UnitMonth]) -> AnswerTable:
    ordered = sorted(cells, key=lambda cell: (cell.split, cell.name, cell.count.month))
    return AnswerTable(
        title=_("Months of units, the most unusual first"),
        columns=(
            _("Unit"), _("Month"), _("Sets"), _("Contaminated"), _("Baseline, %"), _("Chance alone, %"),
            _("Among so many, %"),
        ),
        rows=tuple(
            (
                cell.name, cell.count.month, cell.count.sets, cell.count.contaminated, round(100 * cell.rate, 2),
                round(100 * cell.split, 2), round(100 * cell.adjusted, 2),
            )
            for cell in ordered
        ),
    )  # fmt: skip
