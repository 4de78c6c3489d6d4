"""Tables that leave: read back by openpyxl and pandas, which share nothing with the writers."""

from __future__ import annotations

import csv
from dataclasses import replace
from datetime import date, datetime
from pathlib import Path

import openpyxl
import pandas
import pytest

from cubital.domain.charter import Reason, SetClass
from cubital.domain.cultures import Attribution, SetStatus, TimeQuality
from cubital.domain.errors import MachineProblem, RequestProblem
from cubital.judge.counts import Companion, JudgedSet
from cubital.papers import table_files
from cubital.papers.fates_table import build_doubts_table, build_fates_table
from cubital.papers.sets_table import build_sets_table
from cubital.papers.table_files import Export, write_export
from cubital.papers.tidy_table import Column, Kind, TidyTable
from cubital.store.rows import RowDoubt, RowFate

PARTNER = Companion(set_id=2, accession="0005002", set_class=SetClass.NO_GROWTH, organisms=())
FIRST = JudgedSet(
    set_id=1, facility="Marrowby General", accession="0005001", month="2025-11", day=date(2025, 11, 1),
    collected_local=datetime.fromisoformat("2025-11-01T22:10"), time_quality=TimeQuality.EXACT,
    unit="ed", unit_name="ED", attribution=Attribution.ROSTER_OR_INITIALS, status=SetStatus.FINAL,
    set_class=SetClass.CONTAMINATED,
    reason=Reason.ONE_OF_SEVERAL, series_id=1, series_size=2, unpairable=False, counted=True,
    organisms=("staphylococcus-epidermidis",), companions=(PARTNER,), minutes_to_receipt=31.0, bottles_complete=True,
)  # fmt: skip
LONG_NUMBER = replace(FIRST, set_id=3, accession="25000000001", minutes_to_receipt=None, bottles_complete=None)
SCIENTIFIC = replace(FIRST, set_id=4, accession="2.50E+10", day=None, collected_local=None, organisms=("", "bacillus"))
FORMULA = replace(FIRST, set_id=5, accession='=HYPERLINK("http://example.org")', unit_name="+5;=1+1", companions=())
ROWS = (FIRST, LONG_NUMBER, SCIENTIFIC, FORMULA)
ABOUT = (("charter", "charter 2"), ("note", "=1+1"))


def sets_export(rows=ROWS):
    return Export(tables=(build_sets_table(rows),), about=ABOUT)


@pytest.fixture
def workbook(tmp_path):
    assert write_export(sets_export(), tmp_path / "sets.xlsx") == 4
    return openpyxl.load_workbook(tmp_path / "sets.xlsx")


def column(sheet, name):
    place = [cell.value for cell in sheet[1]].index(name)
    return [row[place] for row in sheet.iter_rows(min_row=2)]


def test_a_workbook_has_the_table_its_codebook_and_what_it_is_about(workbook):
    assert workbook.sheetnames == ["sets", "codebook", "about"]
    assert workbook["sets"].max_row == 5
    assert all(not sheet.merged_cells.ranges for sheet in workbook)


def test_accessions_are_text_with_their_zeros_and_digits(workbook):
    cells = column(workbook["sets"], "accession")
    assert [cell.value for cell in cells[:3]] == ["0005001", "25000000001", "2.50E+10"]
    assert {cell.data_type for cell in cells} == {"s"}
    assert {cell.number_format for cell in cells} == {"@"}


def test_no_cell_of_any_sheet_is_a_formula(workbook):
    for sheet in workbook:
        for row in sheet.iter_rows():
            assert [cell.coordinate for cell in row if cell.data_type == "f" or str(cell.value).startswith("=")] == []


def test_days_and_times_are_iso_text(workbook):
    assert [cell.value for cell in column(workbook["sets"], "day")] == ["2025-11-01", "2025-11-01", None, "2025-11-01"]
    assert column(workbook["sets"], "collected_local")[0].value == "2025-11-01T22:10"


