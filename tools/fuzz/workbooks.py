"""Workbooks whose parts were changed: XML cut, doubled, filled with entities, cells far out, names that climb."""

from __future__ import annotations

import io
import random
import zipfile
from functools import lru_cache

ENTITIES = (
    b'<?xml version="1.0"?><!DOCTYPE l [<!ENTITY a "aaaaaaaaaa">'
    + b"".join(b'<!ENTITY %c "%s">' % (98 + n, b"&%c;" % (97 + n) * 10) for n in range(9))
    + b"]><worksheet>&j;</worksheet>"
)
ODD = (
    b"", b"\x00", b"<", b"&#0;", b"&j;", b'r="XFD1048576"', b'r="A99999999999"', b't="e"', b"<f>1+1</f>", b'count="-1"',
    b"1e999", b"\xff\xfe", b"</row>", b"<v>45000.5</v>", b"\xe2\x80\xae",
)  # fmt: skip


@lru_cache
def _parts() -> tuple[tuple[str, bytes], ...]:
    import xlsxwriter

    stream = io.BytesIO()
    with xlsxwriter.Workbook(stream, {"in_memory": True}) as book:
        sheet = book.add_worksheet("Cultures")
        sheet.write_row(0, 0, ["Accession", "Patient", "Collected", "Result"])
        for row in range(1, 4):
            sheet.write_row(row, 0, [f"A{row}", "7001", "2026-03-04 08:15", "No growth"])
    with zipfile.ZipFile(stream) as archive:
        return tuple((part.filename, archive.read(part)) for part in archive.infolist())


def twisted_workbook(data: bytes) -> bytes:
    """The same bytes always give the same workbook."""
    choose = random.Random(data)  # noqa: S311 nothing secret
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in _parts():
            if choose.random() < 0.08:
                continue
            archive.writestr(_name(name, choose), _content(content, choose))
    whole = bytearray(stream.getvalue())
    if choose.random() < 0.2:
        for _turn in range(choose.randrange(1, 6)):
            whole[choose.randrange(len(whole))] = choose.randrange(256)
    return bytes(whole[: choose.randrange(len(whole))]) if choose.random() < 0.1 else bytes(whole)


def _name(name: str, choose: random.Random) -> str:
    return choose.choice(("../../" + name, "/" + name, name + "\x00", "C:" + name)) if choose.random() < 0.02 else name


def _content(content: bytes, choose: random.Random) -> bytes:
    if choose.random() < 0.6:
        return content
    if choose.random() < 0.1:
        return ENTITIES
    place = choose.randrange(len(content) + 1)
    skipped = choose.randrange(40)
    return content[:place] + choose.choice(ODD) + content[place + skipped :]
