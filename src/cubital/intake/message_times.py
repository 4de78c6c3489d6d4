"""Times in messages: the wall clock as written, and beside it the offset from UTC in minutes where one was written."""

from __future__ import annotations

import re
from functools import lru_cache

_TIME = re.compile(
    r"(\d{4})-?(\d\d)-?(\d\d)(?:[T ]?(\d\d):?(\d\d)?(?::?(\d\d))?(?:[.,]\d*)?)?\s*(?:([+-])(\d\d):?(\d\d)?|([Zz]))?"
)


@lru_cache(maxsize=65_536)
def split_time(text: str) -> tuple[str, str]:
    """``20251103105000-0500`` or ``2025-11-03T10:50:00-05:00`` as ``("2025-11-03 10:50:00", "-300")``.

    The second part is empty where no offset is written, and where there is only a day, which no offset can place.
    Fractions of a second are dropped. What is no day at all (``2025``, ``202511``, words) comes back as it is, after a
    question mark, so that it is named as a time that cannot be read; blank text stays blank.
    """
    text = text.strip()
    if not text:
        return "", ""
    found = _TIME.fullmatch(text)
    if not found:
        return f"? {text}"[:80], ""
    year, month, day, hour, minute, second, sign, hours, minutes, zulu = found.groups()
    if hour is None:
        return f"{year}-{month}-{day}", ""
    wall = f"{year}-{month}-{day} {hour}:{minute or '00'}:{second or '00'}"
    if zulu:
        return wall, "0"
    if sign is None:
        return wall, ""
    east = int(hours) * 60 + int(minutes or 0)
    return wall, str(-east if sign == "-" else east)
