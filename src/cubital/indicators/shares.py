"""One count over another as a figure with its interval."""

from __future__ import annotations

from cubital.domain.answer import Figure
from cubital.domain.words import _
from cubital.stats.proportions import wilson_interval

LEVEL = 0.95


def build_share(
    key: str,
    label: str,
    *,
    numerator: int,
    denominator: int,
    definition: str,
    note: str = "",
    nothing: str = "",
    level: float = LEVEL,
) -> Figure:
    """``numerator`` of ``denominator`` as a proportion (0 to 1) with its Wilson interval.

    With nothing to count the value is none and the note is ``nothing``, or says that there is nothing to count.
    A numerator outside 0 to the denominator is a ``ValueError``: a figure never shows more than all.
    """
    if not 0 <= numerator <= denominator:
        raise ValueError(f"{key}: {numerator} of {denominator} is impossible")
    if denominator == 0:
        return Figure(
            key=key, label=label, value=None, unit="proportion", numerator=0, denominator=0,
            definition=definition, note=nothing or _("nothing to count here"),
        )  # fmt: skip
    interval = wilson_interval(numerator, denominator, level=level)
    return Figure(
        key=key, label=label, value=numerator / denominator, unit="proportion",
        low=interval.low, high=interval.high, level=interval.level, method=interval.method,
        numerator=numerator, denominator=denominator, definition=definition, note=note,
    )  # fmt: skip


def build_count(key: str, label: str, *, count: int, unit: str, definition: str, note: str = "") -> Figure:
    """A plain count: no interval, because it is everything that was counted."""
    return Figure(key=key, label=label, value=float(count), unit=unit, definition=definition, note=note)
