"""The months of one place, the day of the change marked, and the line that was to be expected without it."""

from __future__ import annotations

from typing import Any

from cubital.answers.did_reading import ChangeReading
from cubital.answers.palette import ACCENT, BAND, INK, MUTED
from cubital.answers.picture_parts import Row, end_labels, frame, share_axis
from cubital.answers.pictures import month_axis
from cubital.domain.words import _, day_words, grouped_words, share_words

_WORDS_AT = 0.72  # of the width: beyond it the words of a mark stand left of it


def build_change_picture(reading: ChangeReading, *, title: str) -> dict[str, Any]:
    """An empty dict where nothing was counted; the expected line only where a model gave one."""
    counts = reading.counts
    if counts is None or not any(one.sets for one in counts.months):
        return {}
    line = {month: (middle, low, high) for month, middle, low, high in (reading.fit.line if reading.fit else ())}
    rows: list[Row] = []
    for one in counts.months:
        row: Row = {
            "month": one.month, "rate": one.contaminated / one.sets if one.sets else None,
            "counts": _("{count} of {sets}").format(
                count=grouped_words(one.contaminated), sets=grouped_words(one.sets)
            ),
        }  # fmt: skip
        if one.month in line:
            row |= dict(zip(("expected", "low", "high"), line[one.month], strict=True))
        rows.append(row)
    drawn = [row[key] for row in rows for key in ("rate", "expected") if row.get(key) is not None]
    drawn += [row["high"] for row in rows if row.get("high", 1.0) < 2 * max(drawn)]
    top = min(1.0, 1.15 * max(*drawn, 0.01))
    return {
        **frame(title, height=300, rows=[_capped(row, top) for row in rows]),
        "encoding": {"x": month_axis([one.month for one in counts.months])},
        "layer": [*(_expected_layers(top) if line else []), *_mark_layers(reading), *_rate_layers(top),
                  *_end_layers(rows, top)],
    }  # fmt: skip


def _capped(row: Row, top: float) -> Row:
    return {**row, "high": min(row["high"], top)} if "high" in row else row


def _y(field: str, top: float) -> Row:
    return {
        "field": field, "type": "quantitative", "title": None, "axis": share_axis(top),
        "scale": {"domain": [0, top], "nice": False},
    }  # fmt: skip


def _expected_layers(top: float) -> list[Row]:
    band = {"type": "bar", "width": {"band": 1.03}, "color": BAND, "opacity": 1}
    dashed = {"type": "line", "color": MUTED, "strokeWidth": 2, "strokeDash": [6, 3]}
    held = [{"filter": "isValid(datum.expected)"}]
    return [
        {"transform": held, "mark": band, "encoding": {"y": _y("low", top), "y2": {"field": "high"}}},
        {"transform": held, "mark": dashed, "encoding": {"y": _y("expected", top)}},
    ]


def _rate_layers(top: float) -> list[Row]:
    y = {"y": _y("rate", top)}
    line = {"type": "line", "color": INK, "strokeWidth": 1.2, "invalid": "break-paths-show-path-domains"}
    dot = {"type": "point", "filled": True, "size": 34, "color": INK, "opacity": 1, "shape": "circle"}
    tooltip = [
        {"field": "month", "type": "nominal", "title": _("Month")},
        {"field": "counts", "type": "nominal", "title": _("Contaminated")},
    ]
    return [{"mark": line, "encoding": y}, {"mark": dot, "encoding": {**y, "tooltip": tooltip}}]


def _mark_layers(reading: ChangeReading) -> list[Row]:
    """A line through the month of the change, with its day on top."""
    counts, change = reading.counts, reading.material.change
    months = [one.month for one in counts.months] if counts else []
    at = f"{change.on:%Y-%m}"
    if at not in months:
        return []
    late = months.index(at) > _WORDS_AT * len(months)
    side: Row = {"align": "right", "dx": -6} if late else {"align": "left", "dx": 6}
    one: Row = {"values": [{"month": at}]}
    where = {"field": "month", "type": "ordinal", "sort": months}
    rule = {"type": "rule", "color": ACCENT, "strokeWidth": 2}
    word = {"type": "text", "baseline": "top", "color": INK, "fontSize": 12, **side}
    text = _("{day}: {words}").format(day=day_words(change.on), words=change.words[:40])
    return [
        {"data": one, "mark": rule, "encoding": {"x": where, "y": {"value": 0}, "y2": {"value": "height"}}},
        {"data": one, "mark": word, "encoding": {"x": where, "y": {"value": 0}, "text": {"value": text}}},
    ]


def _end_layers(rows: list[Row], top: float) -> list[Row]:
    expected = next((row["expected"] for row in reversed(rows) if row.get("expected") is not None), None)
    if expected is None:
        return []
    words = _("expected without it: {share}").format(share=share_words(expected))
    return end_labels([(expected, words, MUTED)], span=top)
