"""What a file was read as, in words for the page on which a person says whether it is used."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from cubital.domain.errors import Question
from cubital.domain.reconciliation import Reconciliation
from cubital.domain.words import _, grouped_words, month_words
from cubital.intake.columns import Column, role_words
from cubital.intake.dates import DateOrder
from cubital.intake.doubtful_names import DoubtfulName
from cubital.intake.inspection import Grain, Inspection
from cubital.intake.organism_proposals import Proposal
from cubital.intake.roles import MESSAGE_ROLES, Role
from cubital.reference.organisms import organisms
from cubital.store.merging import FileMonth
from cubital.workspace.taking import Preview


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
class MonthWords:
    """One month: its sets in the file and those stored of the hospital before."""

    month: str
    arriving: int
    stored: int


@dataclass(frozen=True, kw_only=True)
class NameWords:
    """One name that was not simply known, and what a person may say it means."""

    text: str
    count: int
    read_as: str
    leave: str
    choices: tuple[tuple[str, str], ...]
    crosses: bool


@dataclass(frozen=True, kw_only=True)
class Look:
    """Everything the page says about a file before it is used. The columns of ``messages`` cannot be chosen."""

    rows: int
    messages: bool
    layout: str
    notes: tuple[str, ...]
    questions: tuple[Question, ...]
    columns: tuple[ColumnWords, ...]
    roles: tuple[tuple[str, str], ...]
    dates: tuple[DateWords, ...]
    damage: tuple[DamageWords, ...]
    sample: tuple[tuple[str, ...], ...]
    account: Reconciliation | None
    change: str
    months: tuple[MonthWords, ...]
    names: tuple[NameWords, ...]


def look_words(preview: Preview) -> Look:
    """A preview in words."""
    inspection = preview.inspection
    return Look(
        rows=inspection.rows,
        messages=inspection.grain is Grain.MESSAGE,
        layout=layout_words(inspection),
        notes=inspection.notes,
        questions=preview.questions,
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
        account=preview.reconciliation,
        change=change_words(preview),
        months=tuple(month_row(one) for one in preview.months),
        names=tuple(name_words(one) for one in preview.names),
    )


def change_words(preview: Preview) -> str:
    """What using the file would change in what is stored."""
    if preview.already_taken is not None:
        return _("This very file was taken in before, as batch {number}.").format(number=preview.already_taken)
    if preview.plan is None:
        return ""
    words = _(
        "Using it would add {added} sets, correct {changed} and leave {unchanged} as they are, cancelled and rejected "
        "specimens included."
    )
    plan = preview.plan
    return words.format(
        added=grouped_words(plan.added), changed=grouped_words(plan.changed), unchanged=grouped_words(plan.unchanged)
    )


def month_row(one: FileMonth) -> MonthWords:
    """One month of the file beside what is stored."""
    name = month_words(one.month, with_year=True) if "-" in one.month else _("without a date")
    return MonthWords(month=name, arriving=one.arriving, stored=one.stored)


def name_words(one: DoubtfulName) -> NameWords:
    """One doubtful name with its choices; a choice of another genus says so."""
    known = organisms().get(one.organism_key)
    read_as = known.name if known else _("not read")
    leave = _("as it was read") if known else _("leave it unread, on the list of doubts")
    return NameWords(
        text=one.text,
        count=one.rows,
        read_as=read_as,
        leave=leave,
        choices=tuple(
            (f"{'cross' if other.crosses_genus else 'same'}:{other.key}", _proposal_words(other))
            for other in one.proposals
            if other.key != one.organism_key
        ),
        crosses=any(other.crosses_genus for other in one.proposals),
    )


def _proposal_words(proposal: Proposal) -> str:
    words = _("{name}, alike {score} of 100").format(name=proposal.name, score=round(proposal.score))
    return _("{words}, another genus").format(words=words) if proposal.crosses_genus else words


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
        ((role.value, role_words(role)) for role in Role if role is not Role.OTHER and role not in MESSAGE_ROLES),
        key=lambda pair: pair[1],
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
