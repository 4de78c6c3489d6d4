"""Fair comparisons and hours from a workspace: gathered cell by cell, adding up to what the month counts.

An invented laboratory file: two units, sets around the clock, nights contaminated four times as often (seed 8).
"""

from __future__ import annotations

import csv
import random
from datetime import datetime, timedelta

import pytest

from cubital.answers.compared_reading import read_comparison
from cubital.domain.answer import Verdict
from cubital.domain.errors import RequestProblem
from cubital.workspace.fair_answers import comparison_answer, hours_answer
from cubital.workspace.fair_gathering import FairAsk, FairBy, gather_comparison, gather_hours
from cubital.workspace.months import month_answer
from cubital.workspace.opening import open_workspace
from cubital.workspace.taking import take_file

HOSPITAL = "Marrowby General"
HEAD = ["ACC_NO", "MRN", "DOB", "LOC", "COLL_DT", "RECV_DT", "BOTTLE", "COLLECTOR", "STATUS", "RESULT"]


def write_month(path, *, sets=1_200):
    """A set every 36 minutes of November, two to a patient; of the first ones 21 % grow at night, 5 % by day."""
    start, luck = datetime.fromisoformat("2025-11-01 00:05"), random.Random(8)
    with path.open("w", newline="") as stream:
        writer = csv.writer(stream)
        writer.writerow(HEAD)
        for number in range(sets):
            when = start + timedelta(minutes=36 * number)
            night = when.hour >= 19 or when.hour < 7
            grows = number % 2 == 0 and luck.random() < (0.21 if night else 0.05)
            result = "STAPH EPIDERMIDIS" if grows else "NO GROWTH AT 5 DAYS"
            row = [5000 + number, 70_000 + number // 2, "1957-04-09", "ED" if number // 2 % 2 else "5 WEST", when,
                   when + timedelta(minutes=30), "AER", f"B{number % 17:03d}", "F", result]  # fmt: skip
            writer.writerow(f"{cell:%Y-%m-%d %H:%M}" if isinstance(cell, datetime) else cell for cell in row)
    return path


@pytest.fixture(scope="module")
def desk(tmp_path_factory):
    folder = tmp_path_factory.mktemp("fair")
    with open_workspace(folder / "w") as workspace:
        take_file(workspace, file=write_month(folder / "lab.csv"), facility=HOSPITAL, timezone="UTC", accept=True)
        yield workspace


@pytest.mark.parametrize("by", [FairBy.SHIFT, FairBy.WEEKEND, FairBy.METHOD, FairBy.FACILITY])
def test_cells_of_every_split_add_up_to_the_month(desk, by):
    month = month_answer(desk, month="2025-11").figure("contamination")
    material, receipt = gather_comparison(desk, FairAsk(by=by))
    assert sum(cell.sets for cell in material.cells) == month.denominator
    assert sum(cell.contaminated for cell in material.cells) == month.numerator
    assert receipt.data.startswith("batch 1")


def test_nights_are_found_and_said_with_the_caution(desk):
    answer = comparison_answer(desk, FairAsk(by=FairBy.SHIFT))
    assert answer.verdict is Verdict.SIGNAL
    assert (
        "of 100 sets drawn by day instead of at night" in answer.sentence
        or "at night instead of by day" in answer.sentence
    )
    assert any("links hours with contamination" in said for said in answer.cautions)


def test_collectors_are_clusters_and_never_shown(desk):
    material, _receipt = gather_comparison(desk, FairAsk(by=FairBy.WEEKEND))
    reading = read_comparison(material)
    answer = comparison_answer(desk, FairAsk(by=FairBy.WEEKEND))
    assert reading.model.clusters == 17
    said = repr(answer)
    assert not any(cell.cluster in said for cell in material.cells)
    assert "B003" not in said


def test_one_group_alone_cannot_be_compared(desk):
    answer = comparison_answer(desk, FairAsk(by=FairBy.FACILITY))
    assert answer.verdict is Verdict.TOO_FEW
    assert "two are needed to compare" in answer.sentence


def test_roles_without_a_staff_list_are_asked_for(desk):
    with pytest.raises(RequestProblem, match="roles are not known"):
        comparison_answer(desk, FairAsk(by=FairBy.ROLE))


def test_hours_add_up_and_the_night_is_found(desk):
    month = month_answer(desk, month="2025-11").figure("contamination")
    material, _receipt = gather_hours(desk, FairAsk())
    assert (int(material.sets.sum()) + material.untimed, int(material.contaminated.sum())) == (
        month.denominator, month.numerator,
    )  # fmt: skip
    answer = hours_answer(desk, FairAsk(), length=12)
    assert answer.sentence.startswith(("18:00", "19:00", "20:00"))
    assert "it is more than the number drawn" in answer.sentence
    assert answer.figure("per_hour").value == pytest.approx(1_200 / (30 * 24), rel=0.05)


def test_one_unit_can_be_asked_about_alone(desk):
    material, _receipt = gather_hours(desk, FairAsk(unit="ED"))
    assert int(material.sets.sum()) == 600


def test_an_empty_workspace_says_what_to_do(tmp_path):
    with open_workspace(tmp_path / "empty") as workspace, pytest.raises(RequestProblem, match="no file has been taken"):
        comparison_answer(workspace, FairAsk())
