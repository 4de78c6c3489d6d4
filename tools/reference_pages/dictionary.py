"""The data dictionary: tables with their columns, and the dataclasses that give each column its meaning."""

from __future__ import annotations

import dataclasses
from enum import StrEnum
from typing import get_type_hints

from cubital.domain import answer, charter, cultures, reconciliation, tables
from reference_pages.markdown import Page, choices, paragraphs, table

MEANINGS = {"sets": cultures.CultureSet, "bottles": cultures.Bottle, "isolates": cultures.Isolate}
ENUMERATIONS: tuple[type[StrEnum], ...] = (
    cultures.TimeQuality, cultures.Attribution, cultures.Method, cultures.SetStatus, cultures.BottleKind,
    cultures.Match, cultures.AgeGroup, charter.SetClass, charter.Reason, answer.Verdict,
)  # fmt: skip
OBJECTS = (reconciliation.Reconciliation, reconciliation.Tally, answer.Answer, answer.Figure, answer.AnswerTable,
           answer.Receipt)  # fmt: skip


def _words(kind: object) -> str:
    name = getattr(kind, "__name__", None)
    text = name if isinstance(kind, type) and name else str(kind)
    return text.replace("typing.", "").replace("collections.abc.", "").replace("cubital.domain.", "")


def fields_table(thing: type) -> list[str]:
    """The fields of a dataclass with their types."""
    kinds = get_type_hints(thing)
    return table(("Field", "Type"), [(f"`{f.name}`", f"`{_words(kinds[f.name])}`") for f in dataclasses.fields(thing)])


def _table_section(name: str, columns: dict[str, str]) -> list[str]:
    lines = [f"## Table `{name}`", ""]
    if name in MEANINGS:
        lines += paragraphs(MEANINGS[name])
        kinds = get_type_hints(MEANINGS[name])
        rows = [(f"`{column}`", kind, f"`{_words(kinds[column])}`") for column, kind in columns.items()]
        return lines + table(("Column", "Stored as", "Type in Python"), rows)
    return lines + table(("Column", "Stored as"), [(f"`{column}`", kind) for column, kind in columns.items()])


def build_page() -> Page:
    """The page ``data-dictionary.md``."""
    lines = paragraphs(tables)
    for name, columns in {
        **tables.CULTURE_TABLES,
        "set_isolates": tables.SET_ISOLATES,
        "movements": tables.MOVEMENTS,
    }.items():
        lines += _table_section(name, columns)
    lines += ["## Words in the columns", ""]
    for kind in ENUMERATIONS:
        lines += [f"### {kind.__name__}", "", *paragraphs(kind), *choices(kind)]
    lines += ["## Objects that are handed out", ""]
    for thing in OBJECTS:
        lines += [f"### {thing.__name__}", "", *paragraphs(thing), *fields_table(thing)]
    return Page(name="data-dictionary.md", title="Data dictionary", body="\n".join(lines))
