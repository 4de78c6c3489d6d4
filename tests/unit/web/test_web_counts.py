"""Counts alone: typed, pasted or a file; the same answer; nothing kept.

The counts are those of the invented emergency department's two years; the sentence's numbers (19 of 498, 3.8 %, once in
sixteen months, first signal at 24) were computed by hand with the exact binomial distribution.
"""

from __future__ import annotations

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from web_reading import words_of

from cubital.web.counts.forms import with_headers

SETS = (
    472, 455, 503, 481, 490, 466, 512, 498, 477, 489, 505, 460,
    468, 483, 495, 474, 509, 487, 492, 470, 499, 481, 476, 498,
)  # fmt: skip
BAD = (14, 10, 9, 11, 18, 15, 6, 10, 10, 19, 12, 9, 16, 17, 11, 11, 16, 10, 16, 12, 14, 17, 6, 19)
MONTHS = [f"{2024 + (3 + i) // 12}-{(3 + i) % 12 + 1:02d}" for i in range(24)]
TABLE = "\n".join(f"{month}\t{sets}\t{bad}" for month, sets, bad in zip(MONTHS, SETS, BAD, strict=True))


def test_pasted_counts_get_the_whole_sentence(browser):
    said = words_of(browser.post("/counts", {"text": TABLE}))
    assert "March (19 of 498, 3.8 %)" in said
    assert "about once in sixteen months" in said
    assert "24 or more would have been a signal" in said


def test_a_file_of_counts_gets_the_same_sentence(browser):
    file = SimpleUploadedFile("counts.csv", f"month\tsets\tcontaminated\n{TABLE}".encode())
    assert "March (19 of 498, 3.8 %)" in words_of(browser.post("/counts", {"file": file}))


def test_nothing_of_the_file_is_kept(browser, workspace):
    browser.post("/counts", {"file": SimpleUploadedFile("counts.csv", b"month,sets,contaminated\n2026-03,498,19\n")})
    assert list((workspace.folder / "inbox").iterdir()) == []


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        ("", "Please type or paste your months, or choose a file."),
        ("2026-03 498 500", "more than all"),
        ("2026-13 498 19", "expected a month"),
        ("month,sets\n2026-03,498", "no column is called"),
        ("2026-03,498,19\n2026-02,476,6", "comes after"),
    ],
)
def test_counts_that_cannot_be_right_get_a_sentence(browser, text, sentence):
    response = browser.post("/counts", {"text": text})
    assert response.status_code == 400
    assert sentence in words_of(response)


def test_text_and_file_together_are_asked_apart(browser):
    file = SimpleUploadedFile("counts.csv", b"month,sets,contaminated\n2026-03,498,19\n")
    response = browser.post("/counts", {"text": TABLE, "file": file})
    assert "Please use one of the two" in words_of(response)


def test_a_file_that_is_no_table_of_counts_gets_a_sentence_at_its_field(browser):
    response = browser.post("/counts", {"file": SimpleUploadedFile("x.csv", b"a,b\n1,2\n")})
    assert response.status_code == 400
    assert "no column is called" in words_of(response)


@pytest.mark.parametrize(
    ("text", "first"),
    [
        ("2026-03 498 19", "month sets contaminated"),
        ("March 2026;498;19", "month;sets;contaminated"),
        ("month,sets,contaminated\n2026-03,498,19", "month,sets,contaminated"),
    ],
)
def test_headings_are_put_on_only_where_they_are_missing(text, first):
    done = with_headers(text)
    assert done.splitlines()[0] == first
    assert done.count("contaminated") == 1


def test_other_methods_are_refused(browser):
    assert browser.put("/counts").status_code == 405


def test_a_stranger_cannot_send_counts(stranger):
    assert stranger.post("/counts", {"text": TABLE}).status_code == 403
