"""A hospital whose draws have known collectors, and its staff list: invented people, written as files."""

from __future__ import annotations

import csv
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

HOSPITAL = "Marrowby General"
ZONE = "America/Chicago"
CSV_STAFF = """name,initials,badge,role,unit,from,to
Jana Moravec,JM,,nurse,ED,2024-01-01,2025-06-30
Jonas Moss,JM,,nurse,ED,2024-03-01,
Rosa Okoro,R.OKO,,nurse,ED,,
Ulla Venn,,7731,phlebotomist,ED,2024-01-01,
Pia Hask,,7702,nurse,ICU,2025-08-01,
"""


@dataclass(frozen=True)
class Drawn:
    """``count`` draws by ``collector`` on ``day`` (YYYY-MM-DD), the first ``contaminated`` of them contaminated."""

    collector: str
    day: str
    count: int
    contaminated: int = 0


def write_draws(path: Path, draws: Sequence[Drawn], *, amend: dict[str, str] | None = None) -> Path:
    """A laboratory file in which every draw is one set of a pair; the other set of the pair names nobody.

    ``amend`` replaces the result of the sets with these accession numbers.
    """
    number = 5000
    with path.open("w", newline="", encoding="utf-8") as handle:
        out = csv.writer(handle)
        out.writerow(["ACC_NO", "MRN", "DOB", "LOC", "COLL_DT", "RECV_DT", "COLLECTOR", "STATUS", "RESULT"])
        for draw in draws:
            for place in range(draw.count):
                number += 2
                result = "STAPH EPIDERMITIS" if place < draw.contaminated else "NO GROWTH AT 5 DAYS"
                for accession, who, first in ((number, draw.collector, result), (number + 1, "LAB", "NO GROWTH")):
                    said = (amend or {}).get(str(accession), first)
                    at = f"{draw.day} 10:{accession % 60:02d}"
                    out.writerow(
                        [accession, 90000 + number, "1957-04-09", "ED", at, f"{draw.day} 11:30", who, "F", said]
                    )
    return path


def write_staff(path: Path, text: str = CSV_STAFF) -> Path:
    path.write_text(text, encoding="utf-8")
    return path
