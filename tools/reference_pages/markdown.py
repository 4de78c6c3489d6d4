"""A page of Markdown, tables, and docstrings as paragraphs."""

from __future__ import annotations

import inspect
import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from enum import Enum, StrEnum

MEMBER = re.compile(r'^\s+(?P<name>[A-Z0-9_]+)\s*=\s*"[^"]*"\s*(?:#\s*(?P<words>.*))?$', re.MULTILINE)


@dataclass(frozen=True)
class Page:
    """One generated page; ``body`` comes after the title."""

    name: str
    title: str
    body: str

    def text(self) -> str:
        """The whole page as it is written."""
        return f"# {self.title}\n\n<!-- Made by tools/make_reference.py. Do not edit. -->\n\n{self.body.strip()}\n"


def table(header: Sequence[str], rows: Iterable[Sequence[object]]) -> list[str]:
    """A table as lines; bars inside cells are escaped, line breaks become spaces."""
    lines = [f"| {' | '.join(header)} |", f"|{'---|' * len(header)}"]
    return [*lines, *(f"| {' | '.join(_cell(cell) for cell in row)} |" for row in rows), ""]


def _cell(value: object) -> str:
    return " ".join(str(value).split()).replace("|", "\\|")


def paragraphs(thing: object) -> list[str]:
    """The docstring of something as lines, its double backticks as single ones; empty where it has none."""
    own = vars(thing).get("__doc__") if isinstance(thing, type) else getattr(thing, "__doc__", None)
    text = inspect.cleandoc(own) if own else ""
    return [*text.replace("``", "`").splitlines(), ""] if text else []


def first_sentence(thing: object) -> str:
    """The first line of a docstring; the words of an enumeration that has none."""
    if isinstance(thing, type) and issubclass(thing, Enum) and not paragraphs(thing):
        return "One of " + ", ".join(f"`{member.value}`" for member in thing)
    return next(iter(paragraphs(thing)), "")


def choices(kind: type[StrEnum]) -> list[str]:
    """The words of an enumeration with the remark that stands beside each in the code."""
    remarks = {match["name"]: match["words"] or "" for match in MEMBER.finditer(inspect.getsource(kind))}
    return [f"- `{member.value}`{_remark(remarks.get(member.name, ''))}" for member in kind] + [""]


def _remark(words: str) -> str:
    plain = words.partition("# noqa")[0].strip()
    return f": {plain}" if plain and not plain.startswith("noqa") else ""
