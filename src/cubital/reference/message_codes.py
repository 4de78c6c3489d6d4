"""The code tables of HL7 v2 that messages about cultures use, in the words that the readers of laboratory text know.

0487 specimen, 0488 method and bottle, 0163 and 0550 body site, 0490 reason of rejection; 0085 and 0123 the status of a
result and of an order, read as a status letter of files, ``withdrawn``, ``not_collected`` or ``none``.
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache
from types import MappingProxyType

from cubital.reference.tables import read_rows


@lru_cache
def message_table(number: str) -> Mapping[str, str]:
    """One table, code to words; empty for a table that is not shipped."""
    return MappingProxyType({row["code"]: row["reads"] for row in read_rows("message_codes") if row["table"] == number})
