"""Small tables of cultures for the store, as intake would leave them in the session."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import datetime, timedelta
from typing import Any

from cubital.domain.tables import BOTTLES, ISOLATES, MOVEMENTS, SETS
from cubital.engine import Session

FACILITY = "Marrowby General"
START = datetime(2025, 10, 1, 8, 0)  # noqa: DTZ001 - the store keeps UTC without a zone

NEW_SETS = {"row_set": "BIGINT"} | {name: kind for name, kind in SETS.items() if name not in ("set_id", "batch")}
NEW_BOTTLES = {"row_set": "BIGINT"} | {name: kind for name, kind in BOTTLES.items() if name != "set_id"}
NEW_ISOLATES = {"row_set": "BIGINT"} | {name: kind for name, kind in ISOLATES.items() if name != "set_id"}


def a_set(accession: str, *, days: float = 0, **changes: Any) -> dict[str, Any]:
    """One set drawn ``days`` after 1 October 2025; ``changes`` replace columns, ``organisms`` or ``bottles``."""
    at = START + timedelta(days=days)
    row: dict[str, Any] = {
        "facility": FACILITY, "accession": accession, "patient_key": 7, "age_group": "18_to_64", "collected_at": at,
        "collected_local": at - timedelta(hours=5), "time_quality": "exact", "received_at": at + timedelta(minutes=40),
        "loaded_at": None, "first_positive_at": None, "day": (at - timedelta(hours=5)).date(),
        "month": f"{at - timedelta(hours=5):%Y-%m}", "unit_key": "ed", "collector_key": "jm", "attribution": "B",
        "method": "unknown", "site": "", "status": "final", "reject_reason": "",
        "organisms": (), "bottles": ("aerobic", "anaerobic"),
    }  # fmt: skip
    return row | changes


def add_new_sets(session: Session, sets: Iterable[Mapping[str, Any]], *, first_row_set: int = 1) -> None:
    """Creates ``new_sets``, ``new_bottles``, ``new_isolates`` and an account of rows in the session."""
    numbered = list(enumerate(sets, start=first_row_set))
    session.add_rows("new_sets", NEW_SETS, [[n, *(s[c] for c in NEW_SETS if c != "row_set")] for n, s in numbered])
    bottles = [[n, b, kind, None, "", False] for n, s in numbered for b, kind in enumerate(s["bottles"], start=1)]
    session.add_rows("new_bottles", NEW_BOTTLES, bottles)
    isolates = [[n, 1, key, key.upper(), "exact", False] for n, s in numbered for key in s["organisms"]]
    session.add_rows("new_isolates", NEW_ISOLATES, isolates)


def add_new_movements(session: Session, stays: Iterable[tuple[int, str, float, float | None]]) -> None:
    """Creates ``new_movements`` from (patient, unit, from, to), the times in days after 1 October 2025."""
    rows = [
        [FACILITY, patient, unit, START + timedelta(days=start), None if end is None else START + timedelta(days=end)]
        for patient, unit, start, end in stays
    ]
    session.add_rows("new_movements", MOVEMENTS, rows)
