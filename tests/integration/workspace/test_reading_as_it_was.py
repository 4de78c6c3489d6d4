"""A pinned workspace reads what was locked, decided, noted and named then, and nothing that came later."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, date, datetime
from pathlib import Path

import pytest

from cubital.answers.doubtful_file import Saying
from cubital.bedside.policy_file import EXAMPLE_SOURCE, example_policy, read_policy, write_policy
from cubital.domain.decisions import Decision
from cubital.domain.diary import ChangeKind
from cubital.workspace import records
from cubital.workspace.asking import ask_again
from cubital.workspace.baselines import list_baselines
from cubital.workspace.collecting import approve_collection_policy, save_collection_policy
from cubital.workspace.diary import list_entries, note_entry
from cubital.workspace.doubtful import decide_sets
from cubital.workspace.facilities import list_facilities
from cubital.workspace.opening import Workspace, open_workspace
from cubital.workspace.pins import at_pin, pin_now, pin_of, plain_pin
from cubital.workspace.receipts import keep_receipt
from cubital.workspace.reproducing import Sameness, again
from cubital.workspace.taking import take_file
from places_world import MARROWBY, THISTLECOMBE, write_network

FILES = Path(__file__).resolve().parents[2] / "acceptance" / "files"
OCTOBER = {"month": "2025-10"}
PHASES = {"question": "phases", "facility": MARROWBY, "unit": "ED"}


@pytest.fixture
def messy(tmp_path: Path) -> Iterator[Workspace]:
    with open_workspace(tmp_path / "workspace") as opened:
        take_file(opened, file=FILES / "marrowby.csv", facility=MARROWBY, timezone="America/Chicago", accept=True)
        yield opened


@pytest.fixture(scope="module")
def marrowby(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[Workspace, dict[str, Path]]]:
    folder = tmp_path_factory.mktemp("was")
    files = write_network(folder)
    with open_workspace(folder / "workspace") as opened:
        take_file(opened, file=files[MARROWBY], facility=MARROWBY, timezone="America/Chicago", accept=True)
        yield opened, files


def kept(workspace: Workspace, question: str, asked: dict[str, str]) -> str:
    answer = ask_again(workspace, question=question, asked=asked)
    return keep_receipt(workspace, question=question, asked=asked, answer=answer)


def test_a_pin_survives_being_written_down(messy: Workspace) -> None:
    pin = pin_now(messy)
    assert pin_of(plain_pin(pin)) == pin


def test_a_decision_of_microbiology_moves_todays_rate_and_not_the_old_one(messy: Workspace) -> None:
    """In the messy month 5003 has the same organism in both sets; decided a contaminant, October counts one more."""
    code = kept(messy, "month", OCTOBER)
    before = again(messy, code).answer.figure("contamination").numerator
    saying = Saying(facility=MARROWBY, accession="5003", decision=Decision.CONTAMINANT, why="other type")
    decide_sets(messy, sayings=[saying], initials="MK", role="medical microbiology", on=date(2025, 12, 1))
    found = again(messy, code)
    assert found.sameness is Sameness.SAME
    assert found.today is not None
    assert found.today.figure("contamination").numerator == (before or 0) + 1
    assert "Medical microbiology decided about doubtful sets since." in found.reasons


def test_the_diary_of_then(messy: Workspace) -> None:
    note_entry(messy, kind=ChangeKind.TRAINING, on=date(2025, 10, 5), words="Simulation for all")
    code = kept(messy, "month", OCTOBER)
    pinned = at_pin(messy, pin_now(messy))
    note_entry(messy, kind=ChangeKind.KIT, on=date(2025, 10, 9), words="New kit")
    assert [one.words for one in list_entries(pinned)] == ["Simulation for all"]
    assert len(list_entries(messy)) == 2
    assert again(messy, code).sameness is Sameness.SAME


def test_a_baseline_and_a_hospital_that_came_later(marrowby: tuple[Workspace, dict[str, Path]]) -> None:
    workspace, files = marrowby
    first = kept(workspace, "signal", PHASES)
    network = kept(workspace, "signal", {"question": "since"})
    pinned = at_pin(workspace, pin_now(workspace))
    records.Baseline.objects.using(workspace.alias).create(  # a year is too short to lock one by the usual way
        facility=records.Facility.objects.using(workspace.alias).get(name=MARROWBY), unit_key="ed", first="2025-01",
        last="2025-06", locked_by="A. Reed", role="educator", locked_on=date(2026, 1, 5), why="before the kits",
        charter=1, batch=1, noted_at=datetime(2026, 1, 5, tzinfo=UTC),
    )  # fmt: skip
    take_file(workspace, file=files[THISTLECOMBE], facility=THISTLECOMBE, timezone="America/Chicago", accept=True)
    assert len(list_baselines(workspace, facility=MARROWBY, unit="ED")) == 1
    assert list_baselines(pinned, facility=MARROWBY, unit="ED") == ()
    assert [one.name for one in list_facilities(pinned)] == [MARROWBY]
    assert again(workspace, first).sameness is Sameness.SAME
    found = again(workspace, network)
    assert found.sameness is Sameness.SAME
    assert f"{THISTLECOMBE} was added since." in found.reasons


def test_a_policy_on_collecting_that_was_approved_later_is_not_in_the_diary_of_then(messy: Workspace) -> None:
    pinned = at_pin(messy, pin_now(messy))
    text = write_policy(replace(example_policy(), name="Our own", example=False)).replace(EXAMPLE_SOURCE, "our minutes")
    version = save_collection_policy(messy, policy=read_policy(text)).version
    approve_collection_policy(
        messy, version=version, approved_by="B. Lund", on=date(2025, 10, 3), review_by=date(2026, 10, 3)
    )
    assert [one.kind for one in list_entries(messy)] == [ChangeKind.POLICY]
    assert list_entries(pinned) == ()
