"""A plan of a trial: its fingerprint follows every field and no order of keys; what is no plan is refused."""

from __future__ import annotations

import json
from dataclasses import fields
from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cubital.domain.trial import (
    Spending,
    Stretch,
    TrialDesign,
    TrialPlan,
    build_plan_dict,
    fingerprint_of,
    read_plan,
)


def stretch(unit="ED", arm=0, first=date(2026, 3, 2), last=date(2026, 3, 8)):
    return Stretch(facility="Marrowby General", unit=unit, place=unit, first=first, last=last, arm=arm)


def plan(**changes):
    values = {
        "name": "Kit trial", "question": "Does the kit lower contamination?", "design": TrialDesign.WEEKS,
        "usual": "as now", "new": "kit", "stretches": (stretch(), stretch(arm=1, first=date(2026, 3, 9),
        last=date(2026, 3, 15))), "charter": 1, "charter_fingerprint": "0123456789abcdef", "baseline": 0.042,
        "expected": 0.026, "meaningful": 0.01, "level": 0.95, "power": 0.8, "icc": 0.01, "sets_per_arm": 2013,
        "looks": (0.5, 1.0), "spending": Spending.CAUTIOUS, "stop_rule": "Stop at the boundary.",
        "exclusions": ("children",), "settle_days": 0, "decides": "value analysis",
    }  # fmt: skip
    return TrialPlan(**{**values, **changes})


CHANGED = {
    "name": "Kit trial B", "question": "Does it?", "design": TrialDesign.DAYS, "usual": "old", "new": "kit B",
    "stretches": (stretch("ICU"), stretch("ED", 1)), "charter": 2, "charter_fingerprint": "f" * 16, "baseline": 0.043,
    "expected": 0.025, "meaningful": 0.011, "level": 0.9, "power": 0.9, "icc": 0.02, "sets_per_arm": 2014,
    "looks": (0.4, 1.0), "spending": Spending.EVEN, "stop_rule": "Never stop.", "exclusions": (), "settle_days": 1,
    "decides": "director", "seed": 5, "data_to": date(2026, 2, 1), "replaces": 3,
}  # fmt: skip


@pytest.mark.parametrize("field", [one.name for one in fields(TrialPlan)])
def test_any_changed_field_gives_another_fingerprint(field):
    assert plan(**{field: CHANGED[field]}).fingerprint() != plan().fingerprint()


def test_a_plan_survives_its_plain_form_to_the_letter():
    whole = plan(seed=7, data_to=date(2026, 2, 27), replaces=1)
    again = read_plan(json.loads(json.dumps(build_plan_dict(whole))))
    assert again == whole
    assert again.fingerprint() == whole.fingerprint()


@given(st.permutations(sorted(build_plan_dict(plan()))))
def test_the_order_of_keys_does_not_matter(keys):
    plain = build_plan_dict(plan())
    assert fingerprint_of({key: plain[key] for key in keys}) == plan().fingerprint()


def test_days_and_arms_are_read_off_the_stretches():
    whole = plan()
    assert (whole.start, whole.end) == (date(2026, 3, 2), date(2026, 3, 15))
    assert whole.units == (("Marrowby General", "ED"),)
    asked = {"facility": "Marrowby General", "unit": "ED"}
    arms = [whole.arm_on(**asked, day=date(2026, 3, day)) for day in (1, 2, 8, 9, 15, 16)]
    assert arms == [None, 0, 0, 1, 1, None]


def test_a_plan_is_late_when_its_days_were_there_already():
    assert not plan().late
    assert not plan(data_to=date(2026, 3, 1)).late
    assert plan(data_to=date(2026, 3, 2)).late


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"expected": 0.042}, "no improvement"),
        ({"expected": 0.05}, "no improvement"),
        ({"baseline": 1.0}, "no share"),
        ({"baseline": 0.0}, "no share"),
        ({"meaningful": 0.05}, "larger than all"),
        ({"icc": 1.0}, "correlation"),
        ({"looks": ()}, "looks"),
        ({"looks": (1.0, 0.5)}, "looks"),
        ({"looks": (0.5,)}, "looks"),
        ({"stretches": (stretch(),)}, "both arms"),
        ({"stretches": (stretch(), stretch(arm=1))}, "twice"),
        ({"sets_per_arm": 0}, "sets"),
        ({"question": " "}, "question"),
        ({"decides": ""}, "decides"),
    ],
)
def test_what_is_no_plan_is_refused(changes, said):
    with pytest.raises(ValueError, match=said):
        plan(**changes)


@pytest.mark.parametrize(
    "broken",
    [{}, {"shape": "trial-plan/1"}, {**build_plan_dict(plan()), "extra": 1}, {**build_plan_dict(plan()), "design": "x"},
     {**build_plan_dict(plan()), "stretches": 5}, {**build_plan_dict(plan()), "shape": "other"}],
)  # fmt: skip
def test_plain_data_that_are_no_plan_are_refused(broken):
    with pytest.raises(ValueError, match=r"plan|valid"):
        read_plan(broken)


def test_impossible_stretches_are_refused():
    for changes in ({"arm": 2}, {"unit": ""}, {"last": date(2026, 3, 1)}):
        with pytest.raises(ValueError, match=r"."):
            stretch(**changes)
