"""Workbooks, and what spreadsheets do to a laboratory's file on the way."""
# ruff: noqa: DTZ001 -- wall clocks are meant, as a laboratory writes them

from __future__ import annotations

from datetime import date, datetime, time
from pathlib import Path

import openpyxl
import pytest
import xlwt

from cubital.domain.errors import QuestionsOpen
from intake_help import Options, read_file, read_text

HEADER = ["Accession", "Patient No", "Birth", "Ward", "Collected", "Received", "Organism"]
CSV = "Accession,Patient No,Birth,Collected,Quantity,Result\n"


def row(accession, collected=datetime(2025, 11, 3, 10, 0), organism="No growth"):
    return [accession, 70001, date(1949, 2, 14), "Medical", collected, datetime(2025, 11, 30, 10, 50), organism]


def workbook(folder: Path, *sheets, name="laboratory.xlsx"):
    book = openpyxl.Workbook()
    book.remove(book.active)
    for title, rows in sheets:
        sheet = book.create_sheet(title)
        for cells in rows:
            sheet.append(cells)
    book.save(folder / name)
    return folder / name


def test_true_dates_and_numbers_are_read(tmp_path):
    with read_file(workbook(tmp_path, ("Cultures", [HEADER, row(5001), row("005002")]))) as read:
        assert read.column("accession") == ["005002", "5001"]
        assert str(read.set_of("5001")["collected_local"]) == "2025-11-03 10:00:00"
        assert read.set_of("5001")["age_group"] == "65_to_79"


def test_a_workbook_gives_the_same_sets_as_its_text(tmp_path):
    with read_file(workbook(tmp_path, ("Cultures", [HEADER, row(5001, organism="CNS")]))) as read:
        from_workbook = read.session.rows("select * from new_sets"), read.session.rows("select * from new_isolates")
    text = ",".join(HEADER) + "\n5001,70001,1949-02-14,Medical,2025-11-03 10:00,2025-11-30 10:50,CNS\n"
    with read_text(tmp_path, text) as read:
        assert (read.session.rows("select * from new_sets"), read.session.rows("select * from new_isolates")) == (
            from_workbook
        )


def test_several_sheets_are_one_file_and_rows_keep_their_numbers(tmp_path):
    october = ("October", [["Blood cultures"], [], HEADER, row(1), [], row(2)])
    november = ("November", [HEADER, row(3)])
    with read_file(workbook(tmp_path, october, november)) as read:
        fates = read.session.rows("select sheet, row, fate from row_fates order by 1, 2")
    assert fates == [("November", 2, "set"), ("October", 4, "set"), ("October", 6, "set")]


def test_a_sheet_of_another_kind_is_left_out_and_counted(tmp_path):
    legend = ("Legend", [["Code", "Meaning"], ["NG 5D", "no growth"], ["CNS", "coagulase-negative"]])
    with read_file(workbook(tmp_path, legend, ("Cultures", [HEADER, row(1)]))) as read:
        assert (read.sets, read.losses) == (1, {"other_sheet": 3})
        assert any("Legend" in note for note in read.intake.notes)


def test_columns_may_stand_in_another_order_on_the_next_sheet(tmp_path):
    turned = [list(reversed(HEADER)), list(reversed(row(2, organism="CNS")))]
    with read_file(workbook(tmp_path, ("A", [HEADER, row(1)]), ("B", turned))) as read:
        assert read.column("accession") == ["1", "2"]
        assert read.session.one("select raw_text from new_isolates") == ("CNS",)


def test_an_old_workbook_is_read(tmp_path):
    book = xlwt.Workbook()
    sheet = book.add_sheet("Cultures")
    style = xlwt.easyxf(num_format_str="YYYY-MM-DD HH:MM")
    for column, (header, cell) in enumerate(zip(HEADER, row(5001, organism="CNS"), strict=True)):
        sheet.write(0, column, header)
        sheet.write(1, column, cell, style) if isinstance(cell, date) else sheet.write(1, column, cell)
    book.save(str(tmp_path / "old.xls"))
    with read_file(tmp_path / "old.xls") as read:
        assert str(read.set_of("5001")["collected_local"]) == "2025-11-03 10:00:00"


def test_hours_in_a_column_of_their_own_are_read(tmp_path):
    header = ["Accession", "Collection Date", "Collection Time", "Organism"]
    path = workbook(tmp_path, ("Cultures", [header, [1, date(2025, 11, 3), time(22, 10), "CNS"]]))
    with read_file(path) as read:
        assert str(read.set_of("1")["collected_local"]) == "2025-11-03 22:10:00"


