"""How a header is tidied, so that ``ACC_NO``, ``Acc No.`` and ``acc-no`` are one."""

from __future__ import annotations

import re
import unicodedata
from functools import lru_cache


@lru_cache(maxsize=8192)
def tidy_header(header: str) -> str:
    """Casefolded words and numbers with single spaces, accents removed: ``'Nº  de Muestra_'`` → ``'no de muestra'``."""
    spelled = header.replace("№", "no").replace("º", "o").replace("#", " no ")
    spaced = re.sub(r"(?<=[a-z])(?=[A-Z])", " ", spelled)  # CollectedTime, accessionNumber
    plain = unicodedata.normalize("NFKD", spaced)
    letters = "".join(sign for sign in plain if not unicodedata.combining(sign)).casefold()
    return " ".join(re.findall(r"[^\W_]+", letters))


def label_headers(headers: list[str]) -> list[str]:
    """A distinct label for each column: its header, its number where it has none or where the header comes twice."""
    tidied = [tidy_header(header) for header in headers]
    labels = []
    for number, (header, tidy) in enumerate(zip(headers, tidied, strict=True), start=1):
        if not tidy:
            labels.append(f"column {number}")
        elif tidied.count(tidy) > 1:
            labels.append(f"{header.strip()} (column {number})")
        else:
            labels.append(header.strip())
    return labels
