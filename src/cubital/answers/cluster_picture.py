"""Days on a line, one line per unit: where and when the organism grew, with the stretch found marked behind."""

from __future__ import annotations

from collections import Counter
from datetime import date, timedelta
from typing import Any

from cubital.answers.cluster_reading import ClusterReading, FoundCluster
from cubital.answers.cluster_words import Names
from cubital.answers.odd_growths import Event
from cubital.answers.palette import ACCENT, BAND, INK
from cubital.answers.picture_parts import Row, frame
from cubital.domain.words import _, month_names

_ROW_PIXELS = 30
_MOST_LINES = 24


def build_cluster_picture(reading: ClusterReading, names: Names, *, title: str) -> dict[str, Any]:
    """The looked-at days of the organism found; an empty dict where nothing was found."""
    best = reading.best
    if best is None:
        return {}
    events = reading.events.get(best.organism, ())
    rows = _rows(events, best, names)
    lines = list(dict.fromkeys(row["line"] for row in rows))
    look = reading.look
    days = [look.first + timedelta(days=n) for n in range(look.days)]
    return {
        **frame(title, height=max(90, _ROW_PIXELS * len(lines)), rows=rows),
        "encoding": {
            "x": _x(days),
            "y": {
                "field": "line", "type": "nominal", "sort": lines,
                "axis": {
                    "title": None, "ticks": False, "domain": False, "grid": True, "labelLimit": 240, "labelPadding": 8,
                },
            },
        },
        "layer": [_band(best, days), *_dots()],
    }  # fmt: skip


def _rows(events: tuple[Event, ...], best: FoundCluster, names: Names) -> list[Row]:
    counts = Counter((event.facility, event.unit, event.day) for event in events)
    units = Counter((event.facility, event.unit) for event in events)
    shown = {unit for unit, _count in units.most_common(_MOST_LINES)}
    inside = {(event.facility, event.unit, event.day) for event in best.events}
    rows = [
        {
            "line": _line(names, (facility, unit)) if (facility, unit) in shown else _("other units"),
            "day": day.isoformat(),
            "sets": count,
            "words": str(count) if count > 1 else "",
            "kind": "in" if (facility, unit, day) in inside else "out",
        }
        for (facility, unit, day), count in sorted(counts.items())
    ]
    order = [_line(names, unit) for unit, _count in units.most_common()]
    return sorted(rows, key=lambda row: (order.index(row["line"]) if row["line"] in order else len(order), row["day"]))


def _line(names: Names, unit: tuple[str, str]) -> str:
    return names.get(unit) or _("unit not named")


def _x(days: list[date]) -> Row:
    months = month_names()
    every = max(1, len(days) // 14)
    labels = {
        day.isoformat(): f"{day.day} {months[day.month - 1][:3]}" if index == 0 or day.day == 1 else str(day.day)
        for index, day in enumerate(days)
    }
    pairs = ", ".join(f"'{key}': '{text}'" for key, text in labels.items())
    return {
        "field": "day", "type": "ordinal",
        "scale": {"domain": [day.isoformat() for day in days]},
        "axis": {
            "title": None, "labelAngle": 0, "ticks": False, "labelOverlap": True,
            "values": [day.isoformat() for index, day in enumerate(days) if index % every == 0],
            "labelExpr": f"({{{pairs}}})[datum.value]",
        },
    }  # fmt: skip


def _band(best: FoundCluster, days: list[date]) -> Row:
    held = [{"day": day.isoformat()} for day in days if best.stretch.first <= day <= best.stretch.last]
    mark = {"type": "bar", "color": BAND, "width": {"band": 1.03}, "opacity": 1}
    return {
        "data": {"values": held},
        "mark": mark,
        "encoding": {"x": {"field": "day", "type": "ordinal"}, "y": {"value": 0}, "y2": {"value": "height"}},
    }


def _dots() -> list[Row]:
    inside = {"type": "point", "filled": True, "shape": "triangle-up", "size": 150, "color": ACCENT, "opacity": 1}
    outside = {"type": "point", "filled": True, "shape": "circle", "size": 70, "color": INK, "opacity": 1}
    words = {"type": "text", "dx": 12, "color": INK, "fontSize": 12, "align": "left", "baseline": "middle"}
    return [
        {"transform": [{"filter": "datum.kind === 'out'"}], "mark": outside},
        {"transform": [{"filter": "datum.kind === 'in'"}], "mark": inside},
        {"mark": words, "encoding": {"text": {"field": "words", "type": "nominal"}}},
    ]
