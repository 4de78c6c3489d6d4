"""The guard with a workspace behind it: limits of its policy, memory of what left, renamed units, refusals."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest

from cubital.domain.errors import PolicyProblem, RequestProblem, WorkspaceProblem
from cubital.indicators.disclosure.tables import CountTable, Sum
from cubital.indicators.disclosure.unit_months import CountKey, UnitMonth, build_unit_table
from cubital.workspace import records
from cubital.workspace.example_policy import build_example_policy
from cubital.workspace.facilities import facility_key
from cubital.workspace.guarding import guard_page, let_leave, may_leave, small_counts
from cubital.workspace.left_tables import add_left_table, list_left_tables, read_before
from cubital.workspace.opening import open_workspace
from cubital.workspace.policies import current_policy, save_policy

MONTH = "2026-03"


@pytest.fixture
def workspace(tmp_path):
    with open_workspace(tmp_path / "workspace") as opened:
        yield opened


def key(unit, count, facility="A"):
    return CountKey("contaminated", "d", facility, unit, MONTH, count)


def month_table(**units):
    rows = [
        UnitMonth(facility="A", unit=unit, month=MONTH, counts={"contaminated": count}, most={"contaminated": 60})
        for unit, count in units.items()
    ]
    return build_unit_table(rows, definition="d", months=(MONTH,), spans=())


def leave(workspace, table, asked=None, about="March"):
    return let_leave(workspace, table=table, asked=table.counts if asked is None else asked, face="test", about=about)


def without(policy, *keys):
    return replace(policy, values=tuple(value for value in policy.values if value.key not in keys))


def with_value(policy, key, value):
    values = tuple(replace(one, value=value) if one.key == key else one for one in policy.values)
    return replace(policy, values=values)


def test_a_policy_that_names_no_small_counts_lets_nothing_leave(workspace):
    save_policy(workspace, policy=without(current_policy(workspace), "suppress_to"))
    with pytest.raises(PolicyProblem, match=r"suppress_to.*no counts may leave"):
        leave(workspace, month_table(x=9))
    assert list_left_tables(workspace) == ()


def test_a_policy_whose_small_counts_are_no_range_lets_nothing_leave():
    with pytest.raises(PolicyProblem, match="no range above 0"):
        small_counts(with_value(build_example_policy(), "suppress_from", 9))


def test_the_sites_own_limits_are_used(workspace):
    save_policy(workspace, policy=with_value(current_policy(workspace), "suppress_to", 10))
    assert guard_page(workspace, CountTable(counts={"a": 10, "b": 11})).shown == {"a": None, "b": 11}


def test_what_left_is_remembered_with_its_hidden_cells(workspace):
    leaving = leave(workspace, month_table(x=9, y=2, z=30))
    assert not leaving.may_show(key("y", 2))
    [left] = list_left_tables(workspace)
    assert (left.number, left.face, left.about) == (1, "test", "March")
    assert left.hidden == sum(count is None for count in leaving.guarded.shown.values()) >= 2


def test_the_same_table_again_is_no_second_one(workspace):
    first, second = (leave(workspace, month_table(x=9, y=2, z=30)) for _turn in range(2))
    assert first.guarded.shown == second.guarded.shown
    assert first.number == second.number == 1


def test_a_total_that_would_give_an_earlier_hidden_count_away_is_hidden(workspace):
    """The units left first, each by itself; the hospital's total afterwards would give the 2 away."""
    table = month_table(x=9, y=2)
    units = [cell for cell in table.counts if cell.unit is not None]
    assert leave(workspace, table, asked=units).may_show(key("x", 9))
    assert not leave(workspace, table, asked=[key(None, 11)]).may_show(key(None, 11))


def test_asking_what_may_leave_keeps_nothing(workspace):
    table = month_table(x=9, y=2)
    assert may_leave(workspace, table=table, asked=table.counts).shown[key("y", 2)] is None
    assert list_left_tables(workspace) == ()


def test_a_restated_shield_is_not_shown_beside_the_total_it_belonged_to(workspace):
    """9 of x shielded the 2 of y under a shown total; one set more in x, and 10 beside the old total would tell."""
    table = month_table(x=9, y=2)
    leaving = leave(workspace, table, asked=[key(None, 11), key("y", 2)])
    assert leaving.may_show(key(None, 11))
    later = CountTable(counts={key("x", 10): 10}, most={key("x", 10): 60})
    assert not leave(workspace, later).may_show(key("x", 10))


def test_a_renamed_unit_is_the_same_unit_in_what_left_before(workspace):
    leave(workspace, month_table(x=9, y=2))
    hospital = records.Facility.objects.using(workspace.alias).create(
        key=facility_key("A"), name="A", timezone="America/Chicago"
    )
    records.UnitRename.objects.using(workspace.alias).create(
        facility=hospital, old_key="y", new_key="new y", new_name="New Y", on=date(2026, 4, 1)
    )
    [before] = read_before(workspace)
    assert key("new y", 2) in before.hidden
    assert key("y", 2) not in before.table.counts


def test_what_an_earlier_table_gave_away_is_said_and_refused(workspace):
    careless = CountTable(
        counts={key("x", 9): 9, key("y", 2): 2, key(None, 11): 11},
        sums=(Sum(total=key(None, 11), parts=(key("x", 9), key("y", 2))),),
    )
    policy = current_policy(workspace)
    shown = frozenset({key("x", 9), key(None, 11)})
    add_left_table(
        workspace, table=careless, shown=shown, face="test", about="a careless page", policy=policy,
        limits=small_counts(policy),
    )  # fmt: skip
    with pytest.raises(RequestProblem, match=r"a careless page.*already lets a reader work out.*A, y"):
        leave(workspace, month_table(x=9, y=2))
    assert len(list_left_tables(workspace)) == 1


def test_a_workspace_that_cannot_be_written_lets_no_counts_leave(workspace, monkeypatch):
    """What left could not be remembered. The lock is what a closed folder refuses first."""

    def closed(*_all, **_more):
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr("filelock.FileLock.acquire", closed)
    with pytest.raises(WorkspaceProblem, match="cannot be written"):
        leave(workspace, month_table(x=9))
