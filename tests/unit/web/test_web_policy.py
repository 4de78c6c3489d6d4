"""The page *Policy*: values with owners, drafts, approvals, differences."""

from __future__ import annotations

import re
from datetime import date, timedelta

import pytest
from web_reading import words_of

from cubital.workspace.policies import current_policy, list_policies

TODAY = date.today()  # noqa: DTZ011 -- the pages go by the local day
APPROVAL = {
    "name": "Asha Brandt, chair",
    "on": TODAY.isoformat(),
    "review_by": (TODAY + timedelta(days=365)).isoformat(),
}


def entered(workspace, **changes) -> dict[str, str]:
    """The edit form as it comes, with some fields changed."""
    policy = list_policies(workspace)[-1]
    form = {"policy-name": policy.name}
    for value in policy.values:
        shown = 100 * value.value if value.unit == "proportion" else value.value
        form |= {
            f"{value.key}-value": f"{shown:g}",
            f"{value.key}-source": value.source,
            f"{value.key}-owner": value.owner,
        }
    return {**form, **changes}


def test_an_unapproved_policy_says_so_and_defers_to_local_practice(browser):
    said = words_of(browser.get("/policy"))
    assert "Version 1 is a draft: nobody has approved it." in said
    assert "Follow local policy and your scope of practice" in said


def test_every_value_stands_with_unit_source_and_owner(browser, workspace):
    said = words_of(browser.get("/policy"))
    for value in current_policy(workspace).values:
        assert value.source in said
        assert value.owner in said


def test_shares_are_shown_as_per_cent(browser):
    said = words_of(browser.get("/policy"))
    assert re.search(r"target: at most 3 %", said)


def test_a_changed_value_makes_a_draft_and_leaves_the_old_version(browser, workspace):
    response = browser.post("/policy/edit", entered(workspace, **{"contamination_target-value": "2.5"}))
    assert response.status_code == 302
    old, new = list_policies(workspace)
    assert (old.value("contamination_target"), new.value("contamination_target")) == (0.03, 0.025)
    assert (new.version, new.approved_by) == (2, "")


def test_no_change_makes_no_version(browser, workspace):
    browser.post("/policy/edit", entered(workspace))
    assert len(list_policies(workspace)) == 1


@pytest.mark.parametrize(
    ("field", "given", "sentence"),
    [
        ("contamination_target-value", "2,5", "Please write a number, such as 3 or 2.5."),
        ("contamination_target-value", "", "Please write a number; a value cannot be left empty."),
        ("contamination_target-source", "", "Please say where this number comes from"),
        ("contamination_target-owner", "", "Please say who may change this value"),
        ("policy-name", "", "Please give the policy a name."),
    ],
)
def test_a_field_that_is_wrong_gets_its_sentence_and_nothing_is_saved(browser, workspace, field, given, sentence):
    response = browser.post("/policy/edit", entered(workspace, **{field: given}))
    assert response.status_code == 400
    assert sentence in words_of(response)
    assert len(list_policies(workspace)) == 1


def test_an_approval_puts_the_version_in_force(browser, workspace):
    assert browser.post("/policy/approve/1", APPROVAL).status_code == 302
    assert current_policy(workspace).approved_by == "Asha Brandt, chair"
    assert "approved by Asha Brandt, chair" in words_of(browser.get("/policy"))


@pytest.mark.parametrize(
    ("field", "given", "sentence"),
    [
        ("name", "", "Please write who approves."),
        ("on", "", "Please choose the day of approval."),
        ("on", "30/11/2025", "Please write the day as 2025-11-30."),
        ("on", (TODAY + timedelta(days=2)).isoformat(), "This day has not come yet."),
        ("review_by", "", "Please choose the day by which the policy is looked at again."),
        ("review_by", TODAY.isoformat(), "The review has to be after the approval."),
    ],
)
def test_an_approval_that_is_wrong_gets_its_sentence(browser, workspace, field, given, sentence):
    response = browser.post("/policy/approve/1", {**APPROVAL, field: given})
    assert response.status_code == 400
    assert sentence in words_of(response)
    assert current_policy(workspace).approved_by == ""


def test_two_versions_show_what_differs(browser, workspace):
    browser.post("/policy/edit", entered(workspace, **{"contamination_target-value": "2.5"}))
    said = words_of(browser.get("/policy/compare?old=1&new=2"))
    assert re.search(r"target: at most 3 2.5 %", said)
    assert "No value differs." in words_of(browser.get("/policy/compare?old=2&new=2"))


def test_a_version_that_is_not_there_is_a_calm_page(browser):
    response = browser.get("/policy/approve/99")
    assert response.status_code == 400
    assert "there is no policy version 99." in words_of(response)


@pytest.mark.parametrize("path", ["/policy", "/policy/compare"])
def test_pages_that_only_show_refuse_to_be_posted_to(browser, path):
    assert browser.post(path).status_code == 405


@pytest.mark.parametrize("path", ["/policy", "/policy/edit", "/policy/approve/1", "/policy/compare"])
def test_a_stranger_sees_no_policy(stranger, path):
    assert stranger.get(path).status_code == 403
