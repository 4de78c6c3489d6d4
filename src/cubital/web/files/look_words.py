"""What a file was read as, in words for the page on which a person says whether it is used."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from cubital.domain.errors import Question
from cubital.domain.words import _
from cubital.intake.columns import Column, role_words
from cubital.intake.dates import DateOrder
from cubital.intake.inspection import Inspection
from cubital.intake.roles import Role


@dataclass(frozen=True, kw_only=True)
class ColumnWords:
    """One column: its header, what it was read as, how sure that is, and why."""

    label: str
    role: str
    words: str
    sure: str
    why: str
    used: bool


@dataclass(frozen=True, kw_only=True)
class DateWords:
    """How the dates of one column are read, and what settled it."""

    column: str
    order: str
    why: str


@dataclass(frozen=True, kw_only=True)
class DamageWords:
    """One kind of damage in one column, with the first rows that have it."""

    column: str
    words: str
    count: int
    rows: str


@dataclass(frozen=True, kw_only=True)
class Look:
    """Everything the page says about a file before it is used."""

    rows: int
    layout: str
    notes: tuple[str, ...]
    questions: tuple[Question, ...]
    columns: tuple[ColumnWords, ...]
    roles: tuple[tuple[str, str], ...]
    dates: tuple[DateWords, ...]
    damage: tuple[DamageWords, ...]
    sample: tuple[tuple[str, ...], ...]


def look_words(inspection: Inspection) -> Look:
    """An inspection in words."""
    return Look(
        rows=inspection.rows,
        layout=layout_words(inspection),
        notes=inspection.notes,
        questions=inspection.questions,
        columns=tuple(column_words(column) for column in inspection.columns),
        roles=tuple(role_choices()),
        dates=tuple(
            DateWords(column=date.column, order=order_words(date.order), why=date.why) for date in inspection.dates
        ),
        damage=tuple(
            DamageWords(
                column=damage.column, words=damage.words, count=damage.count, rows=rows_words(damage.first_rows)
            )
            for damage in inspection.damage
        ),
        sample=inspection.sample,
    )


def column_words(column: Column) -> ColumnWords:
    """A column in words."""
    used = column.role is not Role.OTHER
    return ColumnWords(
        label=column.label,
        role=column.role.value,
        words=role_words(column.role) if used else _("not read"),
        sure=sure_words(column.confidence) if used else "",
        why=column.why,
        used=used,
    )


def sure_words(confidence: float) -> str:
    """How sure a recognition is: certain, likely, or only a guess."""
    if confidence >= 0.9:
        return _("certain")
    return _("likely") if confidence >= 0.6 else _("a guess")


def role_choices() -> list[tuple[str, str]]:
    """Every role that a column can be given."""
    named = sorted(
        ((role.value, role_words(role)) for role in Role if role is not Role.OTHER), key=lambda pair: pair[1]
    )
    return [(Role.OTHER.value, _("not read")), *named]


def layout_words(inspection: Inspection) -> str:
    """The file's layout as one line: one row per bottle, separated by semicolons, UTF-8 …"""
    parts = [inspection.grain_words, inspection.delimiter, inspection.encoding]
    if inspection.sheets:
        parts.append(_("sheets {names}").format(names=", ".join(inspection.sheets)))
    if inspection.header_row > 1:
        parts.append(_("headings in row {row}").format(row=inspection.header_row))
    return " · ".join(part for part in parts if part)


def order_words(order: str) -> str:
    """The order of day and month as people say it."""
    return {
        DateOrder.FIXED.value: _("written in one way only"),
        DateOrder.DAY_FIRST.value: _("day first"),
        DateOrder.MONTH_FIRST.value: _("month first"),
        DateOrder.OPEN.value: _("open"),
    }[order]


def rows_words(rows: Sequence[int]) -> str:
    """Row numbers as a spreadsheet shows them: ``rows 4, 9, 12``."""
    return _("rows {rows}").format(rows=", ".join(str(row) for row in rows))
