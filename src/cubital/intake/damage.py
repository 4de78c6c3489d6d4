"""What spreadsheets do to a laboratory's file on the way, named row by row."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from cubital.engine import Session, load_sql
from cubital.engine.session import quote_name, quote_text
from cubital.intake.parsing import FieldMap
from cubital.intake.reasons import doubt_words
from cubital.intake.roles import Role
from cubital.intake.staging import StagedSheet

SHOWN_ROWS = 5
_ERRORS = r"#(REF!|N/A|VALUE!|NAME\?|DIV/0!|NUM!|NULL!)"
_NUMBERS = (Role.ACCESSION.value, Role.PATIENT.value)
_FRACTIONS = frozenset({Role.QUANTITY.value, Role.RESULT.value, Role.ORGANISM.value})


@dataclass(frozen=True, kw_only=True)
class Damage:
    """One kind of damage in one column: how many rows, and the first of them as a spreadsheet numbers them."""

    reason: str
    words: str
    column: str
    count: int
    first_rows: tuple[int, ...]


def find_damage(
    session: Session, fields: FieldMap, sheets: Sequence[StagedSheet], *, marked: bool = True
) -> list[Damage]:
    """Every kind of damage with its rows; also creates ``damaged(line, reason, detail)``, detail being the column."""
    session.do("create or replace temp table damaged (line bigint, reason varchar, detail varchar)")
    texts = [name for name in fields.names if name not in fields.typed]
    suspicious = _with_marks(session, texts) if marked and texts else set()
    for name in texts:
        if name in suspicious or _may_hold_fractions(name):
            _find_in_column(session, name, fields.names[name])
        if name in _NUMBERS:
            _find_in_numbers(session, name, fields.names[name])
    found = session.rows(
        "select reason, detail, count(*), list(line order by line)[1:$shown] from damaged"
        " group by all order by 3 desc, 1, 2",
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


def _with_marks(session: Session, names: Sequence[str]) -> set[str]:
    """The columns in which some cell begins with ``=`` or ``#``, found in one pass."""
    columns = [quote_name(name) for name in names]
    counts = session.one(
        "select "
        + ", ".join(
            f"count(*) filter (where ({c} >= '=' and {c} < '>') or ({c} >= '#' and {c} < '$'))" for c in columns
        )
        + " from staged"
    )
    return {name for name, count in zip(names, counts, strict=True) if count}


def _may_hold_fractions(name: str) -> bool:
    return name in _FRACTIONS or name.startswith("organism_")


def _find_in_column(session: Session, name: str, label: str) -> None:
    column = quote_name(name)
    tests = {
        "formula": f"starts_with({column}, '=')",
        "error_cell": f"starts_with({column}, '#') and regexp_full_match({column}, {quote_text(_ERRORS)})",
    }
    if _may_hold_fractions(name):
        tests["text_turned_into_date"] = f"length({column}) between 5 and 11 and is_turned_date({column})"
    cases = " ".join(f"when {test} then '{reason}'" for reason, test in tests.items())
    # Damage is rare: the distinct texts are searched first, the rows only where something was found.
    distinct = f"(select distinct {column} as text from staged)"
    found = f"select text, case {cases.replace(column, 'text')} end as reason from {distinct}"
    session.do(
        f"create or replace temp table damaged_texts as select text, reason from ({found}) where reason is not null"
    )
    if session.one("select count(*) from damaged_texts")[0]:
        session.do(
            "insert into damaged select s.rowid, d.reason, $label"
            f" from staged s join damaged_texts d on d.text = s.{column}",
            {"label": label},
        )


def _find_in_numbers(session: Session, name: str, label: str) -> None:
    """Numbers that a spreadsheet shortened, and those that lost their zeros; one pass each, for they all differ."""
    column = quote_name(name)
    session.do(
        "insert into damaged select rowid, $reason, $label from staged"
        f" where (contains({column}, 'E+') or contains({column}, 'e+')) and is_shortened({column})",
        {"reason": f"{name}_shortened", "label": label},
    )
    usual = _usual_length(session, column)
    if usual is not None:
        lost = "leading_zeros_lost" if name == Role.ACCESSION.value else "patient_zeros_lost"
        sql = load_sql("cubital.intake", "lost_zeros").replace("number_column", column)
        session.do(sql, {"reason": lost, "label": label, "usual": usual})


def _usual_length(session: Session, column: str) -> int | None:
    """The length most numbers have, where some of these start with a zero and other numbers are shorter."""
    lengths = session.rows(
        f"select length({column}), count(*), count(*) filter (where starts_with({column}, '0')), min(rowid) from staged"
        f" where {column} is not null group by 1 order by 2 desc, 4"
    )
    if not lengths or not lengths[0][2] or lengths[0][0] <= min(row[0] for row in lengths):
        return None
    return int(lengths[0][0])
