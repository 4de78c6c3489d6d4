"""The separators a message names for itself, and text freed from its escapes."""

from __future__ import annotations

import re
from functools import lru_cache
from typing import NamedTuple

NULL = '""'  # how HL7 v2 says that a value is deliberately none
_WORDLESS = frozenset("HNFTSREP")
_SPACES = re.compile(r"\.(br|sp|fi|nf|in|ti|sk|ce)[-+ ]?\d*")
_LETTERS = re.compile(r"[CMZ][0-9A-Za-z]*")
_HEX = re.compile(r"X((?:[0-9A-Fa-f]{2})+)")


class Delimiters(NamedTuple):
    """One sign each; ``escape`` and ``subcomponent`` are empty where the message names none."""

    field: str = "|"
    component: str = "^"
    repetition: str = "~"
    escape: str = "\\"
    subcomponent: str = "&"

    def first(self, value: str) -> str:
        """The first repetition, still escaped."""
        return value.split(self.repetition, 1)[0]

    def parts(self, value: str) -> list[str]:
        """The components of the first repetition as text."""
        return [self.text(part) for part in self.first(value).split(self.component)]

    def part(self, value: str, number: int) -> str:
        """Component ``number`` (from 1) of the first repetition as text; empty where there is none."""
        if not value:
            return ""
        parts = self.first(value).split(self.component)
        return self.text(parts[number - 1]) if number <= len(parts) else ""

    def subparts(self, value: str) -> list[str]:
        """The subcomponents of a component that is still escaped."""
        pieces = value.split(self.subcomponent) if self.subcomponent else [value]
        return [self.text(piece) for piece in pieces]

    def text(self, value: str) -> str:
        """A value as people read it: escapes undone, ``""`` as nothing, no space around it.

        A line break becomes ``; ``. What is no known escape stays as it is written.
        """
        if self.escape and self.escape in value:
            value = unescape(value, self)
        value = value.strip()
        return "" if value == NULL else value


@lru_cache(maxsize=256)
def read_delimiters(header: str) -> Delimiters | None:
    """The separators from the first nine or so signs of an MSH, BHS or FHS segment; none where there are none.

    Signs that the header leaves out have their usual value. Letters, digits and spaces separate nothing.
    """
    field = header[3:4]
    if not field or field.isalnum() or field.isspace():
        return None
    signs = header[4:].split(field, 1)[0][:4]
    if len(signs) == 3 and signs[2] == "&":  # a sender that escapes nothing leaves the escape sign out
        signs = f"{signs[:2]}\0&"
    usual = "^~\\&"
    chosen = (signs + usual[len(signs) :])[:4]
    if any(sign.isalnum() or sign.isspace() for sign in chosen) or field in chosen:
        return None
    component, repetition, escape, subcomponent = ("" if sign == "\0" else sign for sign in chosen)
    return Delimiters(field, component, repetition, escape, subcomponent)


@lru_cache(maxsize=64)
def _escapes(sign: str) -> re.Pattern[str]:
    quoted = re.escape(sign)
    return re.compile(f"{quoted}([^{quoted}]{{1,200}}){quoted}")


def unescape(value: str, signs: Delimiters) -> str:
    r"""Undoes ``\F\ \S\ \T\ \R\ \E\``, ``\Xdd..\``, line breaks and highlighting; leaves what is no escape alone."""

    def plain(found: re.Match[str]) -> str:
        inside = found.group(1)
        if inside in _WORDLESS:
            return _sign_of(inside, signs)
        if _HEX.fullmatch(inside):
            return _decode(bytes.fromhex(inside[1:]))
        if _SPACES.fullmatch(inside):
            return "; " if inside.startswith((".br", ".sp", ".ce", ".sk")) else " "
        return "" if _LETTERS.fullmatch(inside) and inside[0] in "CM" else found.group(0)

    return _escapes(signs.escape).sub(plain, value)


def _sign_of(letter: str, signs: Delimiters) -> str:
    return {
        "F": signs.field,
        "S": signs.component,
        "T": signs.subcomponent,
        "R": signs.repetition,
        "E": signs.escape,
        "P": "#",  # the truncation sign, from 2.7 on
    }.get(letter, "")


def _decode(raw: bytes) -> str:
    try:
        return raw.decode("utf-8")
    except UnicodeDecodeError:
        return raw.decode("cp1252", errors="replace")
