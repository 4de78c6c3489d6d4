"""Reads a small table of counts (month, sets, contaminated) from a text file or a workbook."""

from __future__ import annotations

from pathlib import Path

from cubital.answers.counts import MonthCount, parse_counts, parse_counts_text
from cubital.domain.words import _
from cubital.workspace.small_tables import read_small_table


def read_counts(path: Path) -> tuple[MonthCount, ...]:
    """The counts in ``path``: CSV, TSV, semicolons, any common encoding, gz, or a workbook's only filled sheet.

    Raises ``FileProblem`` where the file is no such table, with every row that is wrong; nothing is stored anyway.
    """
    table = read_small_table(path, too_large=_("this is too large for a table of counts by month."))
    if table.rows is not None:
        return parse_counts(table.rows, where=table.name)
    return parse_counts_text(table.text or "", where=table.name)
