"""Three hospitals for a quarter close: small files with an exact number of contaminated sets per unit and month."""

from __future__ import annotations

import csv
from collections.abc import Mapping
from pathlib import Path

HEADER = ("ACC_NO", "MRN", "DOB", "LOC", "COLL_DT", "RECV_DT", "BOTTLE", "STATUS", "RESULT")
UnitMonths = Mapping[tuple[str, str], tuple[int, int]]  # (unit, month) -> (contaminated, sets)


def write_laboratory_file(path: Path, units: UnitMonths, *, first: int) -> Path:
    """Sets come in pairs of one patient each; of a contaminated pair, one set grew a skin organism and one nothing."""
    number = first
    with path.open("w", newline="", encoding="utf-8") as stream:
        writer = csv.writer(stream)
        writer.writerow(HEADER)
        for (unit, month), (contaminated, sets) in units.items():
            assert sets % 2 == 0
            for place in range(sets):
                grew = "STAPH EPIDERMITIS" if place % 2 == 0 and place // 2 < contaminated else "NG 5D"
                day, hour = 1 + (place // 2) % 27, 1 + place % 2
                at, got = f"{month}-{day:02d} {hour:02d}:10", f"{month}-{day:02d} {hour:02d}:50"
                patient = f"{first}{number - place % 2}"
                for bottle in ("AER", "ANA"):
                    result = grew if bottle == "AER" else "NG 5D"
                    writer.writerow((number, patient, "1957-04-09", unit, at, got, bottle, "F", result))
                number += 1
    return path
