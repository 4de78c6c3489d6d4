"""Pages of a workspace, read back with pypdf."""

from __future__ import annotations

import io
import re
from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest
from pypdf import PdfReader

from cubital.domain.charter import Population, Signature
from cubital.domain.errors import CharterProblem, MachineProblem, RequestProblem
from cubital.workspace.charters import current_charter, save_charter, sign_charter
from cubital.workspace.months import month_answer
from cubital.workspace.opening import open_workspace
from cubital.workspace.policies import approve_policy, current_policy
from cubital.workspace.printing import charter_bench, policy_lines, print_charter, print_unit
from cubital.workspace.taking import take_file

FILES = Path(__file__).parents[2] / "acceptance" / "files"
TODAY = date(2025, 12, 1)


@pytest.fixture(scope="module")
def workspace(tmp_path_factory):
    """Two hospitals' files of one messy month, taken; nothing signed, nothing approved. Read only."""
    with open_workspace(tmp_path_factory.mktemp("printing") / "workspace") as opened:
        for file, facility in (("marrowby.csv", "Marrowby General"), ("thistlecombe.csv", "Thistlecombe Community")):
            take_file(opened, file=FILES / file, facility=facility, timezone="America/Chicago", accept=True)
        yield opened


def one_page(path):
    reader = PdfReader(io.BytesIO(path.read_bytes()))
    assert len(reader.pages) == 1
    return re.sub(r"\s+", " ", reader.pages[0].extract_text())


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_the_units_page_carries_the_answers_own_sentence(workspace, tmp_path, paper):
    out = tmp_path / "unit.pdf"
    print_unit(
        workspace, month="2025-11", facility="Marrowby General", unit="ED", out=out, paper=paper, for_others=False,
        today=TODAY,
    )  # fmt: skip
    answer = month_answer(workspace, month="2025-11", facility="Marrowby General", unit="ED")
    words = one_page(out)
    assert answer.sentence in words
    assert "Marrowby General · ED" in words
    assert "Counted by charter 1 (one of several, 24 hours), not signed" in words


def test_a_hospital_and_the_network_have_a_page_too(workspace, tmp_path):
    print_unit(workspace, month="2025-11", facility="Marrowby General", out=tmp_path / "a.pdf", today=TODAY)
    print_unit(workspace, month="2025-11", out=tmp_path / "b.pdf", today=TODAY)
    assert "Marrowby General" in one_page(tmp_path / "a.pdf")
    assert "The whole network" in one_page(tmp_path / "b.pdf")


def test_the_charters_page_counts_the_four_definitions_on_this_data(workspace, tmp_path):
    print_charter(workspace, out=tmp_path / "charter.pdf", for_others=False, today=TODAY)
    words = one_page(tmp_path / "charter.pdf")
    for counts in ("4 of 18", "4 of 14", "6 of 18", "9 of 18"):  # the story's numbers: adults only
        assert counts in words
    assert words.count("(this charter)") == 1
    assert current_charter(workspace).fingerprint in words


def test_definitions_that_differ_by_a_few_sets_show_no_counts_to_others(workspace, tmp_path):
    print_charter(workspace, out=tmp_path / "charter.pdf", today=TODAY)
    words = one_page(tmp_path / "charter.pdf")
    assert words.count("not shown to others") == 4
    assert "of 18" not in words


def test_a_charter_of_adults_has_adults_counted_by_every_definition(workspace, tmp_path):
    adults = replace(current_charter(workspace).charter, population=Population.ADULTS)
    lines = charter_bench(workspace, adults, first="2025-10", last="2025-11")
    assert [(line.numerator, line.denominator) for line in lines] == [(4, 18), (4, 14), (6, 18), (9, 18)]
    assert [line.is_this for line in lines] == [True, False, False, False]


def test_a_charter_of_ones_own_stands_first_on_the_bench(workspace):
    own = replace(current_charter(workspace).charter, window_hours=48, name="Ours")
    lines = charter_bench(workspace, own, first="2025-10", last="2025-11")
    assert (len(lines), lines[0].name, lines[0].is_this) == (5, "Ours", True)


