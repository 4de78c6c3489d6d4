"""Agreement against R (vcd, psych, irr, irrCAC) and printed examples; the source stands in each case of the file."""

from __future__ import annotations

import csv
import json
from collections import Counter

import pytest

from cubital.stats.agreement import krippendorff_alpha, many_observers, two_observers, weighted_kappa


@pytest.fixture(scope="module")
def cases(check_values):
    found = json.loads(check_values("m10-agreement.json").read_text())["cases"]
    return {case["id"]: case for case in found}


def test_two_observers_match_r(cases):
    chosen = [case for case in cases.values() if case["submethod"] == "two-rater agreement"]
    assert len(chosen) == 4
    for case in chosen:
        found, wanted, table = two_observers(case["inputs"]["table"]), case["expected"], case["inputs"]["table"]
        names = ("kappa", "ac1", "pabak", "scott_pi", "kappa_se")
        assert found.agreement == pytest.approx(wanted["po"], abs=1e-6)
        assert [getattr(found, name) for name in names] == pytest.approx([wanted[name] for name in names], abs=1e-6)
        assert weighted_kappa(table, weights="linear") == pytest.approx(wanted["kappa_linear"], abs=1e-6)
        assert weighted_kappa(table, weights="quadratic") == pytest.approx(wanted["kappa_quadratic"], abs=1e-6)


def test_own_weights_match_cohen_1968(cases):
    case = cases["m10-cohen-weighted"]
    i = case["inputs"]
    found = weighted_kappa(i["proportions"], weights=i["disagreement_weights"])
    assert found == pytest.approx(case["expected"]["weighted_kappa"], abs=1e-9)


def test_many_observers_match_fleiss_and_gwet(cases):
    case = cases["m10-fleiss1971"]
    counts = [[Counter(row)[c] for c in range(1, 6)] for row in case["inputs"]["ratings"]]
    found, wanted = many_observers(counts), case["expected"]
    assert (found.fleiss_kappa, found.ac1, found.alpha) == pytest.approx(
        (wanted["fleiss_kappa"], wanted["ac1"], wanted["alpha_nominal"]), abs=1e-6
    )
    assert found.z == pytest.approx(wanted["z"], abs=1e-3)
    case = cases["m10-fleiss-wiki"]
    found, wanted = many_observers(case["inputs"]["counts"]), case["expected"]
    assert (found.fleiss_kappa, found.ac1, found.alpha) == pytest.approx(
        (wanted["fleiss_kappa"], wanted["ac1"], wanted["alpha_nominal"]), abs=1e-6
    )


def test_alpha_matches_krippendorff_with_gaps_at_every_level(cases):
    case = cases["m10-krippendorff-c"]
    ratings = case["inputs"]["ratings_units_by_raters"]
    for level in ("nominal", "ordinal", "interval", "ratio"):
        found = krippendorff_alpha(ratings, level=level)
        assert found == pytest.approx(case["expected"][f"alpha_{level}"], abs=1e-6), level
    case = cases["m10-krippendorff-a"]
    found = krippendorff_alpha(case["inputs"]["ratings_units_by_raters"])
    assert found == pytest.approx(case["expected"]["alpha_nominal"], abs=1e-9)


def test_ac1_with_gaps_matches_gwet(cases):
    case = cases["m10-krippendorff-c"]
    rows = case["inputs"]["ratings_units_by_raters"]
    counts = [[Counter(row)[c] for c in range(1, 6)] for row in rows]
    assert many_observers(counts).ac1 == pytest.approx(case["expected"]["ac1"], abs=1e-5)


def test_thirty_patients_and_six_raters_have_the_kappa_of_1971(open_data):
    """Fleiss 1971: kappa .430, z 17.7 (R package irr, data set diagnoses)."""
    with (open_data("kappa-diagnoses") / "diagnoses.csv").open(encoding="utf-8") as lines:
        rows = list(csv.reader(lines))[1:]
    named = sorted({cell for row in rows for cell in row})
    ratings = [[cell for cell in row if not cell.isdigit()] or row for row in rows]
    names = [name for name in named if any(name in row for row in ratings)]
    found = many_observers([[row.count(name) for name in names] for row in ratings])
    assert (round(found.fleiss_kappa, 3), round(found.z, 1)) == (0.430, 17.7)


def test_two_who_always_say_yes_have_no_kappa():
    found = two_observers([[10, 0], [0, 0]])
    assert (found.kappa, found.kappa_interval(), found.agreement, found.pabak) == (None, None, 1.0, 1.0)


@pytest.mark.parametrize("table", [[[0, 0], [0, 0]], [[1, 2]], [[1, -1], [0, 2]]])
def test_tables_that_say_nothing_are_refused(table):
    with pytest.raises(ValueError, match=r"table|judged"):
        two_observers(table)


def test_worked_anchor_of_ten_joint_observations():
    """Both yes 6, one only 1 and 1, both no 2: 80 % agreement, kappa 0.52."""
    found = two_observers([[6, 1], [1, 2]])
    assert (found.agreement, round(found.kappa, 2)) == (0.8, 0.52)
    assert found.kappa_interval().low < 0 < found.kappa_interval().high
