"""Messages cut out of files, segments out of messages, and text out of its escapes."""

from __future__ import annotations

from pathlib import Path

import pytest

from cubital.intake.hl7 import splitting
from cubital.intake.hl7.delimiters import Delimiters, read_delimiters
from cubital.intake.hl7.splitting import Damaged, Message, cut_file, field, read_messages, split_message

USUAL = Delimiters()
HEAD = "MSH|^~\\&|LIS|M|Q|M|20251103||ORU^R01|C1|P|2.5.1"


def message(text: str | bytes) -> Message:
    found = split_message(text if isinstance(text, bytes) else text.encode())
    assert isinstance(found, Message)
    return found


def pieces(folder: Path, data: bytes) -> list[Message | Damaged]:
    path = folder / "feed.hl7"
    path.write_bytes(data)
    return [piece for piece in read_messages(path) if not isinstance(piece, list)]


def test_the_separators_come_from_the_header():
    assert read_delimiters("MSH#:+?*#LIS") == Delimiters("#", ":", "+", "?", "*")
    assert read_delimiters("MSH|^~\\&#|LIS") == USUAL  # from 2.7 on a fifth sign marks shortened values


def test_separators_left_out_have_their_usual_value():
    assert read_delimiters("MSH|^|LIS") == USUAL
    assert read_delimiters("MSH|^~&|LIS") == Delimiters("|", "^", "~", "", "&")


@pytest.mark.parametrize("header", ["MSH", "MSHA^~\\&", "MSH ^~\\&", "MSH|||", "MSH^^~\\&"])
def test_a_header_without_usable_separators_is_none(header):
    expected = USUAL if header == "MSH|||" else None
    assert read_delimiters(header) == expected


# HL7 v2.5.1, chapter 2.7, from memory; the property tests check against the hl7 library.
@pytest.mark.parametrize(
    ("written", "read"),
    [
        ("A\\T\\E", "A&E"), ("a\\F\\b\\S\\c\\R\\d\\E\\e", "a|b^c~d\\e"), ("\\X4142\\", "AB"), ("caf\\XC3A9\\", "café"),
        ("caf\\XE9\\", "café"), ("one\\.br\\two", "one; two"), ("\\H\\bold\\N\\ plain", "bold plain"),
        ("C:\\new folder", "C:\\new folder"), ("\\Zlocal\\ stays", "\\Zlocal\\ stays"), ("\\C2842\\x", "x"),
        ('""', ""), ("  spaced ", "spaced"),
    ],
)  # fmt: skip
def test_escapes_are_undone_and_nothing_else(written, read):
    assert USUAL.text(written) == read


def test_escapes_follow_the_separators_of_the_message():
    signs = Delimiters("#", ":", "+", "?", "*")
    assert signs.text("A?T?E ?F? ?S? ?E?") == "A*E # : ?"


@pytest.mark.parametrize("line_end", ["\r", "\n", "\r\n", "\r\r\n"])
def test_segments_end_in_any_line_end(line_end):
    found = message(line_end.join([HEAD, "PID|1||77", "OBX|1|ST|a"]))
    assert [segment[0] for segment in found.segments] == ["MSH", "PID", "OBX"]
    assert field(found.segments[1], 3) == "77"


def test_a_line_break_inside_a_text_does_not_end_the_segment():
    found = message(f"{HEAD}\rOBX|1|TX|a||first line\nsecond line\rOBX|2|TX|a||third")
    assert [field(segment, 5) for segment in found.segments[1:]] == ["first line second line", "third"]


def test_a_text_goes_on_up_to_the_status_of_its_observation():
    found = message(f"{HEAD}\rOBX|1|TX|a||first\nsecond||||||F\rSPM|1\rstray line|9")
    assert (field(found.segments[1], 5), field(found.segments[1], 11)) == ("first second", "F")
    assert (found.segments[2], found.stray) == (["SPM", "1"], 1)


def test_a_header_that_lost_its_line_begins_a_message_all_the_same(tmp_path):
    found = pieces(tmp_path, f"{HEAD}\rPID|1\r|{HEAD}\rPID|2".encode())
    assert [field(one.segments[1], 1) for one in found] == ["1", "2"]


