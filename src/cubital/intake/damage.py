"""What spreadsheets do to a laboratory's file on the way, named row by row."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from cubital.engine import Session, load_sql
from cubital.engine.session import quote_name
from cubital.intake.parsing import FieldMap
from cubital.intake.reasons import doubt_words
from cubital.intake.roles import Role
from cubital.intake.staging import StagedSheet

# A handful of short numbers among longer ones that start with zeros: those lost theirs.
SHOWN_ROWS = 5
_TIMES = frozenset({Role.BIRTH, Role.COLLECTED, Role.COLLECTED_DATE, Role.RECEIVED, Role.RECEIVED_DATE})
_FRACTIONS = frozenset({Role.QUANTITY.value, Role.RESULT.value, Role.ORGANISM.value})


@dataclass(frozen=True, kw_only=True)
class Damage:
    """One kind of damage in one column: how many rows, and the first of them as a spreadsheet numbers them."""

    reason: str
    words: str
    column: str
    count: int
    first_rows: tuple[int, ...]


def find_damage(session: Session, fields: FieldMap, sheets: Sequence[StagedSheet]) -> list[Damage]:
    """Every kind of damage with its rows; also creates ``damaged(line, reason, detail)``, detail being the column."""
    session.do("create or replace temp table damaged (line bigint, reason varchar, detail varchar)")
    for name, label in fields.names.items():
        _find_in_column(session, name, label)
    found = session.rows(
        "select reason, detail, count(*), list(line order by line)[1:$shown] from damaged group by all order by 3 desc, 1, 2",
        {"shown": SHOWN_ROWS},
    )
    offset = sheets[0].offset
    return [
        Damage(
            reason=reason,
            words=doubt_words(reason),
            column=column,
            count=count,
            first_rows=tuple(line + offset for line in lines),
        )
        for reason, column, count, lines in found
    ]


def _find_in_column(session: Session, name: str, label: str) -> None:
    text = f"{quote_name(name)}::varchar"
    insert = f"insert into damaged select rowid, $reason, $label from staged where {text} is not null and "
    tests = {
        "formula": f"starts_with({text}, '=')",
        "error_cell": f"starts_with({text}, '#') and regexp_full_match({text}, '#(REF!|N/A|VALUE!|NAME\\?|DIV/0!|NUM!|NULL!)')",
    }
    if name in (Role.ACCESSION.value, Role.PATIENT.value):
        prefix = name
        tests[f"{prefix}_shortened"] = f"is_shortened({text})"
    if name in _FRACTIONS or name.startswith("organism_"):
        tests["text_turned_into_date"] = f"length({text}) between 5 and 11 and is_turned_date({text})"
    for reason, test in tests.items():
        session.do(insert + test, {"reason": reason, "label": label})
    if name in (Role.ACCESSION.value, Role.PATIENT.value):
        lost = "leading_zeros_lost" if name == Role.ACCESSION.value else "patient_zeros_lost"
        sql = load_sql("cubital.intake", "lost_zeros").replace("number_column", quote_name(name))
        session.do(sql, {"reason": lost, "label": label})
