"""Two packs of one hospital, a year apart; in between the laboratory amends a month that the first one spoke of.

Every count is written into the laboratory files below, so that what the packs must say is known. The subtraction
attack over both packs and a counts table is the same exact whole-number attack as for published tables.
"""

from __future__ import annotations

import io
import re
from pathlib import Path

import pytest
from acceptance_shell import Shell
from printed_counts import Cell, Printed, attack_versions, read_counts_file
from pypdf import PdfReader
from quarter_files import write_laboratory_file

HOSPITAL = "Orrin Quay Children's"
NAMES = ("Okoro", "Moravec", "Ruiz", "Ferro", "P4821")
YEARS = ("2023", "2024", "2025", "2026")
MONTHS = tuple(f"{year}-{number:02d}" for year in YEARS for number in range(1, 13))
FIRST, SECOND = MONTHS[:27], MONTHS[:39]  # to March 2025, to March 2026
QUARTERS = tuple(f"{year}-{number:02d}" for year in ("2025", "2026") for number in (1, 2, 3))


def counts_of(month: str, *, amended: bool = False) -> dict[str, tuple[int, int]]:
    """Contaminated and sets by unit: steady units, an infant unit without any, a step-down unit with few."""
    turn = MONTHS.index(month)
    few = 1 if turn % 6 == 0 else 0
    emergency = (5, 6, 4, 7, 5, 6)[turn % 6] + (2 if amended and month == "2025-02" else 0)
    oncology = (3, 4, 5, 3, 4, 5)[turn % 6]
    return {
        "EMERGENCY": (emergency, 160), "ONCOLOGY": (oncology, 120), "INFANT": (0, 24), "STEP-DOWN": (few, 18),
    }  # fmt: skip


def months_of(months: tuple[str, ...], *, amended: bool = False) -> dict[tuple[str, str], tuple[int, int]]:
    return {(unit, month): pair for month in months for unit, pair in counts_of(month, amended=amended).items()}


def whole(months: tuple[str, ...], *, amended: bool = False) -> tuple[int, int]:
    pairs = [pair for month in months for pair in counts_of(month, amended=amended).values()]
    return sum(x for x, _n in pairs), sum(n for _x, n in pairs)


class Story:
    """The workspace with both packs, and what the first one was computed as."""

    def __init__(self, folder: Path) -> None:
        self.folder, self.shell = folder, Shell(folder / "workspace")
        self.take("history.csv", FIRST)
        self.first = folder / "pack-2025.pdf"
        self.said_first = self.make(self.first, "2025-01", "2025-03", on="2025-04-10")
        self.receipts = self.shell.json("pack", "list")[0]["receipts"]
        self.bytes_first = self.first.read_bytes()
        self.open_actions()
        self.take("later.csv", SECOND, amended=True)
        self.second = folder / "pack-2026.pdf"
        self.said_second = self.make(self.second, "2026-01", "2026-03", on="2026-04-09")

    def take(self, name: str, months: tuple[str, ...], *, amended: bool = False) -> None:
        file = write_laboratory_file(self.folder / name, months_of(months, amended=amended), first=1000)
        self.shell.json("take", file, "--facility", HOSPITAL, "--timezone", "America/Chicago", "--yes")

    def make(self, out: Path, first: str, last: str, *, on: str) -> str:
        return self.shell.ok(
            "pack", "make", out, "--from", first, "--to", last, "--on", on,
            "--ask", "To fit a timer to every trolley of the emergency unit.",
        )  # fmt: skip

    def open_actions(self) -> None:
        self.shell.ok(
            "actions", "open", "Timers on every trolley", "--owner", "emergency lead", "--due", "2025-07-01", "--on",
            "2025-04-14",
        )  # fmt: skip
        self.shell.ok(
            "actions", "open", "Twelve night observations", "--owner", "practice education", "--due", "2025-06-01",
            "--on", "2025-04-14",
        )  # fmt: skip
        self.shell.ok("actions", "done", "2", "--on", "2025-05-30")

    def text(self, paper: Path) -> str:
        pages = PdfReader(io.BytesIO(paper.read_bytes())).pages
        return re.sub(r"\s+", " ", " ".join(page.extract_text() for page in pages))


@pytest.fixture(scope="module")
def story(tmp_path_factory: pytest.TempPathFactory) -> Story:
    return Story(tmp_path_factory.mktemp("two packs"))


