"""Text files in every common encoding, with every common separator and line end."""

from __future__ import annotations

import gzip

import pytest

from cubital.domain.places import SourceMemory
from cubital.intake.inspection import Grain, inspect_file
from intake_help import read_text

TEXT = "Accession,Unidad,Collected,Organism\n1,Pediatría,2025-11-01 10:00,CNS\n2,Señal Ñ,2025-11-01 11:00,No growth\n"


@pytest.mark.parametrize(
    "encoding", ["utf-8", "utf-8-sig", "utf-16", "utf-16-le", "utf-16-be", "utf-32", "cp1252", "latin-1", "iso8859-15"]
)
def test_common_encodings_give_the_same_sets(tmp_path, encoding):
    with read_text(tmp_path, TEXT.encode(encoding)) as read:
        assert read.column("unit_key") == ["pediatría", "señal ñ"]


@pytest.mark.parametrize("separator", [",", ";", "\t", "|"])
def test_common_separators_are_found(tmp_path, separator):
    with read_text(tmp_path, TEXT.replace(",", separator)) as read:
        assert read.sets == 2


@pytest.mark.parametrize("line_end", ["\r\n", "\r", "\n"])
def test_common_line_ends_are_read(tmp_path, line_end):
    with read_text(tmp_path, TEXT.replace("\n", line_end).encode()) as read:
        assert read.column("accession") == ["1", "2"]
        assert read.fates() == [(2, "set"), (3, "set")]


def test_a_gzipped_file_is_read(tmp_path):
    with read_text(tmp_path, gzip.compress(TEXT.encode())) as read:
        assert read.sets == 2


def test_an_announced_separator_is_believed(tmp_path):
    with read_text(tmp_path, "sep=;\n" + TEXT.replace(",", ";")) as read:
        assert read.sets == 2


def test_quoted_separators_and_line_ends_stay_in_their_cell(tmp_path):
    text = 'Accession,Ward,Collected,Organism\n1,"ED, bay 2",2025-11-01 10:00,"CNS\nseen twice"\n'
    text += "2,ED,2025-11-01 10:00,CNS\n"
    with read_text(tmp_path, text) as read:
        assert read.column("unit_key") == ["ed, bay 2", "ed"]
        assert read.sets == 2


def test_rows_are_numbered_as_a_spreadsheet_shows_them(tmp_path):
    row = "{},ED,2025-11-01 10:00,CNS\n"
    rows = row.format(1) + "\n\n" + row.format(2) + '3,"two\n\nlines",2025-11-01 10:00,CNS\n' + "\n" + row.format(4)
    with read_text(tmp_path, "Blood cultures\n\nAccession,Ward,Collected,Organism\n\n" + rows) as read:
        assert [row for row, _fate in read.fates()] == [5, 8, 9, 11]


def test_units_are_compared_without_case_and_double_spaces(tmp_path):
    text = TEXT + "3,PEDIATRÍA,2025-11-01 10:00,CNS\n4, pediatría ,2025-11-01 10:00,CNS\n"
    with read_text(tmp_path, text) as read:
        assert read.column("unit_key") == ["pediatría", "señal ñ", "pediatría", "pediatría"]


def inspect(tmp_path, text):
    path = tmp_path / "laboratory.csv"
    path.write_text(text, encoding="utf-8")
    return inspect_file(path, memory=SourceMemory())


def test_inspection_shows_what_is_understood(tmp_path):
    seen = inspect(tmp_path, TEXT.replace(",", ";"))
    assert (seen.delimiter, seen.encoding, seen.header_row, seen.rows) == ("semicolon", "utf-8", 1, 2)
    assert [column.role.value for column in seen.columns] == ["accession", "unit", "collected", "organism"]
    assert seen.questions == ()


def test_inspection_hides_patients(tmp_path):
    seen = inspect(tmp_path, "Accession,MRN,DOB,Collected,Organism\n1,70001,1949-02-14,2025-11-01 10:00,CNS\n")
    assert seen.sample == (("1", "•••", "•••", "2025-11-01 10:00", "CNS"),)


def test_inspection_returns_questions_and_damage_instead_of_refusing(tmp_path):
    seen = inspect(tmp_path, "Accession,Collected,Organism\n2.50E+10,03/04/2025 10:00,CNS\n")
    assert [question.key for question in seen.questions] == ["date_order.collected"]
    assert [(d.reason, d.column, d.first_rows) for d in seen.damage] == [("accession_shortened", "Accession", (2,))]


@pytest.mark.parametrize(
    ("header", "rows", "grain"),
    [
        ("Accession,Bottle,Result", ["1,AER,CNS", "1,ANA,CNS"], Grain.BOTTLE),
        ("Accession,Result", ["1,CNS", "2,CNS"], Grain.SET),
        ("Accession,Organism", ["1,CNS", "1,E.coli"], Grain.ISOLATE),
        ("Accession,Organism,Antibiotic", ["1,CNS,OXA", "1,CNS,VAN"], Grain.ISOLATE_ANTIBIOTIC),
        ("Accession,Status,Result", ["1,P,NG 1D", "1,F,NG 5D"], Grain.STATUS),
    ],
)
def test_the_grain_is_recognised_and_said(tmp_path, header, rows, grain):
    seen = inspect(tmp_path, "\n".join([header, *rows]) + "\n")
    assert seen.grain is grain
    assert seen.grain_words.startswith("one row per")
