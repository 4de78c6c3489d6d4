"""The way of a culture file: open, recognise, stage, read, group into sets, account for every row."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace
from pathlib import Path

from cubital.domain.errors import FileProblem, Question, QuestionsOpen, WardMovements
from cubital.domain.places import Facility, SourceMemory
from cubital.domain.reconciliation import Reconciliation
from cubital.domain.words import _
from cubital.engine import Session, load_sql
from cubital.intake.accession_meaning import AccessionNames, study_accessions
from cubital.intake.building import ROWS_AT_ONCE, BuildPlan, build_tables
from cubital.intake.clocks import find_zone
from cubital.intake.codes import add_codes
from cubital.intake.columns import Recognition, fix_columns, recognise_columns
from cubital.intake.dates import DatePlan, settle_order, study_dates
from cubital.intake.doubts import find_doubts
from cubital.intake.headers import tidy_header
from cubital.intake.message_marks import mark_messages
from cubital.intake.opening import OpenedFile, open_file
from cubital.intake.parsing import (
    FieldMap,
    MomentPlans,
    create_parsed,
    map_fields,
    moment_sources,
    plan_moments,
    study_moments,
    typed_columns,
)
from cubital.intake.patient_keys import add_patient_keys
from cubital.intake.reconciling import reconcile
from cubital.intake.roles import Role, roles_of_header
from cubital.intake.source_files import file_fingerprint
from cubital.intake.staging import (
    StagedSheet,
    check_quotes,
    number_around_blank_lines,
    stage_sheets,
    untyped_columns,
)
from cubital.intake.stated_hours import stated_instants

Progress = Callable[[str, float], None]


@dataclass(frozen=True, kw_only=True)
class Intake:
    """What came of one file: the account, what to remember of its source, its SHA-256, and sentences to show."""

    reconciliation: Reconciliation
    memory: SourceMemory
    fingerprint: str
    notes: tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class Prepared:
    """A file staged and understood, before anything is built from it; ``questions`` must be settled first."""

    file: OpenedFile
    recognition: Recognition
    fields: FieldMap
    sheets: tuple[StagedSheet, ...]
    moments: MomentPlans
    accession_names: AccessionNames
    questions: tuple[Question, ...]
    notes: tuple[str, ...]


def prepare_file(
    session: Session,
    path: Path,
    *,
    memory: SourceMemory,
    accept: bool,
    needed: Sequence[Role] = (Role.ACCESSION, Role.RESULT),
    unwanted: Sequence[Role] = (Role.FROM, Role.TO),
) -> Prepared:
    """Opens, recognises and stages a file, and settles how its dates are written.

    Everything that only a person can settle comes back in ``questions``, all at once; with ``accept`` what is
    proposed without rival is taken.
    """
    file = open_file(path, session.scratch, memory=memory)
    _refuse_messages(file, needed)
    recognition = recognise_columns(
        file.main.headers, file.main.sample, memory=_with_roles(memory, file), needed=needed, unwanted=unwanted
    )
    if file.roles:
        recognition = fix_columns(recognition)
    _refuse_unknown_table(file, recognition, needed)
    fields = map_fields(recognition)
    session.do(load_sql("cubital.intake", "macros"))
    sheets, fields = _stage(session, file, fields)
    rows = sheets[-1].last_line + 1
    check_quotes(file.main, lines=file.lines - file.main.header_row, rows=rows, file_name=file.name)
    if len(sheets) == 1:
        sheets = number_around_blank_lines(file.main, lines=file.lines - file.main.header_row, rows=rows)
    mark_messages(session, fields)
    plans, asked = _settle_dates(session, fields, sheets, file=file, memory=memory, accept=accept)
    meaning = study_accessions(
        session, fields, _sample_by_role(file, recognition), answers=memory.answers, accept=accept
    )
    questions = [
        *file.questions,
        *recognition.questions,
        *asked,
        *meaning.questions,
        *([] if accept else recognition.proposed),
    ]
    return Prepared(
        file=file,
        recognition=recognition,
        fields=fields,
        sheets=sheets,
        moments=plan_moments(fields, plans),
        accession_names=meaning.names,
        questions=tuple(questions),
        notes=(*file.notes, *_order_notes(plans), *meaning.notes),
    )


def read_cultures(
    session: Session,
    path: Path,
    *,
    facility: Facility,
    secret: bytes,
    memory: SourceMemory,
    accept: bool,
    progress: Progress,
    rows_at_once: int = ROWS_AT_ONCE,
) -> Intake:
    """Reads one laboratory file into ``new_sets``, ``new_bottles``, ``new_isolates``, ``row_fates`` and ``row_doubts``.

    Parameters
    ----------
    session : the file itself need not be inside its folders, a copy is read.
    secret : the workspace's key for patient numbers, at least 16 bytes.
    accept : take what is proposed without rival instead of asking.
    progress : called with a sentence and the share done (0 to 1).
    rows_at_once : how many rows of the file are grouped at a time; says how much memory is used, changes nothing else.

    Returns
    -------
    Intake
        Its reconciliation obeys ``rows == sets + losses``; ``row_fates`` has one line for every data row.

    Raises
    ------
    FileProblem
        The file cannot be used; nothing was stored.
    QuestionsOpen
        Something only the person can settle; all questions at once.
    RequestProblem
        The facility's time zone is not known.
    """
    zone = find_zone(facility.timezone)
    progress(_("Reading the file"), 0.0)
    with ThreadPoolExecutor(max_workers=1) as beside:
        fingerprint = beside.submit(file_fingerprint, path) if path.is_file() else None
        prepared = prepare_file(session, path, memory=memory, accept=accept)
    if prepared.questions:
        raise QuestionsOpen(prepared.questions, where=prepared.file.name)
    progress(_("Keying patients and reading results"), 0.4)
    create_parsed(
        session, prepared.fields, prepared.moments, zone=facility.timezone, accession=prepared.accession_names.value
    )
    add_patient_keys(session, secret=secret, facility=facility.name)
    add_codes(session, confirmed=memory.organisms)
    progress(_("Grouping rows into sets"), 0.5)
    plan = BuildPlan(
        facility=facility.name,
        zone=zone,
        sheets=prepared.sheets,
        left_out=prepared.file.left_out,
        several_lines=prepared.fields.result_columns > 1,
        has_patients=prepared.fields.has(Role.PATIENT),
        has_results=not prepared.fields.organisms,
        stated=stated_instants(prepared.moments),
        by_bottle=prepared.fields.has(Role.REFERENCE),
        rows_at_once=rows_at_once,
    )
    build_tables(session, plan, progress=lambda done: progress(_("Grouping rows into sets"), 0.5 + 0.35 * done))
    progress(_("Naming what is doubtful"), 0.85)
    find_doubts(session, prepared.fields, prepared.moments, sheets=prepared.sheets, marked=prepared.file.marked)
    progress(_("Accounting for every row"), 0.95)
    intake = Intake(
        reconciliation=reconcile(session),
        memory=memory if prepared.file.roles else lessons(prepared.recognition, memory),
        fingerprint=fingerprint.result() if fingerprint else "",
        notes=prepared.notes,
    )
    progress(_("Done"), 1.0)
    return intake


def _with_roles(memory: SourceMemory, file: OpenedFile) -> SourceMemory:
    """What the kind of file fixes stands above everything learnt from tables."""
    return SourceMemory(columns=file.roles, organisms=memory.organisms) if file.roles else memory


def _refuse_messages(file: OpenedFile, needed: Sequence[Role]) -> None:
    if file.roles and Role.RESULT not in needed:
        raise FileProblem(
            _("these are messages with results, not a table of ward movements."),
            where=file.name,
            fix=_("Take them as cultures, or export the movements as CSV or XLSX."),
        )


def _refuse_unknown_table(file: OpenedFile, recognition: Recognition, needed: Sequence[Role]) -> None:
    asked = {question.key for question in recognition.questions}
    if all(f"column.{role.value}" in asked for role in needed) and not recognition.column(Role.COLLECTED):
        if Role.RESULT in needed and _spells_movements(file.main.headers):
            raise WardMovements(
                _("these are ward movements of patients (patient, unit, from, to), not cultures."),
                where=file.name,
                fix=_("Take them with the command movements, or as ward movements on the page Files."),
            )
        raise FileProblem(
            _("none of its columns is one Cubital looks for. It has: {headers}.").format(
                headers=", ".join(header for header in file.main.headers if header.strip())[:300]
            ),
            where=file.name,
            fix=_("Is it the right file, and does its first row name the columns (Accession, Collected, Result …)?"),
        )


def _spells_movements(headers: Sequence[str]) -> bool:
    """The headers name a patient, a unit and the time from which the patient was there."""
    return {Role.PATIENT, Role.UNIT, Role.FROM} <= {role for header in headers for role in roles_of_header(header)}


def _sample_by_role(file: OpenedFile, recognition: Recognition) -> list[dict[str, str]]:
    places = {column.role.value: column.index for column in recognition.columns}
    return [{role: row[i] if i < len(row) else "" for role, i in places.items()} for row in file.main.sample]


def _stage(session: Session, file: OpenedFile, fields: FieldMap) -> tuple[tuple[StagedSheet, ...], FieldMap]:
    """Stages ISO times as times at once; where the rest of a column proves otherwise, once more as text."""
    typed = typed_columns(fields, file.main) if len(file.sheets) == 1 else frozenset()
    sheets = stage_sheets(session, file.sheets, fields.names, file_name=file.name, typed=typed, marked=file.marked)
    if wrong := untyped_columns(session, typed):
        typed -= wrong
        sheets = stage_sheets(session, file.sheets, fields.names, file_name=file.name, typed=typed, marked=file.marked)
    return sheets, replace(fields, typed=typed)


def _settle_dates(
    session: Session,
    fields: FieldMap,
    sheets: Sequence[StagedSheet],
    *,
    file: OpenedFile,
    memory: SourceMemory,
    accept: bool,
) -> tuple[dict[str, DatePlan], list[Question]]:
    wanted = study_moments(moment_sources(fields))
    studied = [
        DatePlan(label=label, source=text, iso=True, typed=True)
        if text.strip('"') in fields.typed
        else study_dates(session, source=text, label=label, file_name=file.name, offset=sheets[0].offset)
        for _name, text, label in wanted
    ]
    settled, questions = settle_order(studied, answers=memory.answers, accept=accept)
    return {name: plan for (name, _text, _label), plan in zip(wanted, settled, strict=True)}, questions


def _order_notes(plans: dict[str, DatePlan]) -> list[str]:
    order_words = {"day-first": _("day first"), "month-first": _("month first")}
    return [
        _("Column '{column}' is read {order}: {why}.").format(
            column=plan.label, order=order_words[plan.order.value], why=plan.why
        )
        for plan in plans.values()
        if plan.order.value in order_words
    ]


def lessons(recognition: Recognition, memory: SourceMemory) -> SourceMemory:
    """What the next file of this source need not ask: the headers' roles, the answers, the confirmed organisms."""
    learnt = {tidy_header(column.label): column.role.value for column in recognition.columns}
    return SourceMemory(
        columns={**memory.columns, **learnt}, answers=dict(memory.answers), organisms=dict(memory.organisms)
    )
