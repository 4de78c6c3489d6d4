"""Inputs that the random search (``make fuzz``) found to break a reader, each with what it must end in now."""

from __future__ import annotations

import io
import zipfile
from pathlib import Path

import pytest
import xlsxwriter

from cubital.domain.errors import FileProblem
from intake_help import read_file


def _workbook() -> bytearray:
    stream = io.BytesIO()
    with xlsxwriter.Workbook(stream, {"in_memory": True}) as book:
        sheet = book.add_worksheet()
        sheet.write_row(0, 0, ["Accession", "Patient", "Result"])
        for row in range(1, 200):
            sheet.write_row(row, 0, [f"A{row}", f"7{row}", "No growth"])
    return bytearray(stream.getvalue())


def _place_of(whole: bytes, name: str) -> zipfile.ZipInfo:
    with zipfile.ZipFile(io.BytesIO(whole)) as archive:
        return archive.getinfo(name)


def test_a_sheet_whose_packed_bytes_are_damaged_is_refused(tmp_path: Path) -> None:
    """Was ``zlib.error: invalid distance too far back`` from looking for far cells."""
    whole = _workbook()
    part = _place_of(whole, "xl/worksheets/sheet1.xml")
    start = part.header_offset + 30 + len(part.filename)
    whole[start + 2 : start + 40] = b"\xa5" * 38
    path = tmp_path / "x.xlsx"
    path.write_bytes(whole)
    with pytest.raises(FileProblem, match="damaged or was cut short"), read_file(path):
        pass


def test_a_sheet_packed_in_an_unknown_way_is_refused(tmp_path: Path) -> None:
    """Was ``NotImplementedError: compressed patched data (flag bit 5)``."""
    whole = _workbook()
    part = _place_of(whole, "xl/worksheets/sheet1.xml")
    whole[part.header_offset + 6] |= 0x20
    directory = whole.rindex(b"xl/worksheets/sheet1.xml") - 46
    whole[directory + 8] |= 0x20
    path = tmp_path / "x.xlsx"
    path.write_bytes(whole)
    with pytest.raises(FileProblem, match="damaged or was cut short"), read_file(path):
        pass


def test_a_workbook_with_a_locked_part_is_refused(tmp_path: Path) -> None:
    """Would have been ``RuntimeError: File is encrypted``."""
    whole = _workbook()
    directory = whole.rindex(b"xl/worksheets/sheet1.xml") - 46
    whole[directory + 8] |= 1
    path = tmp_path / "x.xlsx"
    path.write_bytes(whole)
    with pytest.raises(FileProblem, match="protected by a password"), read_file(path):
        pass


@pytest.mark.parametrize(
    "found", [b"PK" + b"\x81" * 52, b"month,se\x88\x8c\xd3\x9c\x90\x91\x8b\x9emmoi"], ids=["archive", "table"]
)
def test_signs_of_no_common_encoding_are_refused(tmp_path: Path, found: bytes) -> None:
    """Was ``UnicodeDecodeError``: bytes that no code page in use explains."""
    path = tmp_path / "x.csv"
    path.write_bytes(found)
    with pytest.raises(FileProblem, match="signs of no common encoding"), read_file(path):
        pass


@pytest.mark.parametrize("stated", ["\x1f\x1f1", "9" * 5000, "²"], ids=["control signs", "many digits", "no digit"])
def test_a_batch_with_an_odd_count_of_messages_is_read(tmp_path: Path, stated: str) -> None:
    """Was ``ValueError: invalid literal for int()`` from the count of a batch trailer."""
    message = "MSH|^~\\&|A|B|C|D|20260304||ORU^R01|1|P|2.5\rPID|1||7001\r"
    path = tmp_path / "x.hl7"
    path.write_text(f"BHS|^~\\&\r{message}BTS|{stated}\r", encoding="utf-8", newline="")
    with read_file(path) as read:
        assert read.intake.reconciliation.rows == 1


def test_a_species_in_one_word_with_a_stray_word_behind_it_is_not_guessed() -> None:
    """Was ``KeyError: 'escherichia-coli'``: the misspelled word is nearest to one that names a species, not a genus."""
    from cubital.intake.results import read_result

    reading = read_result("s\x10enOLI\x0b$\x00DERMITCOLI")
    assert all(organism.organism_key == "" for organism in reading.organisms)


def test_a_field_of_ten_megabytes_in_an_export_takes_no_minutes(tmp_path: Path) -> None:
    """Took 100 s: the text of a FHIR result was read in full before it was cut to a cell's length."""
    from cubital.intake.fhir.codings import read_concept
    from fhir_help import culture, patient, specimen, write_lines

    words = "No growth " + "x" * 10_000_000
    assert len(read_concept({"text": words}).words) <= 20_000
    with read_file(write_lines(tmp_path / "x.ndjson", [patient(), specimen(), culture(words=words)])) as read:
        assert read.sets == 1


def test_a_cell_that_names_a_row_far_from_its_own_is_refused(tmp_path: Path) -> None:
    """Asked for 512 GB, which ended the whole process: the cell's row counted, not only that of its line."""
    path = tmp_path / "x.xlsx"
    with zipfile.ZipFile(io.BytesIO(_workbook())) as whole, zipfile.ZipFile(path, "w") as twisted:
        for name in whole.namelist():
            twisted.writestr(name, whole.read(name).replace(b'r="B2"', b'r="XFD1048576"'))
    with pytest.raises(FileProblem, match="as far away as row 1048576"), read_file(path):
        pass
