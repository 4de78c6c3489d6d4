"""The examples in the docstrings of ``stats`` run and say what they print."""

from __future__ import annotations

import doctest
import importlib
import pkgutil

import pytest

import cubital.stats

MODULES = sorted(module.name for module in pkgutil.iter_modules(cubital.stats.__path__))
WITH_EXAMPLES = {
    "agreement", "alpha_spending", "assurance", "attribute_charts", "bayes_change_point", "chart_size",
    "cluster_size", "coverage", "decision_model", "diagnostic", "difference_in_differences", "dose", "erlang",
    "exact_interaction", "exact_power", "identifiability", "mix_decomposition", "multiplicity", "peer_differences",
    "proportions", "rare_events", "run_rule_arl", "sample_size", "scan", "segmented", "segmented_counts",
    "segmented_design", "series_power", "stepped_design", "stock_out", "tails", "trial_size", "uncertain_values",
    "value_of_information", "yield_models",
}  # fmt: skip


@pytest.mark.parametrize("name", MODULES)
def test_docstring_examples_hold(name):
    results = doctest.testmod(importlib.import_module(f"cubital.stats.{name}"))
    assert results.failed == 0
    assert (results.attempted > 0) is (name in WITH_EXAMPLES)
