"""Adjusted p values against R's p.adjust (check-value file; its first set is Benjamini and Hochberg's)."""

from __future__ import annotations

import json

import pytest
from hypothesis import given
from hypothesis import strategies as st
from statsmodels.stats.multitest import multipletests

from cubital.stats.multiplicity import adjust_p_values

METHODS = ("bonferroni", "holm", "hochberg", "bh", "by")
STATSMODELS = {"bonferroni": "bonferroni", "holm": "holm", "hochberg": "simes-hochberg", "bh": "fdr_bh", "by": "fdr_by"}


def test_all_five_match_r(check_values):
    cases = json.loads(check_values("m17-multiplicity.json").read_text())["cases"]
    assert len(cases) == 2
    for case in cases:
        for method in METHODS:
            found = adjust_p_values(case["inputs"]["p"], method=method)
            assert found == pytest.approx(case["expected"][method], abs=1e-9), (case["id"], method)


@given(st.lists(st.floats(0, 1), min_size=1, max_size=20), st.sampled_from(METHODS))
def test_any_p_values_match_statsmodels(p, method):
    expected = multipletests(p, method=STATSMODELS[method])[1]
    assert adjust_p_values(p, method=method) == pytest.approx(list(expected), abs=1e-12)


def test_nothing_asked_is_nothing_found():
    assert adjust_p_values([], method="bh") == ()


@pytest.mark.parametrize("p", [[-0.1], [1.2], [float("nan")]])
def test_what_is_no_p_value_is_refused(p):
    with pytest.raises(ValueError, match="between 0 and 1"):
        adjust_p_values(p, method="bh")


def test_an_unknown_method_is_refused():
    with pytest.raises(ValueError, match="no method"):
        adjust_p_values([0.1], method="other")
