"""What was kept but is doubtful, row by row."""

from __future__ import annotations

from collections.abc import Sequence

from cubital.engine import Session, load_sql
from cubital.engine.session import quote_text
from cubital.intake.damage import find_damage
from cubital.intake.parsing import FieldMap, MomentPlans
from cubital.intake.roles import Role
from cubital.intake.staging import StagedSheet

_TWO_DIGIT_YEAR = r"^\s*\d{1,2}[-/. ](\d{1,2}|\p{L}{3,})[-/. ]\d{2}(\D|$)"
_PACKAGE = "cubital.intake"


def find_doubts(
    session: Session,
    fields: FieldMap,
    moments: MomentPlans,
    *,
    sheets: Sequence[StagedSheet],
    marked: bool = True,
) -> None:
    """Creates ``row_doubts(row, sheet, reason, detail)`` from the ``doubts`` of ``building.build_tables`` and what the
    cells themselves show.

    ``detail`` carries the column for damage and the organism's text for names read with doubt, never a patient's value.
    """
    find_damage(session, fields, sheets, marked=marked)
    session.do("insert into doubts select line, reason, detail from damaged where reason <> 'accession_shortened'")
    _doubt_words(session, fields)
    _doubt_times(session, moments)
    _number_doubts(session, sheets)


def _doubt_words(session: Session, fields: FieldMap) -> None:
    """Statuses and bottles whose word is not known."""
    if fields.has(Role.STATUS):
        _insert(
            session, "status_unread", "parsed_rows p join look_statuses z on z.text = p.status", "z.standing is null"
        )
    if fields.has(Role.BOTTLE):
        _insert(session, "bottle_unknown", "parsed_rows p join look_bottles b on b.text = p.bottle", "not b.known")
    if fields.has(Role.OTHERWISE):
        other = fields.text(Role.OTHERWISE)
        _insert(
            session,
            "code_differs",
            "(select rowid as line, * from staged where unkept is null)",
            f"{other} is not null",
            other,
        )


def _doubt_times(session: Session, moments: MomentPlans) -> None:
    for plan in moments.plans.values():
        detail = quote_text(plan.label)
        if plan.two_digit_year:
            test = f"regexp_matches({plan.source}, {quote_text(_TWO_DIGIT_YEAR)})"
            _insert(
                session, "two_digit_year", "(select rowid as line, * from staged where unkept is null)", test, detail
            )
        if not plan.iso:
            unread = f"nullif(trim({plan.source}::varchar), '') is not null and ({plan.expression()}) is null"
            _insert(
                session, "time_unreadable", "(select rowid as line, * from staged where unkept is null)", unread, detail
            )


def _insert(session: Session, reason: str, source: str, test: str, detail: str = "''") -> None:
    session.do(f"insert into doubts select line, '{reason}', {detail} from {source} where {test}")


def _number_doubts(session: Session, sheets: Sequence[StagedSheet]) -> None:
    if len(sheets) == 1 and not sheets[0].numbered:
        values = {"shift": -sheets[0].offset, "sheet": sheets[0].name}
        session.do(load_sql(_PACKAGE, "number_doubts"), values)
    else:
        session.do(load_sql(_PACKAGE, "number_sheet_doubts"))
