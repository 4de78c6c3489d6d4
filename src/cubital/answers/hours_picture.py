"""The week as a strip: a row per day, a cell per hour, darker where more is contaminated, with the number in it.

Five shades far enough apart for a grey printer, each with letters of enough contrast; the chosen stretch is framed.
"""

from __future__ import annotations

import math
from typing import Any

from cubital.answers.hours_reading import HoursReading
from cubital.answers.palette import ACCENT, INK, MUTED, PAPER
from cubital.answers.picture_parts import Row, frame
from cubital.domain.words import _, decimal_words

_ROW_PIXELS = 30
# A cell's share over the share of all: from where each shade begins, and how dark it is.
_SHADES = ((0.0, 0.05), (0.5, 0.14), (0.8, 0.26), (1.25, 0.42), (1.75, 0.8))
_NARROW = 450  # pixels below which the numbers would run into each other: the shades stay, the table has the numbers
_EVERY_THIRD = f"width < {_NARROW} && +datum.value % 3 ? '' : datum.value"
_DARK = 0.5  # from this shade on the letters are light


def build_week_picture(reading: HoursReading, *, title: str) -> dict[str, Any]:
    """The picture of ``reading``; a cell worth fewer draws than policy asks for shows a dot and no number."""
    rows = _rows(reading)
    foot = _(
        "Contaminated per 100 sets, neighbouring hours taken together; the stronger the shade, the more. A dot: "
        "too few sets to say. Framed: the stretch chosen."
    )
    picture = frame(title, height=7 * _ROW_PIXELS, rows=rows)
    picture["description"] = f"{title} {foot}"
    picture["title"] = {**picture["title"], "subtitle": foot, "subtitleColor": MUTED, "subtitleFontSize": 12}
    days = [row["day"] for row in rows[::24]]
    return {
        **picture,
        "encoding": {
            "x": {
                "field": "hour", "type": "ordinal", "scale": {"paddingInner": 0.06, "paddingOuter": 0.02},
                "axis": {"title": None, "labelAngle": 0, "ticks": False, "domain": False, "orient": "top",
                         "labelPadding": 4, "labelExpr": _EVERY_THIRD},
            },
            "y": {
                "field": "day", "type": "nominal", "sort": days, "scale": {"paddingInner": 0.12},
                "axis": {"title": None, "ticks": False, "domain": False, "labelPadding": 8},
            },
        },
        "layer": _layers(),
    }  # fmt: skip


def day_names() -> tuple[str, ...]:
    """The seven days, Monday first."""
    return _("Monday"), _("Tuesday"), _("Wednesday"), _("Thursday"), _("Friday"), _("Saturday"), _("Sunday")


def _rows(reading: HoursReading) -> list[Row]:
    count, sets = reading.total
    usual = count / sets if sets else 0.0
    rows = []
    for day, name in enumerate(day_names()):
        for hour in range(24):
            share, draws = float(reading.profile.share[day, hour]), float(reading.profile.draws[day, hour])
            shown = not math.isnan(share) and draws >= reading.policy.min_draws
            rows.append({
                "day": name, "hour": f"{hour:02d}", "shade": _shade(share, usual) if shown else 0.0,
                "words": decimal_words(f"{100 * share:.1f}") if shown else "·",
                "framed": reading.enough and reading.inside_cell(day, hour),
            })  # fmt: skip
    return rows


def _shade(share: float, usual: float) -> float:
    ratio = share / usual if usual else 0.0
    return max(shade for start, shade in _SHADES if ratio >= start)


def _layers() -> list[Row]:
    shade = {"field": "shade", "type": "quantitative", "scale": None}
    letters = {"condition": {"test": f"datum.shade > {_DARK}", "value": PAPER}, "value": INK}
    words = {"field": "words", "type": "nominal"}
    return [
        {"mark": {"type": "rect", "color": INK}, "encoding": {"opacity": shade}},
        {
            "transform": [{"filter": "datum.framed"}],
            "mark": {"type": "rect", "filled": False, "stroke": ACCENT, "strokeWidth": 1, "opacity": 1},
        },
        {
            "mark": {"type": "text", "fontSize": 10, "opacity": {"expr": f"width < {_NARROW} ? 0 : 1"}},
            "encoding": {"text": words, "color": letters},
        },
    ]
