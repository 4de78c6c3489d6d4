"""Reads a small table that somebody keeps by hand: a text file or a workbook's only filled sheet, as rows of cells."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from cubital.answers.hand_tables import text_rows
from cubital.domain.errors import FileProblem
from cubital.domain.scratch import ScratchFolder
from cubital.domain.words import _
from cubital.intake.source_files import FileKind, SourceFile, open_source, refuse_messages
from cubital.intake.text_files import copy_as_utf8

MOST_BYTES = 2_000_000  # a table kept by hand is a few kilobytes; more is a laboratory file
MOST_ROWS = 5_000


@dataclass(frozen=True, kw_only=True)
class SmallTable:
    """What the file holds: ``rows`` of a workbook, or the ``text`` of anything else; the other one is none."""

    name: str
    text: str | None = None
    rows: list[list[object]] | None = None


def read_small_table(path: Path, *, too_large: str = "") -> SmallTable:
    """The table in ``path``: CSV, TSV, semicolons, any common encoding, gz, or a workbook's only filled sheet.

    ``too_large`` is what to say of a file beyond any such table. Raises ``FileProblem`` for that, for several filled
    sheets, and where the file cannot be read.
    """
    with ScratchFolder() as scratch:
        source = open_source(path, scratch)
        refuse_messages(source)
        if source.path.stat().st_size > MOST_BYTES:
            raise _refusal(source, too_large)
        if source.kind is FileKind.WORKBOOK:
            rows = _read_workbook(source)
            if len(rows) > MOST_ROWS:
                raise _refusal(source, too_large)
            return SmallTable(name=source.name, rows=rows)
        copy = copy_as_utf8(source, scratch)
        return SmallTable(name=source.name, text=copy.path.read_text(encoding="utf-8-sig"))


def read_rows(source: Path | str, *, advice: str, pasted: str = "") -> tuple[str, list[list[object]]]:
    """The name of a table for messages, and its rows of cells: from a file, or from text that was pasted.

    ``pasted`` is what pasted text is called, ``advice`` what to tell somebody whose text cannot be cut into cells.
    """
    if isinstance(source, str):
        where = pasted or _("pasted counts")
        return where, text_rows(source, where=where, advice=advice)
    table = read_small_table(source)
    if table.text is not None:
        return table.name, text_rows(table.text, where=table.name, advice=advice)
    return table.name, table.rows or []


def _refusal(source: SourceFile, words: str) -> FileProblem:
    return FileProblem(
        words or _("this is too large for a small table kept by hand."),
        where=source.name,
        fix=_("A laboratory file is taken in with the command take, or on the page Files."),
    )


def _read_workbook(source: SourceFile) -> list[list[object]]:
    from python_calamine import CalamineError, CalamineWorkbook

    try:
        with CalamineWorkbook.from_path(str(source.path)) as workbook:
            sheets = {name: workbook.get_sheet_by_name(name).to_python() for name in workbook.sheet_names}
    except CalamineError as error:
        raise FileProblem(
            _("the workbook cannot be read ({reason}).").format(reason=error),
            where=source.name,
            fix=_("Save it again as XLSX or CSV."),
        ) from error
    filled = {name: rows for name, rows in sheets.items() if any(any(row) for row in rows)}
    if len(filled) > 1:
        raise FileProblem(
            _("more than one sheet is filled: {names}.").format(names=", ".join(filled)),
            where=source.name,
            fix=_("Keep the table in one sheet, or save that sheet as CSV."),
        )
    return [list(row) for row in next(iter(filled.values()), [])]
