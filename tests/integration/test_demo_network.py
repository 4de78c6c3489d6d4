"""The invented network through the front door: what the judge makes of the files is what is true about them."""

from __future__ import annotations

from collections import Counter

import pytest

from cubital.domain.answer import Verdict
from cubital.domain.charter import SetClass
from cubital.domain.errors import RequestProblem
from cubital.judge.api import Scope, count_months, judged_sets
from cubital.workspace.batches import list_batches
from cubital.workspace.charters import current_charter
from cubital.workspace.collecting import current_collection_policy, is_demo
from cubital.workspace.demo import load_demo
from cubital.workspace.demo.files import world_file_names, write_world
from cubital.workspace.demo.truth import CALLED_OFF, SHORTENED
from cubital.workspace.demo.world import EMERGENCY_CONTAMINATED, EMERGENCY_SETS, months_of_the_world
from cubital.workspace.diary import list_entries
from cubital.workspace.diary_answers import diary_answer
from cubital.workspace.months import month_answer
from cubital.workspace.opening import open_workspace
from cubital.workspace.places import Place, last_place
from cubital.workspace.policies import current_policy
from cubital.workspace.snapshots import open_snapshot
from cubital.workspace.units import find_unit

pytestmark = pytest.mark.slow


@pytest.fixture(scope="module")
def network(tmp_path_factory):
    with open_workspace(tmp_path_factory.mktemp("network") / "ws") as workspace:
        load_demo(workspace)
        yield workspace


@pytest.fixture(scope="module")
def truth(tmp_path_factory):
    return write_world(tmp_path_factory.mktemp("files")).truth


@pytest.fixture(scope="module")
def judged(network):
    with open_snapshot(network) as session:
        found = judged_sets(session, current_charter(network).charter)
    return {(one.facility, one.accession): one for one in found}


def test_emergency_months_are_judged_as_the_world_fixes_them(network):
    with open_snapshot(network) as session:
        scope = Scope(facility="Marrowby", unit="emergency")
        counted = count_months(session, current_charter(network).charter, scope=scope, by="unit")
    assert tuple(month.month for month in counted) == months_of_the_world()
    assert tuple(month.denominator for month in counted) == EMERGENCY_SETS
    assert tuple(month.numerator for month in counted) == EMERGENCY_CONTAMINATED


def test_the_page_opens_with_nineteen_of_four_hundred_and_ninety_eight(network):
    place = last_place(network)
    assert place == Place(month="2026-03", facility="Marrowby", unit="Emergency", page="")
    answer = month_answer(network, month=place.month, facility=place.facility, unit=place.unit)
    assert answer.verdict is Verdict.WITHIN_VARIATION
    assert "19 of 498, 3.8 %" in answer.sentence
    assert "24 or more would have been a signal" in answer.sentence


def test_every_set_is_judged_as_the_truth_expects(truth, judged):
    valid = [true for true in truth if true.expected not in (CALLED_OFF, SHORTENED)]
    wrong = Counter()
    for true in valid:
        one = judged.get((true.facility, str(true.accession)))
        found = one.set_class.value if one else "missing"
        if found != true.expected:
            wrong[(true.expected, found, true.organisms)] += 1
    assert wrong == Counter()


def test_sets_under_a_shortened_number_are_kept_and_nothing_else_is_added(truth, judged):
    expected = Counter(true.expected for true in truth)
    assert expected[SHORTENED] == 27
    assert len(judged) == len(truth) - expected[CALLED_OFF]


def test_called_off_specimens_are_judged_nowhere(truth, judged):
    gone = [true for true in truth if true.expected == CALLED_OFF]
    assert len(gone) > 500
    assert not [true for true in gone if (true.facility, str(true.accession)) in judged]


def test_an_account_counts_what_was_spoilt(network):
    history = next(b for b in list_batches(network) if b.file_name == "marrowby-2024-04-to-2026-02.csv")
    losses = {loss.reason: loss.count for loss in history.reconciliation.losses}
    doubts = {doubt.reason: doubt.count for doubt in history.reconciliation.doubts}
    assert (doubts["accession_shortened"], doubts["birth_placeholder"]) == (9, 15)
    assert losses["cancelled"] > 100
    assert losses["rejected"] > 100