def test_minutes_are_numbers_and_unknown_ones_empty(workbook):
    cells = column(workbook["sets"], "minutes_to_receipt")
    assert (cells[0].value, cells[0].data_type) == (31, "n")
    assert cells[1].value is None


def test_no_cell_is_coloured(workbook):
    fills = {cell.fill.fill_type for sheet in workbook for row in sheet.iter_rows() for cell in row}
    assert fills == {None}


def test_the_codebook_explains_every_column_and_every_code_used(workbook):
    book = {row[1].value: row for row in workbook["codebook"].iter_rows(min_row=2)}
    for header in workbook["sets"][1]:
        assert book[header.value][2].value
    for name in ("class", "reason", "time_quality", "status", "attribution", "counted"):
        for cell in column(workbook["sets"], name):
            assert f"{cell.value} = " in book[name][5].value


@pytest.mark.parametrize("kind", [SetClass, Reason])
def test_every_class_and_reason_there_is_can_be_written(tmp_path, kind):
    name = "set_class" if kind is SetClass else "reason"
    rows = tuple(replace(FIRST, **{name: item}) for item in kind)
    assert write_export(sets_export(rows), tmp_path / "all.csv") == len(kind)


def test_a_csv_says_the_same_as_the_workbook(tmp_path, workbook):
    write_export(sets_export(), tmp_path / "sets.csv")
    table = pandas.read_csv(tmp_path / "sets.csv", dtype=str, keep_default_na=False)
    for header in workbook["sets"][1]:
        told = ["" if cell.value is None else str(cell.value) for cell in column(workbook["sets"], header.value)]
        if header.value == "minutes_to_receipt":
            assert [float(x or "nan") == float(y or "nan") for x, y in zip(table[header.value], told, strict=True)]
        else:
            assert list(table[header.value]) == told


def test_a_csv_brings_its_codebook_and_what_it_is_about(tmp_path):
    write_export(sets_export(), tmp_path / "sets.csv")
    codebook = pandas.read_csv(tmp_path / "sets.codebook.csv", dtype=str)
    assert list(codebook["column"]) == build_sets_table(ROWS).header()
    assert list(pandas.read_csv(tmp_path / "sets.about.csv")["text"]) == ["charter 2", "'=1+1"]


def test_no_cell_of_a_csv_starts_a_formula_under_any_separator(tmp_path):
    write_export(sets_export(), tmp_path / "sets.csv")
    text = (tmp_path / "sets.csv").read_text(encoding="utf-8-sig")
    for separator in ",;\t|":
        for row in csv.reader(text.splitlines(), delimiter=separator):
            assert [cell for cell in row if cell.lstrip(' "').startswith(("=", "+", "-", "@"))] == []


def test_negative_numbers_stay_numbers(tmp_path):
    table = TidyTable(
        name="t", columns=(Column(key="x", meaning="m", kind=Kind.MEASURE, read=float),), rows=(-1.5, 2.0), count=2
    )
    write_export(Export(tables=(table,), about=()), tmp_path / "t.csv")
    write_export(Export(tables=(table,), about=()), tmp_path / "t.xlsx")
    assert list(pandas.read_csv(tmp_path / "t.csv")["x"]) == [-1.5, 2.0]
    assert list(pandas.read_excel(tmp_path / "t.xlsx", engine="openpyxl")["x"]) == [-1.5, 2.0]


def test_a_code_without_a_meaning_is_never_written(tmp_path):
    columns = (Column(key="x", meaning="m", kind=Kind.CODE, read=str, values={"a": "one"}),)
    table = TidyTable(name="t", columns=columns, rows=("a", "b"), count=2)
    with pytest.raises(ValueError, match="does not explain"):
        write_export(Export(tables=(table,), about=()), tmp_path / "t.csv")
    assert list(tmp_path.iterdir()) == []


def test_text_in_a_number_column_is_never_written(tmp_path):
    columns = (Column(key="x", meaning="m", kind=Kind.COUNT, read=str),)
    table = TidyTable(name="t", columns=columns, rows=(1,), count=1)
    with pytest.raises(ValueError, match="holds str"):
        write_export(Export(tables=(table,), about=()), tmp_path / "t.xlsx")


