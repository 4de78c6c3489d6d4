"""Rows that are no specimens: blank ones, headers pasted in again, totals and remarks, rows cut wrongly."""

from __future__ import annotations

from cubital.engine import Session
from cubital.engine.session import quote_name, quote_text
from cubital.intake.parsing import FieldMap
from cubital.intake.roles import Role


def mark_unkept(session: Session, fields: FieldMap, *, marked: bool) -> None:
    """Fills ``staged.unkept`` with the reason for every row that cannot be a specimen, and unwraps ``="005001"``.

    ``marked`` is false when no cell of the file can begin with ``=`` or ``#``; the macros must be loaded.
    """
    names = list(fields.names)
    if marked:
        _unwrap_formulas(session, [name for name in names if name not in fields.typed])
    if Role.ACCESSION.value not in names:
        return
    others = [quote_name(name) for name in names if name != Role.ACCESSION.value] or ["null"]
    nothing = " and ".join(f"{other} is null" for other in others)
    again = " or ".join(
        f"{quote_name(name)} = {quote_text(fields.names[name])}"
        for name in names
        if name != Role.ACCESSION.value and name not in fields.typed
    )
    header = f"accession = {quote_text(fields.names[Role.ACCESSION.value])} and ({again or 'true'})"
    cases = (
        f"case when accession is null and {nothing} and not surplus then outside_code('blank_row')"
        f" when {header} then outside_code('header_again') when {nothing} then outside_code('note_row')"
        " when surplus then outside_code('too_many_cells')"
        " when starts_with(accession, '=') or starts_with(accession, '#') then outside_code('damaged_accession') end"
    )
    session.do(
        f"update staged set unkept = {cases} where ({nothing}) or surplus or ({header})"
        " or starts_with(accession, '=') or starts_with(accession, '#')"
    )


def _unwrap_formulas(session: Session, names: list[str]) -> None:
    """``="005001"`` is how exports keep leading zeros through a spreadsheet: the text inside is meant."""
    for name in names:
        column = quote_name(name)
        (wrapped,) = session.one(f"select count(*) from staged where starts_with({column}, '=\"')")
        if wrapped:
            session.do(
                f"update staged set {column} = nullif(regexp_extract({column}, {quote_text(WRAPPED)}, 1), '')"
                f" where regexp_full_match({column}, {quote_text(WRAPPED)})"
            )


WRAPPED = '="([^"]*)"'
