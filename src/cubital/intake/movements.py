"""Ward movements: which patient was in which unit from when to when. From them comes the *collecting* unit."""

from __future__ import annotations

from pathlib import Path

from cubital.domain.errors import QuestionsOpen
from cubital.domain.places import Facility, SourceMemory
from cubital.domain.reconciliation import Reconciliation, Tally
from cubital.engine import Session, load_sql
from cubital.intake.building import add_clock
from cubital.intake.clocks import find_zone
from cubital.intake.parsing import FieldMap, MomentPlans
from cubital.intake.patient_keys import add_patient_keys
from cubital.intake.reading import Intake, lessons, prepare_file
from cubital.intake.reasons import doubt_words, loss_words
from cubital.intake.roles import Role
from cubital.intake.source_files import file_fingerprint

_NEEDED = (Role.PATIENT, Role.UNIT, Role.FROM)
_UNWANTED = tuple(role for role in Role if role not in (*_NEEDED, Role.TO, Role.OTHER))


def read_movements(
    session: Session, path: Path, *, facility: Facility, secret: bytes, memory: SourceMemory, accept: bool
) -> Intake:
    """Reads one file of movements into ``new_movements`` (see ``domain.tables``) and ``movement_fates``.

    The account counts movements where a culture file counts sets: ``rows == movements + losses``. Rows without a unit
    (a discharge) or a time of arrival are losses; a missing time of leaving is a doubt. Patients get the same keys as
    in the culture files of the same facility. Session and errors as for ``read_cultures``.
    """
    zone = find_zone(facility.timezone)
    prepared = prepare_file(session, path, memory=memory, accept=accept, needed=_NEEDED, unwanted=_UNWANTED)
    if prepared.questions:
        raise QuestionsOpen(prepared.questions, where=prepared.file.name)
    _create_parsed(session, prepared.fields, prepared.moments, facility.timezone)
    add_patient_keys(session, secret=secret, facility=facility.name)
    days = session.rows(
        "select distinct day from (select cast(from_local as date) as day from parsed union all"
        " select cast(to_local as date) from parsed) where day is not null order by 1"
    )
    add_clock(session, zone, [row[0] for row in days])
    offset = prepared.sheets[0].offset
    for statement in load_sql("cubital.intake", "new_movements").split(";\n"):
        used = {"facility": facility.name} if "$facility" in statement else {}
        session.do(statement, {**used, **({"offset": offset} if "$offset" in statement else {})})
    return Intake(
        reconciliation=_account(session),
        memory=lessons(prepared.recognition, memory),
        fingerprint=file_fingerprint(path),
        notes=prepared.notes,
    )


def _create_parsed(session: Session, fields: FieldMap, moments: MomentPlans, zone: str) -> None:
    session.do(
        "create or replace temp view parsed as"
        f" select rowid as line, sheet_row, {fields.text(Role.PATIENT)} as patient,"
        f" {fields.text(Role.UNIT)} as unit, {moments.time('from', zone)} as from_local,"
        f" {moments.time('to', zone)} as to_local, {fields.text(Role.TO)} is not null as left_written from staged"
    )


def _account(session: Session) -> Reconciliation:
    fates = session.rows("select fate, reason, count(*) from movement_fates group by all order by 3 desc, 2")
    (stays,) = session.one("select count(*) from new_movements where to_at is null")
    doubts = (Tally(reason="open_stay", count=stays, words=doubt_words("open_stay")),) if stays else ()
    return Reconciliation(
        rows=sum(row[2] for row in fates),
        sets=sum(row[2] for row in fates if row[0] == "movement"),
        losses=tuple(Tally(reason=r, count=n, words=loss_words(r)) for fate, r, n in fates if fate == "loss"),
        doubts=doubts,
    )
