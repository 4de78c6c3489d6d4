"""Files that cannot be used: each ends in a sentence that says what, where and how to put it right."""

from __future__ import annotations

import gzip
import io
import zipfile

import openpyxl
import pytest

from cubital.domain.errors import FileProblem, QuestionsOpen, RequestProblem
from cubital.domain.places import Facility
from cubital.intake.source_files import SUSPICIOUS_RATIO, open_source
from cubital.intake.text_files import copy_as_utf8
from intake_help import MARROWBY, Options, read_file, read_text

HEADER = "ACC_NO,MRN,DOB,LOC,COLL_DT,RECV_DT,BOTTLE,STATUS,RESULT\n"
TWICE = (
    "ACC_NO,RESULT,COLL_DT,RESULT\n"
    "1,NG 5D,2025-11-01 10:00,CNS\n2,CNS,2025-11-01 10:00,NG 5D\n3,NG 5D,2025-11-01 10:00,CNS\n"
)
ROW = "5001,70001,1957-04-09,ED,2025-11-01 22:10,2025-11-01 22:41,AER,F,NG 5D\n"


def refusal(tmp_path, content, name="laboratory.csv"):
    path = tmp_path / name
    path.write_bytes(content if isinstance(content, bytes) else content.encode())
    with pytest.raises(FileProblem) as caught, read_file(path):
        pass
    assert name in str(caught.value)
    assert caught.value.fix, "a refusal says how to put it right"
    return str(caught.value)


def test_an_empty_file_is_refused(tmp_path):
    assert "empty" in refusal(tmp_path, "")
    assert "empty" in refusal(tmp_path, "\n \r\n\t\n")


def test_a_missing_file_is_refused(tmp_path):
    with pytest.raises(FileProblem, match="no such file"), read_file(tmp_path / "nowhere.csv"):
        pass


def test_a_folder_is_refused(tmp_path):
    with pytest.raises(FileProblem, match="folder"), read_file(tmp_path):
        pass


def test_a_header_alone_is_refused(tmp_path):
    assert "no row below" in refusal(tmp_path, HEADER)


def test_an_unknown_separator_is_refused(tmp_path):
    text = (HEADER + ROW * 3).replace(",", "~")
    assert "nothing separates the columns" in refusal(tmp_path, text)


def test_binary_content_is_refused(tmp_path):
    assert "binary" in refusal(tmp_path, bytes(range(256)) * 40)


@pytest.mark.parametrize(
    ("start", "word"), [(b"%PDF-1.7\n", "PDF"), (b"\x89PNG\r\n\x1a\n", "PNG"), (b"\x7fELF\x02", "ELF")]
)
def test_another_kind_of_file_is_named(tmp_path, start, word):
    assert word in refusal(tmp_path, start + b"x" * 400)


def test_a_web_page_is_refused(tmp_path):
    assert "web page" in refusal(tmp_path, "<!DOCTYPE html><html><table><tr><td>5001</td></tr></table></html>")


def test_one_endless_line_is_refused_without_reading_on(tmp_path):
    path = tmp_path / "laboratory.csv"
    with path.open("wb") as stream:
        stream.write(HEADER.encode() + b"5" * 8_000_000)
        stream.truncate(2_000_000_000)  # a sparse file: two gigabytes that take no room on the disk
    with pytest.raises(FileProblem, match="line 2 is longer than 2 MB"):
        copy_as_utf8(open_source(path, tmp_path), tmp_path)
    assert (tmp_path / "text.csv").stat().st_size < 4_000_000


def test_mixed_encodings_name_the_lines(tmp_path):
    text = (
        (HEADER + ROW).encode()
        + ROW.replace("ED", "Pädiatrie").encode()
        + ROW.replace("ED", "Pädiatrie").encode("cp1252")
    )
    message = refusal(tmp_path, text)
    assert "another encoding" in message
    assert "lines 3" in message or "lines 4" in message


def test_dates_in_two_orders_name_a_row_of_each(tmp_path):
    text = "Accession;Patient No;Collected;Organism\n1;7;25/10/2025 10:00;No growth\n2;8;10/26/2025 11:00;No growth\n"
    message = refusal(tmp_path, text)
    assert "row 2 can only be day first and row 3 only month first" in message
    assert "Collected" in message


