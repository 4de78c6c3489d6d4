"""Strength and focus: chosen by whole intervals against local lines, never by noise."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from paper_fixtures import march, share

from cubital.domain.answer import Verdict
from cubital.papers.highlights import MORE_IS_BETTER
from cubital.papers.highlights import choose_highlights as choose_at


def choose_highlights(answer, lines):
    return choose_at(answer, lines, late_minutes=240)


LINES = {"solitary_by_episode": 0.10, "bottles_complete": 0.85, "collector_known": 0.95}


def test_the_figure_surely_beyond_its_line_becomes_focus_or_strength():
    chosen = choose_highlights(march(), LINES)
    assert "458 of 498" in chosen.strength
    assert chosen.focus.startswith(
        "The collector is unknown for 184 of 498 sets (36.9 %; local policy asks for 95 % known)"
    )


def test_an_interval_that_holds_the_line_is_neither():
    chosen = choose_highlights(march(), {"solitary_by_episode": 0.15})
    assert chosen.strength == "479 of 498 did not count as contaminated (96.2 %)."
    assert chosen.focus.startswith("Nothing stands out")
    assert chosen.by_hand


def test_without_a_local_line_nothing_is_judged():
    chosen = choose_highlights(march(), {})
    assert "did not count as contaminated" in chosen.strength
    assert chosen.focus.startswith("No approved local policy")


def test_after_a_signal_the_focus_is_its_own_sets():
    chosen = choose_highlights(march(verdict=Verdict.SIGNAL), LINES)
    assert chosen.focus.startswith("Look at this month's 19 contaminated sets")


def test_a_refusal_without_figures_claims_no_strength():
    assert choose_highlights(march(figures=(), verdict=Verdict.REFUSED), LINES).strength == ""


def test_a_handful_of_sets_makes_neither_strength_nor_focus():
    chosen = choose_highlights(march(verdict=Verdict.TOO_FEW), LINES)
    assert chosen.strength == ""
    assert chosen.focus.startswith("Too few sets to single anything out this month.")
    assert chosen.by_hand


def test_a_line_with_a_fraction_keeps_it():
    figure = share("receipt_very_late", "Late", count=90, total=100, low=0.82, high=0.95)
    assert "2.5 % at most" in choose_highlights(march(figures=(figure,)), {"receipt_very_late": 0.025}).focus


@pytest.mark.parametrize("key", MORE_IS_BETTER)
@given(low=st.floats(0, 1), width=st.floats(0, 1), line=st.floats(0, 1))
def test_a_focus_needs_its_whole_interval_on_the_bad_side(key, low, width, line):
    high = min(1.0, low + width)
    figure = share(key, "label", count=50, total=100, low=low, high=high)
    judged_bad = "local policy says" in (focus := choose_highlights(march(figures=(figure,)), {key: line}).focus)
    judged_bad = judged_bad or "local policy asks" in focus
    assert judged_bad == (high < line if MORE_IS_BETTER[key] else low > line)


def test_late_names_the_minutes_that_were_asked():
    line = {"receipt_very_late": 0.05}
    soon = share("receipt_very_late", "Late", count=0, total=497, low=0.0, high=0.008)
    assert choose_highlights(march(figures=(soon,)), line).strength == (
        "497 of 497 sets reached the laboratory within 240 minutes (100.0 %)."
    )
    late = share("receipt_very_late", "Late", count=90, total=100, low=0.82, high=0.95)
    assert (
        "90 of 100 sets took over 240 minutes to the laboratory"
        in choose_highlights(march(figures=(late,)), line).focus
    )
