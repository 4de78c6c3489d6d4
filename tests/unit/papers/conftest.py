"""Reads a finished page back with pypdf, which shares nothing with the typesetter."""

from __future__ import annotations

import io
import re
from dataclasses import dataclass
from datetime import datetime

import pytest
from pypdf import PdfReader

MILLIMETRE = 72 / 25.4


@dataclass(frozen=True)
class ReadBack:
    """A PDF as an independent reader sees it."""

    pages: int
    size_mm: tuple[float, float]
    words: str
    title: str
    language: str
    tagged: bool
    fonts: dict[str, bool]  # name without its subset prefix -> whether its program is embedded
    largest_points: float
    made: datetime | None


def _fonts(reader: PdfReader) -> dict[str, bool]:
    found = {}
    for font in reader.pages[0]["/Resources"]["/Font"].values():
        below = font.get_object()["/DescendantFonts"][0].get_object()
        descriptor = below["/FontDescriptor"].get_object()
        name = str(below["/BaseFont"]).split("+")[-1]
        found[name] = any(f"/FontFile{kind}" in descriptor for kind in ("", "2", "3"))
    return found


def read_page(content: bytes) -> ReadBack:
    reader = PdfReader(io.BytesIO(content))
    sizes: list[float] = []

    def note_size(text, _cm, tm, _font, size):
        if text.strip():
            sizes.append(abs(size * tm[3]))

    text = reader.pages[0].extract_text(visitor_text=note_size)
    root = reader.trailer["/Root"]
    box = reader.pages[0].mediabox
    return ReadBack(
        pages=len(reader.pages),
        size_mm=(round(float(box.width) / MILLIMETRE, 1), round(float(box.height) / MILLIMETRE, 1)),
        words=re.sub(r"\s+", " ", text),
        title=str(reader.metadata.title),
        language=str(root.get("/Lang")),
        tagged=bool(root["/MarkInfo"]["/Marked"]),
        fonts=_fonts(reader),
        largest_points=max(sizes),
        made=reader.metadata.creation_date,
    )


@pytest.fixture
def read():
    return read_page