def test_an_unknown_time_zone_is_refused(tmp_path):
    options = Options(facility=Facility(name="Marrowby General", timezone="America/Marrowby"))
    with pytest.raises(RequestProblem, match="America/Marrowby"), read_text(tmp_path, HEADER + ROW, options):
        pass


def test_a_table_of_something_else_is_refused(tmp_path):
    assert "none of its columns" in refusal(tmp_path, "month,beds,cost\n2025-01,14,99.5\n2025-02,10,88.1\n")


def test_a_never_closed_quotation_mark_names_the_row(tmp_path):
    rows = [ROW.replace("5001", str(number)) for number in range(5001, 5040)]
    rows[3] = rows[3].replace("NG 5D", '"NG 5D')
    assert "row 5" in refusal(tmp_path, HEADER + "".join(rows))


def test_a_damaged_archive_is_refused(tmp_path):
    packed = gzip.compress((HEADER + ROW * 500).encode())
    assert "damaged" in refusal(tmp_path, packed[: len(packed) // 2], "laboratory.csv.gz")


def test_a_password_protected_workbook_is_refused(tmp_path):
    name = "EncryptedPackage".encode("utf-16-le")
    assert "password" in refusal(
        tmp_path, b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + b"\0" * 600 + name + b"\0" * 600, "locked.xlsx"
    )


def test_a_zip_that_is_no_workbook_is_refused(tmp_path):
    content = io.BytesIO()
    with zipfile.ZipFile(content, "w") as archive:
        archive.writestr("laboratory.csv", HEADER + ROW)
    assert "zip archive" in refusal(tmp_path, content.getvalue(), "laboratory.zip")


def test_a_workbook_that_unpacks_absurdly_is_refused(tmp_path, monkeypatch):
    monkeypatch.setattr("cubital.intake.source_files.MAX_UNPACKED_BYTES", 1_000_000)
    path = tmp_path / "bomb.xlsx"
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("xl/workbook.xml", b"<x/>")
        archive.writestr("xl/worksheets/sheet1.xml", b"0" * 3_000_000)
    assert 3_000_000 / path.stat().st_size > SUSPICIOUS_RATIO
    with pytest.raises(FileProblem, match="times its size"):
        open_source(path, tmp_path)


def test_a_gzip_that_unpacks_absurdly_is_refused(tmp_path, monkeypatch):
    monkeypatch.setattr("cubital.intake.source_files.MAX_UNPACKED_BYTES", 1_000_000)
    assert "times its size" in refusal(tmp_path, gzip.compress(b"0,1\n" * 2_000_000), "bomb.csv.gz")


def test_a_torn_workbook_is_refused(tmp_path):
    book = openpyxl.Workbook()
    content = io.BytesIO()
    book.save(content)
    assert "damaged" in refusal(tmp_path, content.getvalue()[:2000], "torn.xlsx")


def test_an_empty_workbook_is_refused(tmp_path):
    content = io.BytesIO()
    openpyxl.Workbook().save(content)
    assert "empty" in refusal(tmp_path, content.getvalue(), "nothing.xlsx")


def test_a_column_twice_is_asked_with_both_as_choices(tmp_path):
    with pytest.raises(QuestionsOpen) as caught, read_text(tmp_path, TWICE):
        pass
    (question,) = caught.value.questions
    assert question.key == "column.result"
    assert question.choices == ("RESULT (column 2)", "RESULT (column 4)")


def test_a_column_twice_is_read_once_it_is_answered(tmp_path):
    options = Options(answers={"column.result": "RESULT (column 4)"})
    with read_text(tmp_path, TWICE, options) as read:
        found = read.session.rows("select accession from new_sets join new_isolates using (row_set) order by 1")
    assert found == [("1",), ("3",)]


def test_all_open_questions_come_at_once(tmp_path):
    rows = "1;a;03/04/2025 10:00;03/04/2025 11:00;q\n2;b;05/06/2025 10:00;05/06/2025 11:00;r\n"
    text = f"Nr X;Wert;Collected;Received;Spalte\n{rows}"
    with pytest.raises(QuestionsOpen) as caught, read_text(tmp_path, text):
        pass
    keys = {question.key for question in caught.value.questions}
    assert keys == {"column.accession", "column.result", "date_order.collected", "date_order.received"}
    assert MARROWBY.name not in str(caught.value)
