"""Every example in the documents is run, in the order of its page, in an empty folder."""

from __future__ import annotations

from pathlib import Path

import pytest
from doc_examples import Beginnings, lines_match, read_examples, run_page, split_console

ROOT = Path(__file__).resolve().parents[2]
PAGES = sorted(
    page
    for page in (*ROOT.glob("*.md"), *(ROOT / "docs").rglob("*.md"))
    if page.parent.name != "reference" and read_examples(page.read_text(encoding="utf-8"))
)


@pytest.fixture(scope="module")
def beginnings(tmp_path_factory):
    return Beginnings(tmp_path_factory.mktemp("beginnings"))


@pytest.mark.parametrize("page", PAGES, ids=lambda page: str(page.relative_to(ROOT)))
def test_the_examples_of_this_page_do_what_it_says(page, tmp_path, beginnings):
    assert run_page(page, tmp_path, beginnings) > 0


def test_a_beginning_that_was_run_leaves_the_same_elsewhere(tmp_path):
    beginnings = Beginnings(tmp_path / "kept")
    (tmp_path / "one").mkdir()
    (tmp_path / "two").mkdir()
    commands = ("cubital card card.html",)
    assert beginnings.run(commands, tmp_path / "one") == beginnings.run(commands, tmp_path / "two")
    left = [
        sorted(str(path.relative_to(tmp_path / name)) for path in (tmp_path / name).rglob("*"))
        for name in ("one", "two")
    ]
    assert left[0] == left[1]
    assert len(beginnings.left) == 1


def test_the_pages_a_newcomer_reads_carry_examples():
    assert {"first-ten-minutes.md", "errors.md", "counts-alone.md"} <= {page.name for page in PAGES}


def test_a_wrong_line_in_an_example_is_noticed():
    assert not lines_match(["18 rows in"], ["19 rows in"])
    assert lines_match(["...", "19 rows ... (batch 1)"], ["note", "19 rows in (batch 1)"])


def test_a_missing_line_in_an_example_is_noticed():
    assert not lines_match(["one"], ["one", "two"])
    assert lines_match(["one", "..."], ["one", "two"])


def test_a_named_block_is_a_file_and_a_plain_one_is_left_alone():
    text = "```csv file=a.csv\nx\n```\n```text\ny\n```\n"
    assert [(example.kind, example.name) for example in read_examples(text)] == [("file", "a.csv")]


def test_a_console_block_is_split_at_its_prompts():
    assert split_console("$ cubital one\nout\n$ cubital two\n") == [("cubital one", ["out"]), ("cubital two", [])]
