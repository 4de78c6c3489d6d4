"""Formula injection. The list of dangerous beginnings is OWASP's page on CSV injection, from memory."""

from __future__ import annotations

import csv
import io

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cubital.papers.safe_text import neutral_text

SIGNS = "=+-@\t\r＝＋－＠"


@pytest.mark.parametrize(
    ("raw", "written"),
    [
        ("=1+1", "'=1+1"),
        ("+44 20", "'+44 20"),
        ("-5", "'-5"),
        ("@SUM(A1)", "'@SUM(A1)"),
        ("\t=1", " '=1"),
        ("\r=1", " '=1"),
        ("  =1", "  '=1"),
        ("a;=1+1", "a;'=1+1"),
        ('a,"=1+1', "a,\"'=1+1"),
        ("a\n=1+1", "a =1+1"),
        ("'=1+1", "'=1+1"),
        ("a|@x", "a|'@x"),
        ("＝1", "'＝1"),
        ("5001", "5001"),
        ("0005001", "0005001"),
        ("2.50E+10", "2.50E+10"),
        ("2025-11-01T22:10", "2025-11-01T22:10"),
        ("coag-neg staph", "coag-neg staph"),
        ("", ""),
    ],
)
def test_only_what_could_start_a_formula_gets_an_apostrophe(raw, written):
    assert neutral_text(raw) == written


def cells_under_any_separator(text):
    """Every cell that some spreadsheet could make of a text written as the only cell of a file."""
    yield text
    for separator in ",;|\t":
        for row in csv.reader(io.StringIO(text, newline=""), delimiter=separator):
            yield from row


@given(st.text(alphabet=SIGNS + "ab5 ;,|\n\x0b\"'", max_size=12))
def test_no_separator_makes_a_cell_that_starts_a_formula(text):
    for cell in cells_under_any_separator(neutral_text(text)):
        assert not cell.lstrip(' "').startswith(tuple(SIGNS))


@given(st.text(max_size=30))
def test_neutral_text_is_one_line_and_stable(text):
    once = neutral_text(text)
    assert once == neutral_text(once)
    assert len(once.splitlines()) <= 1
