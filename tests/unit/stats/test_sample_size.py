"""Sets per group against R's power.prop.test (values in the check-value file) and the worked anchors."""

from __future__ import annotations

import json

import pytest

from cubital.stats.sample_size import sets_per_group


def test_two_proportions_match_r(check_values):
    cases = json.loads(check_values("m13-sample-size.json").read_text())["cases"]
    chosen = [case for case in cases if case["id"].startswith("m13-two-")]
    assert len(chosen) == 4
    for case in chosen:
        i = case["inputs"]
        found = sets_per_group(i["p1"], i["p2"], level=1 - i["alpha"], power=i["power"])
        assert found == case["expected"]["n_ceiling"], case["id"]


@pytest.mark.parametrize(("first", "second", "needed"), [(0.04, 0.02, 1141), (0.042, 0.026, 2013), (0.03, 0.02, 3826)])
def test_worked_anchors(first, second, needed):
    """Question 18 prints 1 141, 2 013 and 3 825 (the last rounded, not up: 3 825.0…)."""
    assert sets_per_group(first, second) == pytest.approx(needed, abs=1)


@pytest.mark.parametrize("shares", [(0.02, 0.02), (0, 0.1), (0.1, 1)])
def test_what_is_no_difference_is_refused(shares):
    with pytest.raises(ValueError, match="different shares"):
        sets_per_group(*shares)
