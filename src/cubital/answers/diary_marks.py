"""The diary on every chart over months: a letter over the month, its words under the picture and in the table."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from string import ascii_uppercase
from typing import Any

from cubital.answers.diary import entry_words
from cubital.answers.month_text import parse_month
from cubital.answers.palette import INK, MUTED
from cubital.answers.picture_parts import Row
from cubital.domain.answer import Answer, AnswerTable, Mark
from cubital.domain.diary import DiaryEntry
from cubital.domain.words import _, ngettext

MOST_PARTS = 12  # changes at single units of a larger place that are drawn; more would hide the curve
_LETTER_PIXELS = 13


def mark_answer(answer: Answer, entries: Sequence[DiaryEntry], *, facility: str | None, unit: str | None) -> Answer:
    """The same answer with the changes that reached this place marked on its months.

    Changes at single units of a hospital, or at single hospitals of the network, are marked there too while they are
    few, and counted otherwise. An answer that is not about months, or has none of these, stays as it is.
    """
    months = _months_of(answer)
    dated = [(month, entry) for entry in entries if (month := _shown_month(entry, months)) is not None]
    whole = [one for one in dated if one[1].covers(facility=facility, unit=unit)]
    parts = [one for one in dated if one not in whole and _inside(one[1], facility=facility, unit=unit)]
    shown = [one for one in dated if one in whole or one in parts] if len(parts) <= MOST_PARTS else whole
    letters = _letters([month for month, _entry in shown])
    marks = tuple(
        Mark(letter=letters[month], month=month, words=entry_words(entry)) for month, entry in shown if month in letters
    )
    left = len(whole) + len(parts) - len(marks)
    if not marks and not left:
        return answer
    return replace(
        answer,
        marks=marks,
        picture=_marked_picture(answer.picture, letters, months) if marks and _axis(answer.picture) else answer.picture,
        table=_marked_table(answer.table, letters) if marks else answer.table,
        cautions=(*answer.cautions, *([_left_words(left)] if left else [])),
    )


def _months_of(answer: Answer) -> list[str]:
    """The months of the picture or else of the table, in time order; empty where the answer is not about months."""
    axis = _axis(answer.picture)
    if axis is not None:
        return sorted(axis["sort"])
    if answer.table is None:
        return []
    found = [row[0] for row in answer.table.rows]
    months = [cell for cell in found if isinstance(cell, str) and parse_month(cell) == cell]
    return sorted(months) if months and len(months) == len(found) else []


def _axis(picture: Mapping[str, Any]) -> Mapping[str, Any] | None:
    axis = picture.get("encoding", {}).get("x", {})
    return axis if axis.get("field") == "month" and axis.get("sort") else None


def _shown_month(entry: DiaryEntry, months: Sequence[str]) -> str | None:
    """The month over which it stands: its own, or the next that is shown; none outside of what is shown."""
    own = f"{entry.on:%Y-%m}"
    if not months or own < months[0]:
        return None
    return next((month for month in months if month >= own), None)


def _inside(entry: DiaryEntry, *, facility: str | None, unit: str | None) -> bool:
    """Whether it happened at a part of this place."""
    return unit is None and (facility is None or entry.facility == facility)


def _letters(months: Sequence[str]) -> dict[str, str]:
    """A letter for every month, A for the earliest; of more months than letters the latest have one."""
    ordered = sorted(set(months))[-len(ascii_uppercase) :]
    return dict(zip(ordered, ascii_uppercase, strict=False))


def _left_words(left: int) -> str:
    return ngettext(
        "{count} more change of the diary falls into these months and is not drawn; the diary lists it.",
        "{count} more changes of the diary fall into these months and are not drawn; the diary lists them.",
        left,
    ).format(count=left)


def _marked_picture(
    picture: Mapping[str, Any], letters: Mapping[str, str], months: Sequence[str]
) -> dict[str, Any]:  # fmt: skip
    """The letters above the plot, each with a dotted line down; letters of neighbouring months stand on two heights."""
    rows: list[Row] = []
    for month, letter in letters.items():
        place = months.index(month)
        beside = bool(rows) and rows[-1]["place"] == place - 1
        rows.append({"month": month, "letter": letter, "place": place, "high": beside and not rows[-1]["high"]})
    rule = {"type": "rule", "color": MUTED, "strokeWidth": 1, "strokeDash": [1, 3]}
    down = {"y": {"value": 0}, "y2": {"value": "height"}}
    return {
        **picture,
        "layer": [
            *picture["layer"],  # the lines come last: the band of the usual is no transparent thing
            {"data": {"values": rows}, "mark": rule, "encoding": down},
            *(_letter_layer(rows, high=high) for high in (False, True) if any(row["high"] is high for row in rows)),
        ],
    }


def _letter_layer(rows: Sequence[Row], *, high: bool) -> Row:
    mark = {
        "type": "text", "color": INK, "fontSize": 12, "fontWeight": "bold", "baseline": "bottom",
        "dy": -2 - _LETTER_PIXELS * high,
    }  # fmt: skip
    return {
        "data": {"values": [row for row in rows if row["high"] is high]},
        "mark": mark,
        "encoding": {"y": {"value": 0}, "text": {"field": "letter", "type": "nominal"}},
    }


def _marked_table(table: AnswerTable | None, letters: Mapping[str, str]) -> AnswerTable | None:
    """The table with a column of letters, where its rows are the months."""
    if table is None or not any(row[0] in letters for row in table.rows):
        return table
    return replace(
        table,
        columns=(*table.columns, _("Diary")),
        rows=tuple((*row, letters.get(str(row[0]), "")) for row in table.rows),
    )
