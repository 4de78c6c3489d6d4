"""The spike sheet from the month's page: one page, both papers."""

from __future__ import annotations

import io

import pytest
from pypdf import PdfReader

MONTH = {"month": "2025-11", "place": ""}


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_the_sheet_is_one_page(reader, paper):
    response = reader.get("/month/spike.pdf", MONTH | {"paper": paper})
    content = b"".join(response.streaming_content)
    found = PdfReader(io.BytesIO(content))
    words = found.pages[0].extract_text()
    assert len(found.pages) == 1
    assert words.index("1 Data") < words.index("2 Mix") < words.index("5 People, last")


def test_no_collector_of_the_file_is_on_the_sheet(reader):
    content = b"".join(reader.get("/month/spike.pdf", MONTH).streaming_content)
    words = PdfReader(io.BytesIO(content)).pages[0].extract_text()
    assert not any(mark in words for mark in ("OKO", "7731", "7702"))


def test_the_month_page_leads_to_the_sheet_and_the_odd_organisms(reader):
    page = reader.get("/month").content.decode()
    assert "Spike sheet" in page
    assert 'href="/clusters"' in page


def test_a_month_without_data_is_no_page(reader):
    assert reader.get("/month/spike.pdf", {"month": "2019-01", "place": ""}).status_code == 404
