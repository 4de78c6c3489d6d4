"""Rows that are no specimens: blank ones, headers pasted in again, totals and remarks, rows cut wrongly."""

from __future__ import annotations

from collections.abc import Mapping

from cubital.engine.session import quote_name, quote_text
from cubital.intake.roles import Role

WRAPPED = '="([^"]*)"'


def unkept_case(names: Mapping[str, str], *, typed: frozenset[str]) -> str:
    """The SQL for the reason why a row cannot be a specimen, as a number; null for the rows that may be one.

    ``names`` maps the engine's columns to their labels in the file, ``typed`` are those staged as times. To be used
    over the cells of a row and ``surplus``; the macros must be loaded.
    """
    if Role.ACCESSION.value not in names:
        return "null::tinyint"
    others = [name for name in names if name != Role.ACCESSION.value]
    nothing = " and ".join(f"{quote_name(name)} is null" for name in others) or "true"
    again = " or ".join(f"{quote_name(name)} = {quote_text(names[name])}" for name in others if name not in typed)
    header = f"accession = {quote_text(names[Role.ACCESSION.value])} and ({again or 'true'})"
    own = f"when {Role.LOSS.value} is not null then outside_code({Role.LOSS.value})" if Role.LOSS.value in names else ""
    return (
        f"case {own} when accession is null and {nothing} and not surplus then outside_code('blank_row')"
        f" when {header} then outside_code('header_again') when {nothing} then outside_code('note_row')"
        " when surplus then outside_code('too_many_cells')"
        " when starts_with(accession, '=') or starts_with(accession, '#') then outside_code('damaged_accession') end"
    )


def unwrapped(text: str) -> str:
    """``="005001"`` is how exports keep leading zeros through a spreadsheet: the SQL for the text inside."""
    wrapped = f"starts_with({text}, '=\"') and regexp_full_match({text}, {quote_text(WRAPPED)})"
    inside = f"nullif(regexp_extract({text}, {quote_text(WRAPPED)}, 1), '')"
    return f"case when {wrapped} then {inside} else {text} end"