def test_each_pack_says_the_quarter_as_the_files_have_it(story: Story) -> None:
    x, n = whole(("2025-01", "2025-02", "2025-03"))
    assert f"January to March 2025 ({x} of {n}" in story.said_first
    x, n = whole(("2026-01", "2026-02", "2026-03"))
    assert f"January to March 2026 ({x} of {n}" in story.said_second


def test_the_second_pack_keeps_the_old_figures_with_day_and_reason(story: Story) -> None:
    """The month and the quarter that held it are two contaminated sets higher; nothing else reads otherwise."""
    old, sets = whole(("2025-02",))
    old_quarter, quarter_sets = whole(("2025-01", "2025-02", "2025-03"))
    pack = story.shell.json("pack", "list")[1]
    rows = [row[:4] for row in pack["said"]["restated"]]
    assert len(rows) == 2
    assert [row[0] for row in rows] == ["February 2025", "January to March 2025"] or [row[0] for row in rows] == [
        "January to March 2025", "February 2025",
    ]  # fmt: skip
    text = story.text(story.second)
    assert f"{old} of {sets} (" in text
    assert f"{old + 2} of {sets} (" in text
    assert f"{old_quarter} of {quarter_sets} (" in text
    assert f"{old_quarter + 2} of {quarter_sets} (" in text
    assert "pack 1, 10 April 2025" in text
    assert "batch 2 of" in text
    assert "2 figures of earlier packs read otherwise today" in story.said_second


def test_the_first_pack_prints_again_byte_for_byte(story: Story, tmp_path: Path) -> None:
    story.shell.ok("pack", "print", 1, tmp_path / "again.pdf")
    assert (tmp_path / "again.pdf").read_bytes() == story.bytes_first


def test_its_receipts_compute_the_old_figures_after_the_restatement(story: Story) -> None:
    x, n = whole(("2025-01", "2025-02", "2025-03"))
    assert len(story.receipts) == 3
    for code in story.receipts:
        said = story.shell.ok("again", code)
        assert "to the last digit" in said or "the same" in said.casefold()
    assert f"({x} of {n}" in story.shell.ok("again", story.receipts[0])


def test_actions_stand_in_the_second_pack_with_role_day_and_age(story: Story) -> None:
    """Opened on 14 April 2025, due on 1 July: 360 days old and 282 overdue on 9 April 2026."""
    text = story.text(story.second)
    assert "One action is open, overdue by 282 days; it is 360 days old. 1 is done." in text
    assert "emergency lead" in text
    assert "done on 30 May 2025" in text
    assert "No action has been opened yet." in story.text(story.first)


def test_none_of_24_is_not_taken_for_a_success(story: Story) -> None:
    """72 infant sets in a quarter: 0.98 to the power of 72 is 23 %."""
    if "Infant" in story.text(story.second):
        assert "0 of 72: 23 % likely even at 2 %" in story.text(story.second) or "hidden" in story.text(story.second)


def test_contamination_never_stands_alone(story: Story) -> None:
    for paper in (story.first, story.second):
        first_page = PdfReader(io.BytesIO(paper.read_bytes())).pages[0].extract_text()
        words = re.sub(r"\s+", " ", first_page)
        for company in ("single sets", "both bottles", "fill", "grew something", "patient-days"):
            assert company in words


def test_no_person_stands_in_a_pack_and_none_can_be_asked_of_it(story: Story) -> None:
    for paper in (story.first, story.second):
        assert not [name for name in NAMES if name in story.text(paper)]
        assert "Units only; no person stands in this pack, and none can be asked of it." in story.text(paper)
    asked = ("--from", "2026-01", "--to", "2026-03", "--ask", "To retrain Dr. Okoro.")
    done = story.shell.run("pack", "make", story.folder / "x.pdf", *asked)
    assert done.returncode != 0
    assert "looks like one person" in done.stderr
    assert not (story.folder / "x.pdf").exists()