def test_movements_put_sets_back_where_they_were_collected(truth, judged):
    moved = [
        t for t in truth if t.stated_unit not in (t.unit, "5W-MED ONC") and (t.facility, str(t.accession)) in judged
    ]
    right = [t for t in moved if judged[t.facility, str(t.accession)].unit == t.unit.casefold()]
    assert len(moved) > 100
    assert len(right) == len(moved)


def test_the_renamed_unit_counts_as_one(network):
    unit = find_unit(network, facility="Marrowby", unit="5 WEST")
    assert set(unit.labels) == {"5 west", "5w-med onc"}
    assert (unit.first_month, unit.last_month) == ("2024-04", "2026-03")


def test_the_account_of_every_file_adds_up(network):
    batches = list_batches(network)
    assert [batch.file_name for batch in batches] == list(world_file_names())
    for batch in batches:
        account = batch.reconciliation
        assert account.rows == account.sets + sum(loss.count for loss in account.losses)


def test_march_files_restate_february(network):
    march = next(batch for batch in list_batches(network) if batch.file_name == "marrowby-2026-03.csv")
    assert march.changed >= 10
    assert {"2026-01", "2026-02"} <= set(march.changed_months)


def test_charter_is_signed_and_policy_approved_by_invented_people(network):
    assert [signature.role for signature in current_charter(network).signatures] == [
        "practice educator",
        "medical microbiology",
    ]
    assert current_policy(network).approved_by.startswith("Cleo Marsh")
    assert current_collection_policy(network).approved_by.startswith("Cleo Marsh")


def test_the_diary_says_what_can_be_told_apart(network):
    """Kit and phlebotomists began on one day at Marrowby's emergency department, and apart at two other units."""
    answer = diary_answer(network)
    assert [check.words.split(":")[0] for check in answer.checks] == ["Two things changed together"]
    assert "on one day" in answer.checks[0].words
    compared = {row[0]: row[9] for row in answer.table.rows if row[4].startswith("before and after, against")}
    assert {number: names for number, names in compared.items() if number in (4, 5)} == {
        4: "Thistlecombe, A&E", 5: "Marrowby, Short Stay",
    }  # fmt: skip
    last = month_answer(network, month="2026-03", facility="Marrowby", unit="Emergency")
    assert sorted({mark.month for mark in last.marks}) == ["2024-09", "2025-04", "2025-10", "2026-01"]


def test_loading_again_adds_nothing(network):
    before = [batch.number for batch in list_batches(network)]
    noted = list_entries(network)
    load_demo(network)
    assert [batch.number for batch in list_batches(network)] == before
    assert list_entries(network) == noted


def test_a_workspace_with_other_data_is_left_alone(tmp_path):
    file = tmp_path / "ours.csv"
    file.write_text(
        "ACC_NO,MRN,DOB,LOC,COLL_DT,RECV_DT,BOTTLE,COLLECTOR,STATUS,RESULT\n"
        "1,2,1957-04-09,ED,2025-11-21 22:10,2025-11-21 22:41,AER,7702,F,NG 5D\n",
        encoding="utf-8",
    )
    from cubital.workspace.taking import take_file

    with open_workspace(tmp_path / "ws") as workspace:
        take_file(workspace, file=file, facility="Ours", timezone="UTC", accept=True)
        with pytest.raises(RequestProblem, match="other data"):
            load_demo(workspace)
        assert current_charter(workspace).signatures == ()
        assert not is_demo(workspace)


def test_growth_and_solitary_sets_stand_beside_the_rate(judged):
    march = [j for j in judged.values() if (j.facility, j.unit, j.month) == ("Marrowby", "emergency", "2026-03")]
    grown = [j for j in march if j.set_class is not SetClass.NO_GROWTH]
    assert 0.07 < len(grown) / len(march) < 0.12
    assert 0.05 < sum(j.series_size == 1 for j in march) / len(march) < 0.15
