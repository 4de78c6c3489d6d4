"""Units, charters, policy, the last place: each change whole, kept, and written down."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest
from laboratory_files import FACILITY, a_row, write_file

from cubital.domain.charter import Population, Window
from cubital.domain.errors import CharterProblem, PolicyProblem, RequestProblem
from cubital.domain.policy import PolicyState, PolicyValue
from cubital.workspace.batches import list_changes
from cubital.workspace.charters import current_charter, list_charters, save_charter, sign_charter
from cubital.workspace.opening import Workspace, open_workspace
from cubital.workspace.places import Place, last_place, list_places, remember_place
from cubital.workspace.policies import approve_policy, current_policy, list_policies, save_policy
from cubital.workspace.snapshots import open_snapshot
from cubital.workspace.taking import take_file
from cubital.workspace.unit_names import Rename, join_labels, label_words
from cubital.workspace.units import find_unit, list_units, name_unit, rename_unit


@pytest.fixture
def workspace(tmp_path: Path) -> Iterator[Workspace]:
    with open_workspace(tmp_path / "w") as opened:
        yield opened


@pytest.fixture
def wards(workspace: Workspace, tmp_path: Path) -> Workspace:
    """Two sets on 5 WEST in October, one on 5W-MED ONC in November, one in the emergency department, one nowhere."""
    rows = [
        a_row(1, ward="5 WEST"), a_row(2, hours=30, ward="5 West "), a_row(3, hours=900, ward="5W-MED ONC"),
        a_row(4, hours=40), a_row(5, hours=50, ward=""),
    ]  # fmt: skip
    file = write_file(tmp_path / "wards.csv", rows)
    take_file(workspace, file=file, facility=FACILITY, timezone="America/Chicago", accept=True)
    return workspace


def rename(workspace: Workspace, old: str, new: str, on: str = "2025-10-15") -> Rename:
    return rename_unit(workspace, facility=FACILITY, old=old, new=new, on=date.fromisoformat(on))


def test_a_renamed_unit_is_one_unit_with_a_dated_mark(wards: Workspace) -> None:
    rename(wards, "5 WEST", "5W-Med Onc")

    unit = find_unit(wards, facility=FACILITY, unit="5 west")
    assert (unit.unit_name, unit.labels, unit.sets) == ("5W-Med Onc", ("5 west", "5w-med onc"), 3)
    assert [(mark.old_key, mark.on) for mark in unit.renames] == [("5 west", date(2025, 10, 15))]
    assert (unit.first_month, unit.last_month) == ("2025-10", "2025-11")


def test_the_snapshot_names_every_label_of_today(wards: Workspace) -> None:
    rename(wards, "5 WEST", "5W-Med Onc")

    with open_snapshot(wards) as session:
        names = session.rows("select unit_key, current_key, unit_name from unit_names order by 1")
    assert names == [
        ("", "", "unit not known"),
        ("5 west", "5w-med onc", "5W-Med Onc"),
        ("5w-med onc", "5w-med onc", "5W-Med Onc"),
        ("ed", "ed", "ED"),
    ]


def test_the_same_rename_again_is_no_second_mark(wards: Workspace) -> None:
    rename(wards, "5 WEST", "5W-Med Onc")
    rename(wards, "5 west", "5w-med onc")

    assert len(find_unit(wards, facility=FACILITY, unit="5 west").renames) == 1
    assert [line.action for line in list_changes(wards)].count("rename_unit") == 1


def test_a_rename_of_an_unknown_unit_names_the_near_ones(wards: Workspace) -> None:
    with pytest.raises(RequestProblem, match=r"neither '5 WST' nor '6 EAST'.*5 west"):
        rename(wards, "5 WST", "6 EAST")


def test_a_rename_at_an_unknown_hospital_names_the_known_ones(wards: Workspace) -> None:
    with pytest.raises(RequestProblem, match="Known are: Marrowby General"):
        rename_unit(wards, facility="Orrin Quay", old="a", new="b", on=date(2025, 1, 1))


def test_a_rename_to_the_same_name_is_refused(wards: Workspace) -> None:
    with pytest.raises(RequestProblem, match="two different names"):
        rename(wards, "5 WEST", "5  west")


def test_a_unit_can_be_given_a_name_for_people(wards: Workspace) -> None:
    named = name_unit(wards, facility=FACILITY, unit="ed", name="Emergency")

    assert (named.unit_name, named.labels) == ("Emergency", ("ed",))
    assert find_unit(wards, facility=FACILITY, unit="emergency") == named


@pytest.mark.parametrize(
    ("marks", "current"),
    [
        ([("a", "b", 1), ("b", "c", 2)], {"a": "c", "b": "c", "c": "c"}),
        ([("b", "c", 2), ("a", "b", 1)], {"a": "c", "b": "c", "c": "c"}),
        ([("a", "b", 1), ("b", "a", 2)], {"a": "a", "b": "a"}),
        ([("a", "c", 1), ("b", "c", 2)], {"a": "c", "b": "c", "c": "c"}),
        ([("a", "b", 1), ("x", "y", 2)], {"a": "b", "b": "b", "x": "y", "y": "y"}),
    ],
)
def test_labels_end_with_the_name_given_last(marks: list[tuple[str, str, int]], current: dict[str, str]) -> None:
    renames = [
        Rename(facility="M", old_key=old, new_key=new, new_name=new, on=date(2025, 1, day)) for old, new, day in marks
    ]

    assert join_labels(renames) == {("M", key): name for key, name in current.items()}


@pytest.mark.parametrize(
    ("key", "words"),
    [
        ("ed", "ED"),
        ("picu", "PICU"),
        ("5 west", "5 West"),
        ("a&e", "A&E"),
        ("medical", "Medical"),
        ("medical/surgical (micu)", "Medical/Surgical (MICU)"),
        ("care of the elderly", "Care of the Elderly"),
        ("señoras", "Señoras"),
        ("", "unit not known"),
    ],
)
def test_a_label_is_written_in_its_best_looking_case(key: str, words: str) -> None:
    assert label_words(key) == words


def test_places_are_where_sets_are(wards: Workspace) -> None:
    places = list_places(wards)

    assert places.months == ("2025-10", "2025-11")
    assert [(month.month, month.sets) for month in places.facility_months] == [("2025-10", 4), ("2025-11", 1)]
    assert [facility.name for facility in places.facilities] == [FACILITY]
    assert places.units == list_units(wards)


def test_an_empty_workspace_has_no_places(workspace: Workspace) -> None:
    places = list_places(workspace)

    assert (places.months, places.units, places.facilities, places.undated_sets) == ((), (), (), 0)


def test_the_last_place_is_kept(workspace: Workspace) -> None:
    assert last_place(workspace) is None
    remember_place(workspace, month="2025-10", facility=FACILITY)
    remember_place(workspace, month="2025-11", facility=FACILITY, unit="ed", page="month")

    assert last_place(workspace) == Place(month="2025-11", facility=FACILITY, unit="ed", page="month")


def test_a_workspace_begins_with_a_published_adult_rule_unsigned(workspace: Workspace) -> None:
    found = current_charter(workspace)

    assert (found.version, found.frozen, found.signatures, found.in_force) == (1, False, (), True)
    assert (found.charter.population, found.charter.window, found.charter.window_hours) == (
        Population.ADULTS, Window.ROLLING_HOURS, 24,
    )  # fmt: skip


def test_a_saved_charter_is_a_new_version_and_the_old_one_stays(workspace: Workspace) -> None:
    first = current_charter(workspace)

    second = save_charter(workspace, charter=replace(first.charter, window_hours=48))

    assert (second.version, second.charter.window_hours, second.in_force) == (2, 48, True)
    assert [found.charter.window_hours for found in list_charters(workspace)] == [24, 48]


def test_the_same_charter_again_is_no_new_version(workspace: Workspace) -> None:
    assert save_charter(workspace, charter=current_charter(workspace).charter).version == 1
    assert len(list_charters(workspace)) == 1


def test_a_signed_charter_stays_in_force_over_a_later_draft(workspace: Workspace) -> None:
    signed = sign_charter(workspace, version=1, name="A. Vell", role="practice educator", on=date(2025, 11, 3))
    save_charter(workspace, charter=replace(signed.charter, window_hours=48))

    assert signed.frozen
    assert current_charter(workspace) == signed
    second = sign_charter(workspace, version=2, name="B. Orrin", role="microbiology", on=date(2025, 12, 1))
    assert current_charter(workspace) == second


def test_two_people_sign_one_charter(workspace: Workspace) -> None:
    sign_charter(workspace, version=1, name="A. Vell", role="practice educator", on=date(2025, 11, 3))

    signed = sign_charter(workspace, version=1, name="B. Orrin", role="microbiology", on=date(2025, 11, 4))

    assert [signature.name for signature in signed.signatures] == ["A. Vell", "B. Orrin"]
    with pytest.raises(CharterProblem, match="has signed charter 1"):
        sign_charter(workspace, version=1, name="B. Orrin", role="microbiology", on=date(2025, 11, 5))


def test_signing_needs_a_name_and_a_charter(workspace: Workspace) -> None:
    with pytest.raises(CharterProblem, match="a name and a role"):
        sign_charter(workspace, version=1, name=" ", role="x", on=date(2025, 11, 3))
    with pytest.raises(CharterProblem, match="no charter version 9"):
        sign_charter(workspace, version=9, name="A", role="x", on=date(2025, 11, 3))


def test_a_charter_altered_behind_our_back_is_not_used(workspace: Workspace) -> None:
    from cubital.workspace.records import CharterRecord

    entry = CharterRecord.objects.using(workspace.alias).get(version=1)
    entry.rules = {**entry.rules, "window_hours": 72}
    entry.save(using=workspace.alias)

    with pytest.raises(CharterProblem, match="not the ones that were saved"):
        current_charter(workspace)


def test_every_value_of_the_example_policy_has_a_source_and_an_owner(workspace: Workspace) -> None:
    policy = current_policy(workspace)

    assert policy.state(date(2025, 11, 25)) is PolicyState.DRAFT
    assert all(value.source and value.owner and value.unit for value in policy.values)
    assert [policy.value(key) for key in ("contamination_target", "suppress_from", "suppress_to")] == [0.03, 1, 4]
    assert [policy.value(key) for key in ("individual_min_draws", "baseline_min_points", "baseline_min_sets")] == [
        30, 20, 500,
    ]  # fmt: skip
    assert [policy.value(key) for key in ("receipt_limit", "receipt_late")] == [120, 240]


def test_an_approved_policy_is_in_force_until_the_next_approval(workspace: Workspace) -> None:
    day, review = date(2025, 11, 3), date(2026, 11, 3)
    approved = approve_policy(workspace, version=1, approved_by="C. Thistle", on=day, review_by=review)
    lower = [replace(v, value=0.02) if v.key == "contamination_target" else v for v in approved.values]
    draft = save_policy(workspace, policy=replace(approved, values=tuple(lower)))

    assert (draft.version, draft.state(day)) == (2, PolicyState.DRAFT)
    assert current_policy(workspace) == approved
    assert approved.state(day) is PolicyState.APPROVED
    assert [p.value("contamination_target") for p in list_policies(workspace)] == [0.03, 0.02]
    approve_policy(workspace, version=2, approved_by="C. Thistle", on=day, review_by=review)
    assert current_policy(workspace).version == 2


def test_the_same_policy_again_is_no_new_version(workspace: Workspace) -> None:
    assert save_policy(workspace, policy=current_policy(workspace)).version == 1


def test_a_refused_policy_changes_nothing(workspace: Workspace) -> None:
    before = list_policies(workspace), list_changes(workspace)

    with pytest.raises(PolicyProblem):
        approve_policy(workspace, version=1, approved_by="C", on=date(2025, 11, 3), review_by=date(2025, 11, 3))
    with pytest.raises(PolicyProblem, match="needs the name"):
        approve_policy(workspace, version=1, approved_by=" ", on=date(2025, 11, 3), review_by=date(2026, 11, 3))
    with pytest.raises(PolicyProblem, match="stand twice"):
        save_policy(workspace, policy=replace(current_policy(workspace), values=(one_value(), one_value())))

    assert (list_policies(workspace), list_changes(workspace)) == before


def one_value() -> PolicyValue:
    return PolicyValue(key="a", label="A", value=1.0, unit="sets", source="s", owner="o")


def test_every_change_leaves_a_line_without_a_persons_values(wards: Workspace) -> None:
    rename(wards, "5 WEST", "5W-Med Onc")
    sign_charter(wards, version=1, name="A. Vell", role="practice educator", on=date(2025, 11, 3))

    lines = list_changes(wards)
    assert [line.action for line in lines] == [
        "sign_charter",
        "rename_unit",
        "take_file",
        "save_policy",
        "save_charter",
    ]
    assert not any(text in str(lines) for text in ("A00000", "P0000", "A. Vell", "R.OKO"))