def printed_of(story: Story, number: int) -> Printed:
    """Every count that the pack shows of contaminated sets: of units over the quarter, and of the whole by month."""
    pack = story.shell.json("pack", "list")[number]
    span = {"2025-03": "2025-Q1", "2026-03": "2026-Q1"}[pack["to_month"]]
    counts: dict[Cell, int | None] = {}
    sizes: dict[Cell, int] = {}
    for first, last, count, sets in pack["said"]["figures"]:
        cell = ("contaminated", HOSPITAL, "", first if first == last else span)
        if first in QUARTERS:
            counts[cell], sizes[cell] = count, sets
    table = next(block for block in pack["said"]["printed"]["pages"][2]["blocks"] if block["kind"] == "table")
    for name, sets, count, *_rest in table["rows"]:
        cell = ("contaminated", HOSPITAL, name.casefold(), span)
        counts[cell], sizes[cell] = None if count == "hidden" else int(count), int(sets.replace(",", ""))
    return Printed(counts, sizes)


def test_both_packs_and_a_counts_table_in_one_hand_give_no_small_count_away(story: Story, tmp_path: Path) -> None:
    old, new = truth_of(FIRST), truth_of(SECOND, amended=True)
    story.shell.ok("export", "counts", tmp_path / "counts.csv", "--from", "2026-01", "--to", "2026-03")
    files = [(printed_of(story, 0), old), (printed_of(story, 1), new), (read_counts_file(tmp_path / "counts.csv"), new)]
    for one, _truth in files:
        assert not [cell for cell, count in one.counts.items() if count is not None and 1 <= count <= 4]
    known = attack_versions(files)
    small = {key: found for key, found in known.items() if 1 <= key[1] <= 4}
    assert ("contaminated", HOSPITAL, "step-down", "2025-Q1") in {cell for cell, _value in small}
    assert not {key: found for key, found in small.items() if found.least > 1 or found.most < 4}


def test_the_attack_can_succeed(story: Story) -> None:
    """With the step-down unit's one set hidden alone, the quarter's total gives it away."""
    careless = printed_of(story, 0)
    truth = truth_of(FIRST)
    cell = ("contaminated", HOSPITAL, "step-down", "2025-Q1")
    known = attack_versions([(careless.showing_all_but({cell}, truth=truth), truth)])
    assert (known[cell, 1].least, known[cell, 1].most) == (1, 1)


def truth_of(months: tuple[str, ...], *, amended: bool = False) -> dict[Cell, int]:
    """The true counts by unit and month that a reader tries to find: those of the quarters that the packs are about."""
    held = months_of(tuple(month for month in months if month in QUARTERS), amended=amended)
    return {("contaminated", HOSPITAL, unit.casefold(), month): pair[0] for (unit, month), pair in held.items()}


def test_the_minute_has_decision_owner_and_day_in_words_for_an_audit(story: Story, tmp_path: Path) -> None:
    story.shell.ok(
        "pack", "minute", 1, tmp_path / "minute.txt", "--decision", "agreed", "--on", "2025-04-14",
    )  # fmt: skip
    text = re.sub(r"\s+", " ", (tmp_path / "minute.txt").read_text())
    assert "The committee agreed to what was asked, as worded above, on 14 April 2025." in text
    assert "Action 1: Timers on every trolley. Owner: emergency lead. Due: 1 July 2025." in text
    assert "Action 2: Twelve night observations. Owner: practice education. Due: 1 June 2025." in text
    assert "Draft, to be confirmed by the chair" in text
    assert story.receipts[0] in text
    story.shell.ok("pack", "minute", 1, tmp_path / "minute.pdf", "--decision", "agreed", "--on", "2025-04-14")
    page = PdfReader(io.BytesIO((tmp_path / "minute.pdf").read_bytes())).pages
    assert len(page) == 1
    assert "Owner: emergency lead" in re.sub(r"\s+", " ", page[0].extract_text())
    story.shell.ok("pack", "minute", 2, tmp_path / "second.txt", "--on", "2026-04-14")
    assert "because batch 2 of" in re.sub(r"\s+", " ", (tmp_path / "second.txt").read_text())


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_six_pages_on_both_papers_tagged_and_titled(story: Story, tmp_path: Path, paper: str) -> None:
    story.shell.ok("pack", "print", 2, tmp_path / "pack.pdf", "--paper", paper)
    reader = PdfReader(tmp_path / "pack.pdf")
    assert len(reader.pages) == 6
    width, height = (float(side) for side in reader.pages[0].mediabox[2:])
    assert (round(width), round(height)) == ((595, 842) if paper == "a4" else (612, 792))
    assert reader.trailer["/Root"]["/MarkInfo"]["/Marked"]
    assert str(reader.trailer["/Root"]["/Lang"]) == "en"
    assert reader.metadata.title == f"Blood cultures, {HOSPITAL}: January to March 2026"
