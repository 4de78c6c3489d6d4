"""Whatever the bytes are: no message stops another, and every message has its line."""

from __future__ import annotations

import tempfile
from pathlib import Path

from hypothesis import given
from hypothesis import strategies as st

from cubital.intake.hl7.lines import LineReader
from cubital.intake.hl7.reading import read_message_file
from cubital.intake.hl7.splitting import Damaged, read_messages

GOOD = (
    b"MSH|^~\\&|LIS|M|Q|M|20251103||ORU^R01|C1|P|2.5.1\rPID|1||77^^^M^MR||Doe^J||19490214|F\r"
    b"OBR|1||A1|600-7^Blood culture^LN|||202511031030-0600|||4711|||||||||||||||F\r"
    b"OBX|1|CWE|17928-3^Aerobe^LN|1|60875001^Staphylococcus epidermidis^SCT||||||F\r"
    b"SPM|1|P1^F1||BLDV^Venous^HL70487|||VENIP|LACF||||8^mL|||||202511031030|202511031100\r"
)
BYTES = st.sampled_from(
    [b"|", b"^", b"~", b"\\", b"&", b"\r", b"\n", b"\x0b", b"\x1c", b"\x00", b"\xff", b"\xe2\x80\xae",
                         b"MSH|", b"MSH", b"OBX|", b'""', b"\\X", b"FTS|1", b"-0600", b"9" * 30]
)  # fmt: skip
CHANGES = st.lists(st.tuples(st.integers(0, len(GOOD)), st.integers(0, 40), BYTES), min_size=1, max_size=6)


def mutated(changes: list[tuple[int, int, bytes]]) -> bytes:
    data = GOOD
    for place, cut, put in changes:
        data = data[:place] + put + data[place + cut :]
    return data


@given(changes=CHANGES)
def test_a_mutilated_message_leaves_its_neighbours_whole(changes):
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "feed.hl7"
        path.write_bytes(
            GOOD.replace(b"A1", b"FIRST") + b"\r" + mutated(changes) + b"\r" + GOOD.replace(b"A1", b"LAST")
        )
        table = read_message_file(path, name="feed", scratch=Path(folder), answers={})
        lines = table.sheet.path.read_text(encoding="utf-8").splitlines()
    assert lines[0].startswith("1,FIRST,77,1949-02-14,,2025-11-03 10:30:00,,2025-11-03 11:00:00")
    assert ",LAST,77,1949-02-14,,2025-11-03 10:30:00,,2025-11-03 11:00:00" in lines[-1]


@given(changes=CHANGES)
def test_every_message_has_at_least_one_line(changes):
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "feed.hl7"
        path.write_bytes(GOOD + mutated(changes))
        reader = LineReader({})
        for piece in read_messages(path):
            if not isinstance(piece, (list, Damaged)):
                assert list(reader.lines(piece))
