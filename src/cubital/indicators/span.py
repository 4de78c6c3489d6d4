"""The figures of several months together: what adds up is added, what does not is said month by month."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import fields, replace
from typing import Any

from cubital.domain.answer import Figure
from cubital.domain.charter import Charter, SetClass
from cubital.domain.words import _, decimal_words
from cubital.indicators.month import check_company, month_figures
from cubital.judge.counts import MonthCounts, ProcessCounts, ProcessLimits

_MEDIANS = {"minutes_to_receipt": "median_minutes", "fill_median": "fill_median_ml"}


def span_figures(
    counts: Sequence[MonthCounts], process: Sequence[ProcessCounts], *, charter: Charter, limits: ProcessLimits
) -> tuple[Figure, ...]:
    """The figures of ``month_figures`` for all these months of one place together, contamination first.

    A median of several months is not the median of their medians: it stays without a value, and its note gives the
    range of the months. ``ValueError`` where the months of counts and process differ, or there are none.
    """
    if not counts or [one.month for one in counts] != [one.month for one in process]:
        raise ValueError("counts and process must be of the same months, at least one")
    # A month's median stands in until it is replaced below: the figures' own check asks for a value or a reason.
    medians = {name: _one_of(process, name) for name in _MEDIANS.values()}
    whole = replace(add_process(process), **medians)
    figures = month_figures(add_counts(counts), whole, charter=charter, limits=limits)
    return check_company(tuple(_with_medians(figure, process) for figure in figures))


def add_counts(counts: Sequence[MonthCounts]) -> MonthCounts:
    """The counts of several months of one place as one; under a charter that counts series or patients, one that
    spans two months counts in both.
    """
    classes: Counter[SetClass] = Counter()
    for one in counts:
        classes.update(one.classes)
    return replace(counts[-1], classes=dict(classes), **_added(counts))


def add_process(process: Sequence[ProcessCounts]) -> ProcessCounts:
    """The same for how sets were drawn and sent; medians are none where there is more than one month."""
    several = len(process) > 1
    medians = {name: None if several else getattr(process[0], name) for name in _MEDIANS.values()}
    return replace(process[-1], **(_added(process) | medians))


def _added(rows: Sequence[MonthCounts] | Sequence[ProcessCounts]) -> dict[str, Any]:
    """Every whole number added up; none where a month does not know it."""
    found: dict[str, Any] = {}
    for field in fields(rows[0]):
        values = [getattr(one, field.name) for one in rows]
        if field.name in _MEDIANS.values() or not all(value is None or isinstance(value, int) for value in values):
            continue
        if field.name not in {"facility", "unit"}:
            found[field.name] = None if any(value is None for value in values) else sum(values)
    return found


def _one_of(process: Sequence[ProcessCounts], name: str) -> Any:
    return next((value for value in (getattr(one, name) for one in process) if value is not None), None)


def _with_medians(figure: Figure, process: Sequence[ProcessCounts]) -> Figure:
    name = _MEDIANS.get(figure.key)
    if name is None or len(process) == 1:
        return figure
    held = [value for value in (getattr(one, name) for one in process) if value is not None]
    if not held:
        return figure
    low, high = (_number(value) for value in (min(held), max(held)))
    note = _("{low} by month") if low == high else _("{low} to {high} by month")
    return replace(figure, value=None, note=note.format(low=low, high=high))


def _number(value: float) -> str:
    return decimal_words(f"{value:.1f}".removesuffix(".0"))