def test_a_small_count_is_not_on_a_page_that_others_see(workspace, tmp_path):
    out = tmp_path / "unit.pdf"
    print_unit(workspace, month="2025-11", facility="Marrowby General", unit="ED", out=out, today=TODAY)
    answer = month_answer(workspace, month="2025-11", facility="Marrowby General", unit="ED")
    assert 1 <= answer.figure("contamination").numerator <= 4
    words = one_page(out)
    assert "5 sets were counted" in words
    assert "is not shown on a page that others see" in words
    assert answer.sentence not in words


def test_the_units_own_page_says_that_it_stays(workspace, tmp_path):
    out = tmp_path / "unit.pdf"
    print_unit(
        workspace, month="2025-11", facility="Marrowby General", unit="ED", out=out, for_others=False, today=TODAY
    )
    assert "Keep in mind – The unit's own page: small counts are not hidden on it." in one_page(out)


def test_a_workspace_without_data_prints_its_charter_without_a_bench(tmp_path):
    with open_workspace(tmp_path / "empty") as empty:
        print_charter(empty, out=tmp_path / "charter.pdf", today=TODAY)
    assert "under each definition" not in one_page(tmp_path / "charter.pdf")


def test_a_signed_charter_prints_its_signatures(tmp_path):
    signed = Signature(name="B. Quill", role="Lead microbiologist", signed_on=date(2025, 11, 30))
    with open_workspace(tmp_path / "signed") as opened:
        sign_charter(opened, version=1, name=signed.name, role=signed.role, on=signed.signed_on)
        print_charter(opened, out=tmp_path / "charter.pdf", today=TODAY)
    assert "B. Quill Lead microbiologist 30 November 2025" in one_page(tmp_path / "charter.pdf")


def test_only_an_approved_policy_in_date_draws_lines(tmp_path):
    with open_workspace(tmp_path / "policy") as opened:
        assert policy_lines(opened, TODAY) == {}
        version = current_policy(opened).version
        approve_policy(
            opened, version=version, approved_by="C. Verrin", on=date(2025, 11, 1), review_by=date(2026, 11, 1)
        )
        assert policy_lines(opened, TODAY)["bottles_complete"] == 0.9
        assert policy_lines(opened, date(2026, 11, 2)) == {}


def test_single_sets_are_judged_only_where_adults_are_counted(tmp_path):
    with open_workspace(tmp_path / "adults") as opened:
        version = current_policy(opened).version
        approve_policy(
            opened, version=version, approved_by="C. Verrin", on=date(2025, 11, 1), review_by=date(2026, 11, 1)
        )
        assert policy_lines(opened, TODAY)["solitary_by_episode"] == 0.2
        save_charter(opened, charter=replace(current_charter(opened).charter, population=Population.EVERYONE))
        assert "solitary_by_episode" not in policy_lines(opened, TODAY)


def test_a_place_that_cannot_be_written_keeps_what_was_there(workspace, tmp_path, monkeypatch):
    out = tmp_path / "charter.pdf"
    out.write_text("before")

    def refuse(self, content):
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(type(out), "write_bytes", refuse)
    with pytest.raises(MachineProblem, match="cannot be written here"):
        print_charter(workspace, out=out, today=TODAY)
    assert out.read_text() == "before"
    assert [path.name for path in tmp_path.iterdir()] == ["charter.pdf"]


def test_unknown_paper_place_and_version_end_in_sentences(workspace, tmp_path):
    out = tmp_path / "x.pdf"
    with pytest.raises(RequestProblem, match="Choose one of: a4, letter"):
        print_charter(workspace, out=out, paper="a5")
    with pytest.raises(CharterProblem, match="no charter version 9"):
        print_charter(workspace, out=out, version=9)
    with pytest.raises(RequestProblem, match="no folder"):
        print_charter(workspace, out=tmp_path / "nowhere" / "x.pdf")
    with pytest.raises(RequestProblem, match="no facility 'Nowhere'"):
        print_unit(workspace, month="2025-11", facility="Nowhere", out=out)
    assert list(tmp_path.iterdir()) == []