def test_error_cells_and_uncomputed_formulas_are_named(tmp_path):
    path = workbook(tmp_path, ("Cultures", [HEADER, row(1), row(2), row("=A2+2")]))
    book = openpyxl.load_workbook(path)
    book.active["G3"].value, book.active["G3"].data_type = "#REF!", "e"
    book.save(path)
    with read_file(path) as read:
        assert read.rows_with_doubt("error_cell") == [3]
        assert read.rows_with_doubt("formula") == [4]
        assert read.fates() == [(2, "set"), (3, "set"), (4, "damaged_accession")]


def test_macros_are_not_run_and_it_is_said(tmp_path):
    import zipfile

    path = workbook(tmp_path, ("Cultures", [HEADER, row(1)]), name="macros.xlsm")
    with zipfile.ZipFile(path, "a") as archive:
        archive.writestr("xl/vbaProject.bin", b"Sub Workbook_Open()")
    with read_file(path) as read:
        assert read.sets == 1
        assert any("macros" in note and "not run" in note for note in read.intake.notes)


def test_half_turned_dates_are_asked_and_turned_back(tmp_path):
    rows = [
        HEADER,
        row(1, datetime(2025, 11, 3, 10, 0)),
        row(2, "25/11/2025 10:00"),
    ]  # meant: 11 March, shown: 3 November
    path = workbook(tmp_path, ("Cultures", rows))
    with pytest.raises(QuestionsOpen) as caught, read_file(path):
        pass
    (question,) = caught.value.questions
    assert question.key == "turned_dates.collected"
    with read_file(path, Options(answers={question.key: "turn-back"})) as read:
        assert str(read.set_of("1")["collected_local"]) == "2025-03-11 10:00:00"
        assert str(read.set_of("2")["collected_local"]) == "2025-11-25 10:00:00"
    with read_file(path, Options(answers={question.key: "as-they-are"})) as read:
        assert str(read.set_of("1")["collected_local"]) == "2025-11-03 10:00:00"


def test_shortened_accessions_are_kept_apart_and_named(tmp_path):
    text = CSV + "2.50E+10,7,1949-02-14,2025-11-01 10:00,,CNS\n2.50E+10,8,1949-02-14,2025-11-01 11:00,,NG 5D\n"
    text += "2.50E+10,8,1949-02-14,2025-11-02 11:00,,NG 5D\n"
    with read_text(tmp_path, text) as read:
        assert read.column("accession") == ["2.50E+10", "2.50E+10 (2)", "2.50E+10 (3)"]
        assert read.rows_with_doubt("accession_shortened") == [2, 3, 4]


def test_shortened_patient_numbers_are_named(tmp_path):
    with read_text(tmp_path, CSV + "1,7.00E+11,1949-02-14,2025-11-01 10:00,,CNS\n") as read:
        assert read.rows_with_doubt("patient_shortened") == [2]


def test_fractions_turned_into_days_are_named(tmp_path):
    text = CSV + "1,7,1949-02-14,2025-11-01 10:00,02-Apr,CNS\n2,8,1949-02-14,2025-11-01 10:00,1/2,CNS\n"
    text += "3,9,1949-02-14,2025-11-01 10:00,,2-Apr\n"
    with read_text(tmp_path, text) as read:
        assert read.rows_with_doubt("text_turned_into_date") == [2, 4]


def test_lost_leading_zeros_are_named(tmp_path):
    numbers = ["0051001", "0051002", "0051003", "0051004", "51005"]
    text = CSV + "".join(f"{number},7,1949-02-14,2025-11-01 10:00,,CNS\n" for number in numbers)
    with read_text(tmp_path, text) as read:
        assert read.rows_with_doubt("leading_zeros_lost") == [6]
        assert read.sets == 5


def test_leading_zeros_kept_by_a_formula_are_unwrapped(tmp_path):
    with read_text(tmp_path, CSV + '"=""005001""",7,1949-02-14,2025-11-01 10:00,,CNS\n') as read:
        assert read.column("accession") == ["005001"]
        assert read.doubts == {}


def test_a_placeholder_for_the_birth_date_is_no_age(tmp_path):
    text = CSV + "1,7,1900-01-01,2025-11-01 10:00,,CNS\n2,8,2026-05-01,2025-11-01 10:00,,CNS\n"
    with read_text(tmp_path, text) as read:
        assert read.column("age_group") == ["unknown", "unknown"]
        assert read.rows_with_doubt("birth_placeholder") == [2]
        assert read.rows_with_doubt("birth_impossible") == [3]
