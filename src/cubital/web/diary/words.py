"""Entries of the diary as the page writes them, and the places that they may name."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from cubital.answers.diary import span_words
from cubital.answers.diary_entry import kind_words
from cubital.domain.diary import DiaryEntry
from cubital.domain.words import _, day_words
from cubital.web.desk import the_workspace
from cubital.web.month.places import place_choices
from cubital.workspace.diary import HistoryLine
from cubital.workspace.places import list_places


@dataclass(frozen=True, kw_only=True)
class EntryLine:
    """One row of the list; ``number`` is 0 where the workspace knows the change from elsewhere."""

    number: int
    when: str
    place: str
    words: str
    kind: str


@dataclass(frozen=True, kw_only=True)
class HistoryWords:
    """One form of an entry, and what became of it."""

    line: EntryLine
    noted: str
    fate: str


def entry_line(entry: DiaryEntry) -> EntryLine:
    """The entry as a row."""
    return EntryLine(
        number=entry.number, when=span_words(entry), place=entry.place, words=entry.words, kind=kind_words(entry.kind)
    )


def history_lines(lines: Sequence[HistoryLine]) -> list[HistoryWords]:
    """Every form that an entry has had, oldest first."""
    return [
        HistoryWords(line=entry_line(one.entry), noted=_noted_words(one), fate=_fate_words(one)) for one in lines
    ]  # fmt: skip


def place_list() -> list[tuple[str, Any]]:
    """Everywhere, every hospital, every unit."""
    choices = place_choices(list_places(the_workspace()))
    return [("", _("Everywhere")), *choices[1:]]


def _noted_words(line: HistoryLine) -> str:
    day = day_words(line.noted_at.astimezone().date())
    if line.entry.noted_by:
        return _("{day} by {by}").format(day=day, by=line.entry.noted_by)
    return day


def _fate_words(line: HistoryLine) -> str:
    if line.ended_at is None:
        return _("in force")
    values = {"day": day_words(line.ended_at.astimezone().date()), "why": line.why}
    if line.replaced_by is not None:
        return _("corrected on {day}: {why}").format(**values)
    return _("withdrawn on {day}: {why}").format(**values)
