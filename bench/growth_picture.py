"""Draws how judging grows from its measured numbers: ``python -m bench.growth_picture`` after they were written down.

The numbers stand in ``docs/explanation/growth.csv``, one line per size and step; the picture beside it is made of them.
"""

from __future__ import annotations

import csv
from pathlib import Path
from typing import Any

from cubital.papers.pictures import render_png, render_svg

FOLDER = Path(__file__).resolve().parent.parent / "docs" / "explanation"
INK, QUIET, FAINT = "#000000", "#555555", "#999999"  # tells apart in print without colour; shapes do too
STEPS = {
    "judging": ("judging and monthly rates", INK, "circle"),
    "counting": ("bare count by month and unit", QUIET, "square"),
}


def read_points(file: Path) -> list[dict[str, Any]]:
    """``sets`` in millions and busy ``seconds`` of all cores, the fairer figure, for every step of ``STEPS``."""
    with file.open(encoding="utf-8", newline="") as lines:
        rows = [row for row in csv.DictReader(lines) if row["step"] in STEPS]
    return [
        {"sets": int(row["sets"]) / 1e6, "seconds": float(row["busy_seconds"]), "step": row["step"]} for row in rows
    ]


def growth_picture(points: list[dict[str, Any]]) -> dict[str, Any]:
    """Both axes by powers of ten: a straight line of slope one is growth in proportion, and one is drawn to compare."""
    last = max(point["sets"] for point in points)
    judged = sorted((p for p in points if p["step"] == "judging"), key=lambda p: p["sets"])
    middle = judged[len(judged) // 2]
    guide = [{"sets": sets, "seconds": middle["seconds"] * sets / middle["sets"]} for sets in (judged[0]["sets"], last)]
    layers = [
        {
            "data": {"values": guide},
            "mark": {"type": "line", "strokeDash": [2, 4], "color": FAINT},
            "encoding": _axes(),
        }
    ]
    for step, (words, colour, shape) in STEPS.items():
        chosen = [point | {"words": words} for point in points if point["step"] == step]
        layers.append(
            {
                "data": {"values": chosen},
                "mark": {
                    "type": "line", "color": colour, "strokeWidth": 2,
                    "point": {"shape": shape, "size": 90, "color": colour, "filled": True},
                },
                "encoding": _axes(),
            }
        )  # fmt: skip
        ends = sorted(chosen, key=lambda point: point["sets"])
        layers.append(_label(words, ends[-1:], colour))
    layers.append(_numbers(points))
    return {
        "$schema": "https://vega.github.io/schema/vega-lite/v6.json",
        "width": 460,
        "height": 300,
        "layer": layers,
        "config": {"view": {"stroke": None}, "axis": {"labelFontSize": 13, "titleFontSize": 13, "grid": False}},
    }


def _axes() -> dict[str, Any]:
    return {
        "x": {
            "field": "sets", "type": "quantitative", "title": "million sets",
            "scale": {"type": "log", "domain": [0.8, 70]}, "axis": {"values": [1, 10, 50]},
        },
        "y": {
            "field": "seconds", "type": "quantitative", "title": "busy seconds of all cores",
            "scale": {"type": "log", "domain": [0.02, 30]}, "axis": {"values": [0.1, 1, 10]},
        },
    }  # fmt: skip


def _label(words: str, at: list[dict[str, Any]], colour: str) -> dict[str, Any]:
    """Above the last point of the upper line, well below that of the lower line: no line runs through it."""
    place = {"align": "right", "dx": 8, "dy": -30 if colour == INK else 100}
    mark = {"type": "text", "text": words, "fontSize": 13, "color": colour} | place
    return {"data": {"values": at}, "mark": mark, "encoding": _axes()}


def _numbers(points: list[dict[str, Any]]) -> dict[str, Any]:
    written = [point | {"text": f"{point['seconds']:.3g}"} for point in points]
    mark = {"type": "text", "dy": 16, "dx": 10, "fontSize": 12, "color": INK}
    return {"data": {"values": written}, "mark": mark, "encoding": _axes() | {"text": {"field": "text"}}}


def main() -> None:
    """Writes ``growth.svg`` beside its numbers."""
    picture = growth_picture(read_points(FOLDER / "growth.csv"))
    (FOLDER / "growth.svg").write_text(render_svg(picture), encoding="utf-8")


def look(file: Path) -> None:
    """The same picture as PNG, to look at."""
    file.write_bytes(render_png(growth_picture(read_points(FOLDER / "growth.csv"))))


if __name__ == "__main__":
    main()
