"""One unit's month and one charter, as the pages below the workspace see them; numbers of the story of March."""

from __future__ import annotations

import math
from datetime import date
from typing import Any

from cubital.domain.answer import Answer, AnswerTable, Figure, Receipt, Verdict
from cubital.papers.highlights import Highlights
from cubital.papers.unit_page import UnitPage

SETS = (
    472, 455, 503, 481, 490, 466, 512, 498, 477, 489, 505, 460, 468, 483, 495, 474, 509, 487, 492, 470, 499, 481, 476,
    498,
)  # fmt: skip
CONTAMINATED = (14, 10, 9, 11, 18, 15, 6, 10, 10, 19, 12, 9, 16, 17, 11, 11, 16, 10, 16, 12, 14, 17, 6, 19)
SENTENCE = (
    "March (19 of 498, 3.8 %) is within what this department's own variation produces; we would expect a month this "
    "high about once in sixteen months. No action beyond the current plan; 24 or more would have been a signal."
)
RECEIPT = Receipt(data="batch 41", charter="charter 2, 3f2a9c0d11e4b7aa", policy="policy 7", code="0.1.0")


def share(key: str, label: str, *, count: int, total: int, low: float, high: float) -> Figure:
    return Figure(
        key=key, label=label, value=count / total, unit="proportion", numerator=count, denominator=total,
        low=low, high=high, level=0.95, method="wilson",
    )  # fmt: skip


def picture() -> dict[str, Any]:
    centre = sum(CONTAMINATED) / sum(SETS)
    rows = [
        {"month": f"{2024 + (3 + i) // 12}-{(3 + i) % 12 + 1:02d}", "rate": k / n,
         "high": centre + 3 * math.sqrt(centre * (1 - centre) / n)}
        for i, (n, k) in enumerate(zip(SETS, CONTAMINATED, strict=True))
    ]  # fmt: skip
    y = {"field": "rate", "type": "quantitative", "axis": {"format": ".1%"}, "title": None}
    return {
        "$schema": "https://vega.github.io/schema/vega-lite/v6.json",
        "title": SENTENCE,
        "width": "container",
        "data": {"values": rows},
        "encoding": {"x": {"field": "month", "type": "ordinal", "title": None}},
        "layer": [
            {"mark": {"type": "line", "point": True}, "encoding": {"y": y}},
            {"mark": {"type": "line", "strokeDash": [4, 3]}, "encoding": {"y": {**y, "field": "high"}}},
        ],
    }


FIGURES = (
    share("contamination", "Contaminated", count=19, total=498, low=0.024, high=0.059),
    share("solitary_by_episode", "Single sets, by episode", count=42, total=249, low=0.127, high=0.220),
    share("bottles_complete", "Both bottles", count=458, total=498, low=0.892, high=0.940),
    share("positivity", "Grew something", count=45, total=498, low=0.068, high=0.119),
    Figure(key="minutes_to_receipt", label="Collection to laboratory, median", value=41.0, unit="minutes"),
    share("collector_known", "Collector known", count=314, total=498, low=0.587, high=0.671),
    Figure(key="fill_median", label="Fill, median", value=None, unit="ml", note="not measurable: no fill was recorded"),
)


def march(**changes: Any) -> Answer:
    values: dict[str, Any] = {
        "question": "month",
        "verdict": Verdict.WITHIN_VARIATION,
        "sentence": SENTENCE,
        "figures": FIGURES,
        "cautions": ("Preliminary: class may change until 10 April 2026.", "Collector unknown for 37 %."),
        "picture": picture(),
        "table": AnswerTable(title="Sets and contaminated sets by month", columns=("month",), rows=()),
        "receipt": RECEIPT,
    }
    return Answer(**(values | changes))


def unit_page(**changes: Any) -> UnitPage:
    values: dict[str, Any] = {
        "answer": march(),
        "place": "Marrowby General · Emergency",
        "month": "2026-03",
        "counted": "Counted by charter 2 (one of several, 24 hours) · 3 doubts",
        "definition": "A set is contaminated when … Class words are for counting, never a diagnosis.",
        "highlights": Highlights(strength="Both bottles came in 458 of 498 sets (92.0 %).", focus="Keep to the plan."),
        "made_on": date(2026, 4, 2),
    }
    return UnitPage(**(values | changes))
