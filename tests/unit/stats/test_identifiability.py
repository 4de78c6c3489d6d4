"""Which columns of a design cannot be told apart.

The first case is the worked story of a kit and phlebotomists that started together: in one department three rows cannot
carry four effects; four departments can. Ranks are held against numpy's, inflation against statsmodels'.
"""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from statsmodels.stats.outliers_influence import variance_inflation_factor

from cubital.stats.identifiability import Alias, check_columns, find_overlap

NAMES = ("constant", "period", "kit", "phlebotomist")
ONE_DEPARTMENT = [[1, 0, 0, 0], [1, 1, 1, 0], [1, 1, 1, 1]]
FOUR_DEPARTMENTS = [*ONE_DEPARTMENT, [1, 0, 0, 0], [1, 1, 1, 0], [1, 0, 0, 0], [1, 1, 0, 0], [1, 1, 0, 1]]


def test_kit_and_period_that_start_together_cannot_be_separated():
    found = check_columns(NAMES, ONE_DEPARTMENT)
    assert (found.rank, found.whole) == (3, False)
    assert found.inseparable == ("period", "kit")
    assert found.separable == ("constant", "phlebotomist")
    assert found.aliases == (Alias(("period", "kit"), (-1.0, 1.0)),)
    assert found.tied_to("kit") == ("period",)
    assert found.tied_to("phlebotomist") == ()


def test_departments_without_the_kit_separate_them():
    found = check_columns(NAMES, FOUR_DEPARTMENTS)
    assert found.whole
    assert found.rank == 4


def test_rows_without_sets_say_nothing():
    found = check_columns(NAMES, FOUR_DEPARTMENTS, weights=[1, 1, 1, 1, 1, 0, 0, 0])
    assert found.inseparable == ("period", "kit")


def test_measured_columns_are_seen_through_as_well():
    time = np.linspace(0.1, 0.9, 9)
    matrix = np.column_stack([np.ones(9), time, 2.5 * time + 1, time**2])
    found = check_columns(["constant", "time", "scaled", "other"], matrix)
    assert found.rank == 3
    assert found.aliases[0].columns == ("constant", "time", "scaled")
    assert found.aliases[0].weights == pytest.approx((-1.0, -2.5, 1.0))


def test_a_column_that_is_nearly_another_is_named_with_its_inflation():
    random = np.random.default_rng(2)
    first = random.normal(size=50)
    matrix = np.column_stack([np.ones(50), first, first + 0.01 * random.normal(size=50), random.normal(size=50)])
    found = check_columns(["constant", "first", "twin", "other"], matrix)
    assert [one.column for one in found.near] == ["first", "twin"]
    assert found.near[0].closest == "twin"
    assert found.near[0].inflation == pytest.approx(variance_inflation_factor(matrix, 1), rel=1e-6)


def test_two_sides_overlap_only_where_both_have_sets():
    found = find_overlap(["day", "evening", "night"], [80, 20, 0], [0, 10, 30])
    assert (found.first_share, found.second_share) == (0.2, 0.25)
    assert (found.shared, found.first_only, found.second_only) == (("evening",), ("day",), ("night",))


@pytest.mark.parametrize("sides", [([0, 0], [1, 1]), ([1], [1, 1]), ([-1, 2], [1, 1])])
def test_sides_that_are_none_are_refused(sides):
    with pytest.raises(ValueError, match="side"):
        find_overlap(["a", "b"], *sides)


@pytest.mark.parametrize("names", [("a",), ("a", "a")])
def test_columns_without_names_of_their_own_are_refused(names):
    with pytest.raises(ValueError, match="name"):
        check_columns(names, [[1, 0], [1, 1]])


def test_weights_that_do_not_fit_are_refused():
    with pytest.raises(ValueError, match="weight"):
        check_columns(("a", "b"), [[1, 0], [1, 1]], weights=[1, -1])


def test_no_rows_separate_nothing():
    found = check_columns(("a", "b"), np.zeros((0, 2)))
    assert (found.rank, found.inseparable) == (0, ("a", "b"))


MATRICES = st.integers(1, 5).flatmap(
    lambda wide: st.lists(st.lists(st.integers(-2, 2), min_size=wide, max_size=wide), min_size=1, max_size=7)
)


@given(MATRICES, st.booleans())
def test_rank_and_relations_are_those_of_linear_algebra(rows, measured):
    matrix = np.array(rows, dtype=float) * (0.37 if measured else 1.0)
    names = tuple("abcde"[: matrix.shape[1]])
    found = check_columns(names, matrix)
    assert found.rank == np.linalg.matrix_rank(matrix)
    assert len(found.aliases) == matrix.shape[1] - found.rank
    for alias in found.aliases:
        total = sum(w * matrix[:, names.index(name)] for name, w in zip(alias.columns, alias.weights, strict=True))
        assert np.abs(total).max() < 1e-9
    for name in names:  # a column has an estimate of its own exactly where leaving it out costs a rank
        less = np.delete(matrix, names.index(name), axis=1)
        costs = found.rank - (np.linalg.matrix_rank(less) if less.size else 0)
        assert (name in found.separable) is bool(costs == 1)
