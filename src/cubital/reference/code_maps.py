"""A laboratory's own codes for organisms: the codes are theirs, none are shipped."""

from __future__ import annotations

import csv
from collections.abc import Iterable, Mapping
from types import MappingProxyType

from cubital.domain.errors import FileProblem
from cubital.reference.organisms import organisms
from cubital.reference.spellings import laboratory_spellings, scientific_names

_FIX = "Give one code and one organism per line under the headings code and organism."


def read_code_map(lines: Iterable[str], *, where: str = "code map") -> Mapping[str, str]:
    """Codes to organism keys, from the lines of a comma-separated file with the columns ``code`` and ``organism``.

    ``organism`` is a key (``escherichia-coli``), a scientific name, old or new, or a known abbreviation (``CNS``).
    Codes are text: leading zeros and capitals stay. Every line that cannot be used is named in one ``FileProblem``;
    a code given twice with the same organism is no problem.
    """
    reader = csv.DictReader(lines)
    heads = {(name or "").strip().lower(): name for name in reader.fieldnames or ()}
    if not {"code", "organism"} <= heads.keys():
        raise FileProblem("the columns 'code' and 'organism' are not both there.", where=where, fix=_FIX)
    found: dict[str, str] = {}
    problems: list[str] = []
    for row in reader:
        code = (row[heads["code"]] or "").strip()
        key = find_organism(row[heads["organism"]] or "")
        problem = _problem(code, key, found)
        if problem:
            problems.append(f"line {reader.line_num} {problem}")
        else:
            found[code] = key
    if problems:
        raise FileProblem(f"{'; '.join(problems)}.", where=where, fix=_FIX)
    return MappingProxyType(found)


def find_organism(text: str) -> str:
    """The key of a key, scientific name or known abbreviation; empty when it is none of them. Nothing is guessed."""
    tidy = " ".join(text.lower().split())
    if tidy in organisms():
        return tidy
    return scientific_names().get(tidy) or laboratory_spellings().get(tidy, "")


def _problem(code: str, key: str, found: Mapping[str, str]) -> str:
    if not code:
        return "has no code"
    if not key:
        return "names no organism of the tables"
    return "gives a code a second organism" if found.get(code, key) != key else ""
