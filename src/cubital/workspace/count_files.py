"""Reads a small table of counts (month, sets, contaminated) from a text file or a workbook."""

from __future__ import annotations

from pathlib import Path

from cubital.answers.counts import MonthCount, parse_counts, parse_counts_text
from cubital.domain.errors import FileProblem
from cubital.domain.scratch import ScratchFolder
from cubital.domain.words import _
from cubital.intake.source_files import FileKind, SourceFile, open_source
from cubital.intake.text_files import copy_as_utf8

MOST_BYTES = 2_000_000  # a hundred years of months are a few kilobytes; more is a laboratory file
MOST_ROWS = 5_000


def read_counts(path: Path) -> tuple[MonthCount, ...]:
    """The counts in ``path``: CSV, TSV, semicolons, any common encoding, gz, or a workbook's only filled sheet.

    Raises ``FileProblem`` where the file is no such table, with every row that is wrong; nothing is stored anyway.
    """
    with ScratchFolder() as scratch:
        source = open_source(path, scratch)
        if source.path.stat().st_size > MOST_BYTES:
            raise FileProblem(
                _("this is too large for a table of counts by month."),
                where=source.name,
                fix=_("A laboratory file is taken in with the command take, or on the page Files."),
            )
        if source.kind is FileKind.WORKBOOK:
            return _read_workbook(source)
        copy = copy_as_utf8(source, scratch)
        return parse_counts_text(copy.path.read_text(encoding="utf-8-sig"), where=source.name)


def _read_workbook(source: SourceFile) -> tuple[MonthCount, ...]:
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
            fix=_("Keep the counts in one sheet, or save that sheet as CSV."),
        )
    rows = next(iter(filled.values()), [])
    if len(rows) > MOST_ROWS:
        raise FileProblem(_("this is too large for a table of counts by month."), where=source.name)
    return parse_counts(rows, where=source.name)
