"""How many draws before one person can be judged: exact power of one rate against a fixed one."""

from __future__ import annotations

import pytest
from scipy.stats import binom

from cubital.stats.sample_size import draws_to_tell


def power(n: int, usual: float, raised: float, chance: float = 0.05) -> float:
    """The same from another library's distribution: scipy.stats.binom."""
    least = int(binom.isf(chance, n, usual)) + 1
    return float(binom.sf(least - 1, n, raised))


def test_six_from_three_per_cent_takes_about_320_draws():
    """Worked anchor of "how many draws before I can judge one person": about 320."""
    assert draws_to_tell(0.03, 0.06) == 319


@pytest.mark.parametrize(("usual", "raised"), [(0.03, 0.06), (0.02, 0.05), (0.01, 0.03)])
def test_from_there_on_the_power_holds_and_just_before_it_does_not(usual, raised):
    found = draws_to_tell(usual, raised)
    assert power(found - 1, usual, raised) < 0.8
    assert min(power(n, usual, raised) for n in range(found, found + 200)) >= 0.8


def test_a_false_finding_stays_as_rare_as_promised():
    found = draws_to_tell(0.03, 0.06)
    assert power(found, 0.03, 0.03) <= 0.05


@pytest.mark.parametrize(("usual", "raised"), [(0.0, 0.1), (0.06, 0.03), (0.03, 0.03), (0.03, 1.0)])
def test_rates_that_are_none_are_refused(usual, raised):
    with pytest.raises(ValueError, match="a higher one"):
        draws_to_tell(usual, raised)


def test_rates_that_are_as_good_as_equal_are_refused():
    with pytest.raises(ValueError, match="more than"):
        draws_to_tell(0.03, 0.0301)
