"""What may be missed, from the cultures of a workspace: the invented file's own counts, worked out while writing it.

One month of 300 episodes: every third has a single set, every tenth grows Escherichia coli (a pathogen by every list);
the last 30 episodes are of children.
"""

from __future__ import annotations

import csv
import json
from dataclasses import asdict
from datetime import date, datetime, timedelta

import numpy as np
import pytest

from cubital.bedside.policy_file import example_policy
from cubital.domain.answer import Verdict
from cubital.domain.errors import RequestProblem
from cubital.judge.cells import CellCounts, Dimension
from cubital.reference.policy_drivers import Share
from cubital.workspace.collecting import approve_collection_policy, mark_demo, save_collection_policy
from cubital.workspace.driver_gathering import _method_shares, driver_answer
from cubital.workspace.missed import SINGLE_SETS, VOLUME, MissedAsk, answer_asked, fill_rules, plain_asked
from cubital.workspace.missed_gathering import PlaceAsk, _cautions, gather_found, gather_found_if_any
from cubital.workspace.opening import open_workspace
from cubital.workspace.overfilled import overfilled_answer
from cubital.workspace.receipts import keep_receipt
from cubital.workspace.reproducing import Sameness, again
from cubital.workspace.taking import take_file

HEAD = ["ACC_NO", "MRN", "DOB", "LOC", "COLL_DT", "RECV_DT", "BOTTLE", "COLLECTOR", "STATUS", "RESULT"]
EPISODES, CHILDREN = 300, 30
TODAY = date(2026, 3, 10)


def write_month(path, *, first="2025-11-01 00:05", accession=5000):
    start = datetime.fromisoformat(first)
    with path.open("w", newline="") as stream:
        writer = csv.writer(stream)
        writer.writerow(HEAD)
        for number in range(EPISODES):
            born = "2018-04-09" if number >= EPISODES - CHILDREN else "1957-04-09"
            for repeat in range(1 if number % 3 == 0 else 2):
                when = start + timedelta(minutes=140 * number + 10 * repeat)
                result = "ESCHERICHIA COLI" if number % 10 == 0 else "NO GROWTH AT 5 DAYS"
                accession += 1
                times = (f"{one:%Y-%m-%d %H:%M}" for one in (when, when + timedelta(minutes=30)))
                writer.writerow([accession, 70_000 + number, born, "ED", *times, "AER", "B001", "F", result])
    return path


@pytest.fixture(scope="module")
def desk(tmp_path_factory):
    folder = tmp_path_factory.mktemp("missed")
    with open_workspace(folder / "w") as workspace:
        take_file(workspace, file=write_month(folder / "lab.csv"), facility="Marrowby", timezone="UTC", accept=True)
        yield workspace


@pytest.fixture(scope="module")
def policy(tmp_path_factory):
    with open_workspace(tmp_path_factory.mktemp("policy") / "w") as workspace:
        mark_demo(workspace)
        saved = save_collection_policy(workspace, policy=example_policy())
        return approve_collection_policy(
            workspace, version=saved.version, approved_by="Ada Invented", on=date(2026, 1, 5),
            review_by=date(2027, 1, 5),
        )  # fmt: skip


def ask(given, policy, workspace=None, *, question=VOLUME):
    place = None if workspace is None else PlaceAsk()
    asked = plain_asked(given, question=question, policy=policy, today=TODAY, place=place)
    return answer_asked(json.loads(json.dumps(asked)), workspace=workspace)  # as a receipt keeps it


def test_infections_and_single_sets_are_counted_by_episode(desk):
    here = gather_found(desk, PlaceAsk())
    assert here.months == 1
    assert here.found == 27 * 12  # 30 episodes grow, 3 of them children's; one month put as a year
    assert here.episodes == 270  # the charter counts adults
    assert here.single_share == pytest.approx(90 / 270)
    assert here.positive_share == pytest.approx(27 / 270)
    assert any("put as a year" in words for words in here.cautions)


def test_children_and_sets_of_nobody_are_said():
    said = " ".join(_cautions(12, children=0.1, unpairable=2))
    assert "Children's infections are left out" in said
    assert "2 sets have no patient or no time" in said
    assert "put as a year" not in said


def test_the_answer_is_made_of_what_the_workspace_holds(desk, policy):
    said = ask(MissedAsk(mean_ml=22.4), policy, desk)
    assert said.figure("found").value == 324
    assert said.figure("target_ml").value == 36
    assert "model-dependent" in said.sentence
    assert said.receipt.data.startswith("batch 1")


def test_single_sets_of_the_workspace_are_a_range(desk, policy):
    said = ask(MissedAsk(), policy, desk, question=SINGLE_SETS)
    assert said.figure("single_share").numerator == 90
    assert said.figure("single_share").denominator == 270
    assert "33.3 % of episodes have a single set" in said.sentence


def test_what_was_said_goes_before_what_was_counted(desk, policy):
    said = ask(MissedAsk(found=500, single_share=0.5), policy, desk, question=SINGLE_SETS)
    assert said.figure("found").value == 500
    assert said.figure("single_share").value == 0.5
    assert said.figure("single_share").denominator is None


