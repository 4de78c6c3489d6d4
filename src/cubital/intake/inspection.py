"""What Cubital understands of a file before it takes anything in: for the page that shows it to a person."""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from pathlib import Path

from cubital.domain.errors import Question
from cubital.domain.places import SourceMemory
from cubital.domain.words import _
from cubital.engine import Session, open_session
from cubital.intake.columns import Column
from cubital.intake.damage import Damage, find_damage
from cubital.intake.parsing import FieldMap
from cubital.intake.reading import Prepared, prepare_file
from cubital.intake.roles import Role


class Grain(StrEnum):
    """What one row of the file is."""

    BOTTLE = "bottle"
    SET = "set"
    ISOLATE = "isolate"
    ISOLATE_ANTIBIOTIC = "isolate_antibiotic"
    STATUS = "status"
    MESSAGE = "message"


@dataclass(frozen=True, kw_only=True)
class DateReading:
    """How one column's dates are read: ``order`` is fixed, day-first, month-first or open; ``why`` what settled it."""

    column: str
    order: str
    why: str


@dataclass(frozen=True, kw_only=True)
class Inspection:
    """Everything recognised in a file, nothing taken.

    ``header_row`` is the row number as a spreadsheet shows it, 0 where there is none; ``rows`` the data rows of the
    sheets read. ``questions`` must be settled before the file can be taken; ``proposed`` are recognitions below full
    confidence, taken when accepted.
    """

    name: str
    kind: str
    encoding: str
    delimiter: str
    sheets: tuple[str, ...]
    header_row: int
    rows: int
    columns: tuple[Column, ...]
    grain: Grain
    grain_words: str
    dates: tuple[DateReading, ...]
    questions: tuple[Question, ...]
    proposed: tuple[Question, ...]
    damage: tuple[Damage, ...]
    notes: tuple[str, ...]
    sample: tuple[tuple[str, ...], ...]


def inspect_file(path: Path, *, memory: SourceMemory) -> Inspection:
    """Inspects a culture file of any kind that ``read_cultures`` can read.

    Raises ``FileProblem`` where the file cannot be used at all. Questions are returned, never raised.
    """
    with open_session() as session:
        prepared = prepare_file(session, path, memory=memory, accept=True)
        return _describe(session, prepared)


def _describe(session: Session, prepared: Prepared) -> Inspection:
    file, main = prepared.file, prepared.file.main
    (rows,) = session.one("select count(*) from staged")
    grain = Grain.MESSAGE if file.roles else recognise_grain(session, prepared.fields)
    return Inspection(
        name=file.name,
        kind=file.kind.value,
        encoding=file.encoding,
        delimiter="" if main.numbered else main.delimiter_words,
        sheets=tuple(sheet.name for sheet in file.sheets if sheet.name),
        header_row=main.header_row,
        rows=rows,
        columns=prepared.recognition.columns,
        grain=grain,
        grain_words=grain_words(grain),
        dates=tuple(
            DateReading(column=plan.label, order=plan.order.value, why=plan.why)
            for plan in prepared.moments.plans.values()
        ),
        questions=prepared.questions,
        proposed=prepared.recognition.proposed,
        damage=tuple(find_damage(session, prepared.fields, prepared.sheets)),
        notes=prepared.notes,
        sample=_private_sample(main.sample, prepared),
    )


def _private_sample(sample: Sequence[Sequence[str]], prepared: Prepared) -> tuple[tuple[str, ...], ...]:
    """The first rows with patient columns blacked out: the page may be seen by passers-by."""
    hidden = {c.index for c in prepared.recognition.columns if c.role in (Role.PATIENT, Role.BIRTH, Role.COMMENTS)}
    known = {c.index for c in prepared.recognition.columns if c.role is not Role.OTHER} - hidden
    rows = itertools.islice(sample, 8)
    return tuple(tuple(cell if i in known else ("•••" if cell else "") for i, cell in enumerate(row)) for row in rows)


def recognise_grain(session: Session, fields: FieldMap) -> Grain:
    """What one row is, from the columns there are and from how often an accession number comes."""
    if fields.has(Role.ANTIBIOTIC):
        return Grain.ISOLATE_ANTIBIOTIC
    if fields.has(Role.BOTTLE):
        return Grain.BOTTLE
    if not fields.has(Role.ACCESSION):
        return Grain.SET
    (several,) = session.one(
        "select count(*) from (select accession from staged where unkept is null and accession is not null"
        " group by accession having count(*) > 1)"
    )
    if not several:
        return Grain.SET
    if fields.has(Role.STATUS):
        (mixed,) = session.one(
            "select count(*) from (select accession from staged where unkept is null group by accession"
            ' having count(distinct "status") > 1)'
        )
        if mixed >= 0.5 * several:
            return Grain.STATUS
    return Grain.ISOLATE


def grain_words(grain: Grain) -> str:
    """The grain as a person says it."""
    return {
        Grain.BOTTLE: _("one row per bottle"),
        Grain.SET: _("one row per set"),
        Grain.ISOLATE: _("one row per organism"),
        Grain.ISOLATE_ANTIBIOTIC: _("one row per organism and antibiotic"),
        Grain.MESSAGE: _("one row per result in a message, numbered as the messages are"),
        Grain.STATUS: _("one row per state of a result (preliminary, final, corrected)"),
    }[grain]