def test_rows_and_doubts_of_a_file_stand_in_one_workbook(tmp_path):
    fates = (
        RowFate(row=2, sheet="", fate="set", reason="", detail=""),
        RowFate(row=3, sheet="", fate="loss", reason="further_bottle", detail="of row 2"),
    )
    doubts = (RowDoubt(row=2, reason="ambiguous_hour", detail=""),)
    export = Export(
        tables=(
            build_fates_table(fates, count=2, words={"further_bottle": "a further bottle of a set counted already"}),
            build_doubts_table(doubts, count=1, words={"ambiguous_hour": "in the hour that the clock change repeats"}),
        ),
        about=(),
    )
    assert write_export(export, tmp_path / "rows.xlsx") == 2
    rows = pandas.read_excel(
        tmp_path / "rows.xlsx", sheet_name="rows", dtype=str, keep_default_na=False, engine="openpyxl"
    )
    assert list(rows["reason_words"]) == ["", "a further bottle of a set counted already"]
    assert list(pandas.read_excel(tmp_path / "rows.xlsx", sheet_name="doubts", engine="openpyxl")["row"]) == [2]


def test_a_workbook_of_too_many_rows_is_refused_before_it_is_begun(tmp_path, monkeypatch):
    monkeypatch.setattr(table_files, "MOST_SHEET_ROWS", 3)
    with pytest.raises(RequestProblem, match=r"4 rows are more than one sheet can hold \(3\).*\.csv"):
        write_export(sets_export(), tmp_path / "sets.xlsx")
    assert list(tmp_path.iterdir()) == []


def test_another_suffix_is_refused_with_the_choice(tmp_path):
    with pytest.raises(RequestProblem, match=r"Name the file \.xlsx or \.csv"):
        write_export(sets_export(), tmp_path / "sets.ods")


@pytest.mark.parametrize("name", ["sets.xlsx", "sets.csv"])
def test_a_place_that_cannot_be_written_ends_in_a_sentence(tmp_path, name, monkeypatch):
    (tmp_path / name).write_text("before")

    def refuse(self, target):
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(type(tmp_path), "replace", refuse)
    with pytest.raises(MachineProblem, match="cannot be written here"):
        write_export(sets_export(), tmp_path / name)
    assert [path.name for path in tmp_path.iterdir()] == [name]
    assert (tmp_path / name).read_text() == "before"


def test_a_folder_that_is_not_there_ends_in_a_sentence(tmp_path):
    with pytest.raises(RequestProblem, match="there is no folder"):
        write_export(sets_export(), tmp_path / "nowhere" / "sets.csv")
    (tmp_path / "x.csv").mkdir()
    with pytest.raises(RequestProblem, match="this is a folder"):
        write_export(sets_export(), tmp_path / "x.csv")


def full_disk(self, mode="r", **_options):
    """Opens a device of Linux that is always full."""
    return open("/dev/full", mode, encoding=None if "b" in mode else "utf-8")


@pytest.mark.parametrize("name", ["sets.xlsx", "sets.csv"])
def test_a_full_disk_ends_in_a_sentence(tmp_path, monkeypatch, name):
    monkeypatch.setattr(type(tmp_path), "open", full_disk)
    with pytest.raises(MachineProblem, match="disk is full"):
        write_export(sets_export(), tmp_path / name)


def test_a_folder_that_may_not_be_written_ends_in_a_sentence():
    # Nobody, not even the administrator, can make a file in the folder in which Linux lists its processes.
    with pytest.raises(MachineProblem, match="cannot be written here"):
        write_export(sets_export(), Path("/proc/sets.xlsx"))


def test_the_same_table_gives_the_same_bytes(tmp_path):
    for name in ("a.xlsx", "b.xlsx"):
        write_export(sets_export(), tmp_path / name)
    assert (tmp_path / "a.xlsx").read_bytes() == (tmp_path / "b.xlsx").read_bytes()
