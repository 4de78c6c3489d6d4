"""What goes where. Expected splits: the job's worked anchor (local 8–10 mL aerobic, 3–10 mL anaerobic)."""

from __future__ import annotations

import itertools

import pytest
from bedside_cast import APPROVED, TODAY
from hypothesis import given, settings
from hypothesis import strategies as st

from cubital.bedside.answering import answer_split
from cubital.bedside.split import Room, split_volume

PAIR = [Room(minimum_ml=8, maximum_ml=10), Room(minimum_ml=3, maximum_ml=10)]


@pytest.mark.parametrize(
    ("got", "expected", "unused"),
    [(9, (9, 0), 0), (12, (9, 3), 0), (14, (10, 4), 0), (18, (10, 8), 0), (23, (10, 10), 3), (10.5, (10, 0), 0.5)],
)
def test_the_worked_splits_come_out(got, expected, unused):
    split = split_volume(got, PAIR)
    assert split.amounts_ml == expected
    assert split.unused_ml == pytest.approx(unused)
    assert not split.short


def test_less_than_the_first_minimum_stays_together_and_is_called_short():
    split = split_volume(5, PAIR)
    assert split.amounts_ml == (5, 0)
    assert split.short


def test_the_answer_carries_the_three_volumes():
    answer = answer_split(APPROVED, 14, today=TODAY)
    assert [answer.figure(key).value for key in ("aerobic_ml", "anaerobic_ml", "unused_ml")] == [10, 4, 0]
    assert answer.sentence.startswith("EXAMPLE. Of 14 mL: 10 mL into the aerobic bottle, 4 mL into the anaerobic.")


@pytest.mark.parametrize("wrong", [-1, float("nan"), float("inf")])
def test_an_impossible_volume_is_refused(wrong):
    with pytest.raises(ValueError, match="cannot be shared"):
        split_volume(wrong, PAIR)


def best_by_trying_everything(got: int, rooms: list[tuple[int, int]]) -> tuple[int, ...]:
    """Every split in tenths that keeps the rules; the best by the stated priorities (lexicographic order)."""
    choices = [[0, *range(low, high + 1)] for low, high in rooms]
    legal = [amounts for amounts in itertools.product(*choices) if sum(amounts) <= got]
    served = [a for a in legal if all(x > 0 or not any(a[i:]) for i, x in enumerate(a))]
    best = max(served, key=lambda a: (tuple(x > 0 for x in a), a))
    if not any(best) and rooms:
        return (min(got, rooms[0][1]), *(0 for _ in rooms[1:]))
    return best


@settings(max_examples=150)
@given(
    got=st.integers(0, 60),
    rooms=st.lists(
        st.tuples(st.integers(1, 25), st.integers(0, 15)).map(lambda t: (t[0], t[0] + t[1])), min_size=1, max_size=3
    ),
)
def test_no_grid_point_is_better(got, rooms):
    # Independent check: brute force over a 0.1 mL grid.
    split = split_volume(got / 10, [Room(minimum_ml=low / 10, maximum_ml=high / 10) for low, high in rooms])
    assert tuple(round(x * 10) for x in split.amounts_ml) == best_by_trying_everything(got, rooms)


@given(got=st.integers(0, 1000), low=st.integers(1, 100), extra=st.integers(0, 100))
def test_nothing_is_made_lost_or_above_a_maximum(got, low, extra):
    rooms = [Room(minimum_ml=low / 10, maximum_ml=(low + extra) / 10)] * 3
    split = split_volume(got / 10, rooms)
    assert sum(split.amounts_ml) + split.unused_ml == pytest.approx(got / 10)
    assert all(0 <= amount <= (low + extra) / 10 + 1e-9 for amount in split.amounts_ml)
