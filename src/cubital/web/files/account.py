"""The account of a batch on the page: rows in, sets out, every loss and doubt; and how the months compare."""

from __future__ import annotations

from dataclasses import dataclass

from cubital.domain.words import _, month_words, share_words
from cubital.workspace.batches import BatchReport
from cubital.workspace.places import Places

FEWER, MORE = 0.7, 1.4  # beyond these shares of the months before, a month deserves a look (common practice, no source)


@dataclass(frozen=True, kw_only=True)
class MonthBeside:
    """One month that a batch touched, with the sets of the month before it; none where there is none."""

    month: str
    sets: int
    before: int | None
    words: str


def months_beside(batch: BatchReport, places: Places) -> tuple[MonthBeside, ...]:
    """Every month of the batch's hospital, newest first, beside its predecessor; at most a year of them."""
    found = {
        entry.month: entry.sets
        for entry in places.facility_months
        if entry.facility == batch.facility and "-" in entry.month
    }
    months = sorted(found)
    pairs = [(month, months[place - 1] if place else None) for place, month in enumerate(months)]
    return tuple(
        MonthBeside(
            month=month_words(month, with_year=True),
            sets=found[month],
            before=found[earlier] if earlier else None,
            words=_compared(found[month], found[earlier] if earlier else None),
        )
        for month, earlier in reversed(pairs[-12:])
    )


def _compared(sets: int, before: int | None) -> str:
    if not before:
        return _("no month before it")
    share = sets / before
    if share < FEWER:
        return _("▽ only {share} of the month before: is the file complete?").format(share=share_words(share, 0))
    if share > MORE:
        return _("△ {share} of the month before: is something in it twice?").format(share=share_words(share, 0))
    return _("about as many as before")
