"""The shapes in which dates and times are written, and the engine's format for each.

A shape is the text with every digit written as 9 and every word as ``a``. The engine turns month names into ``-11-``
before it reads them, so the formats have that where a name stood.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from enum import StrEnum
from functools import lru_cache

SHAPE_DIGITS = str.maketrans("0123456789", "9999999999")


class DateKind(StrEnum):
    """How the date part is written. The two NUMERIC kinds leave open whether day or month stands first."""

    YEAR_FIRST = "year_first"
    NUMERIC = "numeric"
    NUMERIC_TWO_DIGIT = "numeric_two_digit"
    DAY_NAME_YEAR = "day_name_year"
    NAME_DAY_YEAR = "name_day_year"
    COMPACT = "compact"
    SERIAL = "serial"
    EPOCH_SECONDS = "epoch_seconds"
    EPOCH_MILLISECONDS = "epoch_milliseconds"


OPEN_KINDS = frozenset({DateKind.NUMERIC, DateKind.NUMERIC_TWO_DIGIT})
NUMBER_KINDS = frozenset({DateKind.SERIAL, DateKind.EPOCH_SECONDS, DateKind.EPOCH_MILLISECONDS})


@dataclass(frozen=True, kw_only=True)
class DateShape:
    """One way of writing: its kind, its formats for either order (equal unless open), what it carries.

    ``day_first`` and ``month_first`` are formats for the engine; empty for number kinds. ``zoned`` means that an offset
    or ``Z`` follows.
    """

    kind: DateKind
    day_first: str = ""
    month_first: str = ""
    has_time: bool = False
    two_digit_year: bool = False
    zoned: bool = False

    @property
    def named(self) -> bool:
        """The month is a word."""
        return self.kind in (DateKind.DAY_NAME_YEAR, DateKind.NAME_DAY_YEAR)


_SEP = r"(?P<s1>[-/. ])"
_DATE_PARTS: tuple[tuple[DateKind, re.Pattern[str]], ...] = (
    (DateKind.YEAR_FIRST, re.compile(r"9{4}(?P<s1>[-/.])9{1,2}(?P<s2>[-/.])9{1,2}")),
    (DateKind.NUMERIC, re.compile(rf"9{{1,2}}{_SEP}9{{1,2}}(?P<s2>[-/. ])9{{4}}")),
    (DateKind.NUMERIC_TWO_DIGIT, re.compile(rf"9{{1,2}}{_SEP}9{{1,2}}(?P<s2>[-/. ])9{{2}}(?!9)")),
    (DateKind.DAY_NAME_YEAR, re.compile(r"9{1,2}(?P<s1>[-/. ]*)a(?P<s2>[-/. ,]*)(?P<y>9{4}|9{2})(?!9)")),
    (DateKind.NAME_DAY_YEAR, re.compile(r"a(?P<s1>[-/. ]*)9{1,2}(?P<s2>[-/. ,]+)(?P<y>9{4}|9{2})(?!9)")),
    (DateKind.COMPACT, re.compile(r"9{8}")),
)
_TIME_PART = re.compile(
    r"(?P<gap>[ ,T:_-]*)9{1,2}(?P<c1>[:.h])9{2}((?P<c2>[:.])9{2}(?P<frac>[.,]9{1,9})?)?(?P<ampm> ?p)?(?P<zone> ?(Z"
    r"|[+-]9{2}:?(9{2})?))?"
)
_BARE_TIME = re.compile(r"(?P<gap>[ T:_-]*)9{4}(?P<sec>9{2})?(?P<zone>Z|[+-]9{4})?")


def shape_of(text: str) -> str:
    """The shape of one value, as the engine's macro ``date_shape`` makes it: for samples and tests."""
    plain = re.sub(r"(?i)([ap])\.?m\.?$", "p", text.strip())
    plain = re.sub(r"[^\W\d_]{3,}\.?", "a", plain)
    return plain.translate(SHAPE_DIGITS)


@lru_cache(maxsize=2048)
def read_shape(shape: str) -> DateShape | None:
    """What a shape means; none when it is no date."""
    if number := _read_number(shape):
        return number
    for kind, pattern in _DATE_PARTS:
        match = pattern.match(shape)
        if match is None:
            continue
        rest = shape[match.end() :]
        tail = _read_time(rest)
        if tail is not None:
            return _combine(kind, match, tail)
    return None


@dataclass(frozen=True)
class _Tail:
    text: str
    has_time: bool
    zoned: bool


def _read_number(shape: str) -> DateShape | None:
    if re.fullmatch(r"9{5}([.,]9+)?", shape):
        return DateShape(kind=DateKind.SERIAL, has_time="." in shape or "," in shape)
    if shape == "9" * 10:
        return DateShape(kind=DateKind.EPOCH_SECONDS, has_time=True)
    if shape == "9" * 13:
        return DateShape(kind=DateKind.EPOCH_MILLISECONDS, has_time=True)
    return None


def _read_time(rest: str) -> _Tail | None:
    if not rest.strip():
        return _Tail("", False, False)
    if match := _TIME_PART.fullmatch(rest):
        hours = "%I" if match["ampm"] else "%H"
        text = f"{match['gap']}{hours}{match['c1']}%M"
        if match["c2"]:
            text += f"{match['c2']}%S"
        if match["frac"]:
            text += f"{match['frac'][0]}%f"
        if match["ampm"]:
            text += match["ampm"].replace("p", "%p")
        return _Tail(text, True, bool(match["zone"]))
    if match := _BARE_TIME.fullmatch(rest):
        return _Tail(f"{match['gap']}%H%M" + ("%S" if match["sec"] else ""), True, bool(match["zone"]))
    return None


def _combine(kind: DateKind, match: re.Match[str], tail: _Tail) -> DateShape:
    named = match.groupdict()
    first, second = named.get("s1") or "", named.get("s2") or ""
    two_digit = kind is DateKind.NUMERIC_TWO_DIGIT or len(named.get("y") or "9999") == 2
    year = "%y" if two_digit else "%Y"
    day_first, month_first = f"%d{first}%m{second}{year}", f"%m{first}%d{second}{year}"
    if kind is DateKind.YEAR_FIRST:
        day_first = month_first = f"%Y{first}%m{second}%d"
    elif kind is DateKind.COMPACT:
        day_first = month_first = "%Y%m%d"
    elif kind is DateKind.DAY_NAME_YEAR:
        day_first = month_first = f"%d{first}-%m-{second}{year}"
    elif kind is DateKind.NAME_DAY_YEAR:
        day_first = month_first = f"-%m-{first}%d{second}{year}"
    return DateShape(
        kind=kind,
        day_first=day_first + tail.text,
        month_first=month_first + tail.text,
        has_time=tail.has_time,
        two_digit_year=two_digit,
        zoned=tail.zoned,
    )