def test_the_example_policy_wants_36_and_allows_40(policy):
    rules = fill_rules(policy, TODAY)
    assert (rules.target_ml, rules.cap_ml, rules.bottles) == (36, 40, 4)
    assert rules.silence == ""


def test_drivers_know_the_night_and_the_single_sets(desk):
    said = driver_answer(desk, PlaceAsk())
    rows = {row[0]: row[3] for row in said.table.rows}
    assert rows["always a second set (infections found)"] == "33.3 % of episodes with a single set"
    assert "of sets at night" in rows["fill checked at night (fill of the bottles)"]
    assert rows["no draws from lines unless asked for (contaminated sets)"] == "not known here"


def test_lines_are_a_share_of_sets_whose_method_is_known():
    methods = ("central_line", "venepuncture", "new_cannula", "unknown", "arterial")
    cells = CellCounts(
        keys={Dimension.METHOD: methods}, numerator=np.zeros(5, dtype=np.int64),
        denominator=np.array([10, 60, 20, 500, 10]), sets=np.array([10, 60, 20, 500, 10]),
        positives=np.zeros(5, dtype=np.int64),
    )  # fmt: skip
    assert _method_shares(cells) == {Share.LINE: 0.2, Share.NEW_CANNULA: 0.2}


def weigh_sheet(path, bottles, *, sets):
    rows = [f"{number},{bottle},{60.0 + 7 + number % 4}" for number in range(sets) for bottle in bottles]
    path.write_text("\n".join(["accession,bottle,gross g", *rows]), encoding="utf-8")
    return path


def test_a_weigh_in_of_forty_sets_is_a_range_with_its_error(policy, tmp_path):
    sheet = weigh_sheet(tmp_path / "sheet.csv", ("AER", "ANA"), sets=40)
    given = MissedAsk(found=216, single_share=0.2, weights=sheet, tares={"aerobic": 60.0, "anaerobic": 60.0})
    said = ask(given, policy)
    # 7 to 10 g in a bottle, 8.5 on average: 16.1 mL in a set, 1.8 sets in an episode.
    mean = said.figure("mean_ml")
    assert mean.value == pytest.approx(1.8 * 2 * 8.5 / 1.055, rel=1e-3)
    assert mean.low < mean.value < mean.high
    assert said.figure("model_curve").low < said.figure("model_curve").high
    assert any("taken as two sets" in words for words in said.cautions)


def test_a_sheet_alone_does_not_know_the_episodes(policy, tmp_path):
    sheet = weigh_sheet(tmp_path / "sheet.csv", ("AER", "ANA"), sets=40)
    given = MissedAsk(found=216, weights=sheet, tares={"aerobic": 60.0, "anaerobic": 60.0})
    said = ask(given, policy)
    assert said.verdict is Verdict.REFUSED
    assert "share of single sets" in said.sentence


def test_a_sheet_of_children_is_refused(policy, tmp_path):
    sheet = weigh_sheet(tmp_path / "sheet.csv", ("PED",), sets=40)
    given = MissedAsk(found=216, single_share=0.2, weights=sheet, tares={"paediatric": 60.0})
    assert "adults" in ask(given, policy).sentence


def test_a_file_without_fill_is_said_in_so_many_words(desk):
    assert overfilled_answer(desk, PlaceAsk()).verdict is Verdict.REFUSED


def test_an_empty_workspace_knows_nothing(tmp_path):
    with open_workspace(tmp_path / "w") as workspace:
        assert gather_found_if_any(workspace, PlaceAsk()) is None
        with pytest.raises(RequestProblem, match="no file has been taken in yet"):
            gather_found(workspace, PlaceAsk())


@pytest.mark.parametrize(
    "wrong", [{"found": -1}, {"mean_ml": 0}, {"target_ml": 600}, {"single_share": 1.2}, {"positive_share": 1}]
)
def test_what_cannot_be_is_refused_before_anything_is_read(wrong):
    with pytest.raises(RequestProblem):
        MissedAsk(**wrong)


def test_a_mean_and_a_sheet_are_one_too_many(tmp_path):
    with pytest.raises(RequestProblem, match="one of them"):
        MissedAsk(mean_ml=20, weights=tmp_path / "sheet.csv")


def test_a_receipt_gives_then_what_was_said_then(policy, tmp_path):
    with open_workspace(tmp_path / "w") as workspace:
        taking = {"facility": "Marrowby", "timezone": "UTC", "accept": True}
        take_file(workspace, file=write_month(tmp_path / "first.csv"), **taking)
        asked = plain_asked(MissedAsk(mean_ml=22.4), question=VOLUME, policy=policy, today=TODAY, place=PlaceAsk())
        where = asdict(PlaceAsk())
        codes = [
            keep_receipt(
                workspace, question="missed", asked=asked, answer=answer_asked(asked, workspace=workspace)
            ),
            keep_receipt(workspace, question="drivers", asked=where, answer=driver_answer(workspace, PlaceAsk())),
        ]  # fmt: skip
        later = write_month(tmp_path / "later.csv", first="2025-12-05 00:05", accession=9000)
        take_file(workspace, file=later, **taking)
        assert gather_found(workspace, PlaceAsk()).months > 1
        assert [again(workspace, code).sameness for code in codes] == [Sameness.SAME, Sameness.SAME]