def test_msh_fields_count_the_separator_as_the_first():
    header = message(f"{HEAD}\rPID|1").segments[0]
    assert (field(header, 1), field(header, 2), field(header, 10)) == ("|", "^~\\&", "C1")


def test_a_wrong_character_set_gives_way_to_the_bytes():
    said_latin = message(f"{HEAD}||||||8859/1\rPID|1||Peña".encode())
    said_modern = message(f"{HEAD}||||||UNICODE UTF-8\rPID|1||Peña".encode("latin-1"))
    assert (field(said_latin.segments[1], 3), said_latin.recoded) == ("Peña", True)
    assert (field(said_modern.segments[1], 3), said_modern.recoded) == ("Peña", True)


def test_a_right_character_set_is_used():
    greek = message(f"{HEAD}||||||8859/7\rPID|1||Άνδρος".encode("iso8859_7"))
    assert (field(greek.segments[1], 3), greek.recoded) == ("Άνδρος", False)


def test_null_bytes_and_marks_of_direction_are_left_out():
    found = message(f"{HEAD}\rPID|1||\u200f7\u202e7\x005".encode())
    assert field(found.segments[1], 3) == "775"


def test_messages_follow_each_other_in_a_file(tmp_path):
    found = pieces(tmp_path, f"{HEAD}\rPID|1\r{HEAD}\rPID|2\r\r\n  {HEAD}\rPID|3".encode())
    assert [(one.number, field(one.segments[1], 1)) for one in found] == [(1, "1"), (2, "2"), (3, "3")]


def test_a_capture_from_the_wire_is_read(tmp_path):
    found = pieces(tmp_path, b"".join(b"\x0b%b\rPID|%d\r\x1c\r" % (HEAD.encode(), n) for n in (1, 2)))
    assert [field(one.segments[1], 1) for one in found] == ["1", "2"]


def test_a_frame_that_lost_its_header_is_damaged_and_stays_out_of_its_neighbour(tmp_path):
    data = b"\x0b%b\rPID|1\r\x1c\r\x0bPID|9||stray\r\x1c\r\x0b%b\rPID|2\r\x1c\r" % (HEAD.encode(), HEAD.encode())
    found = pieces(tmp_path, data)
    assert [type(one) for one in found] == [Message, Damaged, Message]
    assert [one.number for one in found] == [1, 2, 3]
    assert len(found[0].segments) == 2


def test_a_message_cut_after_its_header_is_damaged(tmp_path):
    found = pieces(tmp_path, f"{HEAD}\rPID|1\rMSH|^~\\&|LI\r{HEAD}\rPID|2".encode())
    assert [type(one) for one in found] == [Message, Damaged, Message]


def test_the_segments_of_a_batch_stand_beside_the_messages(tmp_path):
    path = tmp_path / "batch.hl7"
    path.write_bytes(f"FHS|^~\\&\rBHS|^~\\&\r{HEAD}\rPID|1\r{HEAD}\rPID|2\rBTS|2\rFTS|1\r".encode())
    front, first, second = read_messages(path)
    assert [segment[0] for segment in front] == ["FHS", "BHS"]
    assert [segment[0] for segment in first.segments] == ["MSH", "PID"]
    assert second.batch == [["BTS", "2"], ["FTS", "1"]]


def test_messages_across_the_edges_of_what_is_read_at_once_stay_whole(tmp_path, monkeypatch):
    path = tmp_path / "many.hl7"
    path.write_bytes("".join(f"{HEAD}\rPID|{n}\r" for n in range(60)).encode())
    expected = list(cut_file(path))
    for size in (1, 2, 3, 7, 63, 64):
        monkeypatch.setattr(splitting, "CHUNK_BYTES", size)
        assert list(cut_file(path)) == expected
    assert len(expected) == 61


def test_a_message_beyond_all_measure_is_cut_and_the_next_one_read(tmp_path, monkeypatch):
    monkeypatch.setattr(splitting, "CHUNK_BYTES", 500)
    monkeypatch.setattr(splitting, "MAX_MESSAGE_BYTES", 4_000)
    found = pieces(tmp_path, f"{HEAD}\rOBX|1|ED|a||{'x' * 50_000}\r{HEAD}\rPID|2".encode())
    assert len(found) == 2
    assert field(found[1].segments[1], 1) == "2"
