"""P11 on paper: protocol and result, one page each, on both papers, with fingerprint, order and definition."""

from __future__ import annotations

from datetime import date

import pytest

from cubital.answers.trial_boundary import limit_of_look
from cubital.answers.trial_deviations import Done, find_deviations
from cubital.answers.trial_order import TrialUnit, draw_order
from cubital.answers.trial_result import LookMade, build_result_answer, limit_lines
from cubital.answers.trial_result_reading import TrialCounts, TurnCount, read_result
from cubital.domain.errors import RequestProblem
from cubital.domain.trial import Spending, TrialDesign, TrialPlan
from cubital.papers.trial_page import TrialPage, fingerprint_words, print_trial_page
from cubital.papers.trial_result_page import TrialResultPage, print_trial_result
from cubital.papers.typeset import PaperSize

START = date(2026, 5, 4)
MARROWBY = "Marrowby General"
DEFINITION = "Charter 1: A set is contaminated when a usual skin organism grew in it while another set lacks it."


def units(count=4):
    names = ("Emergency", "Intensive Care", "3 North", "Assessment", "5 West", "Dialysis", "Surgery", "Clinic")
    return tuple(
        TrialUnit(facility=MARROWBY, unit=f"u{n}", place=names[n % 8] if n < 8 else f"Unit {n}", sets=100 - n)
        for n in range(count)
    )


def plan(design=TrialDesign.WEEKS, count=4, weeks=26, **changes):
    values = {
        "name": "Kit trial", "question": "Does the pre-packed kit lower contamination, compared with single items?",
        "design": design, "usual": "single items", "new": "kit",
        "stretches": draw_order(units(count), design=design, start=START, weeks=weeks, seed=7), "charter": 1,
        "charter_fingerprint": "0123456789abcdef", "baseline": 0.042, "expected": 0.026, "meaningful": 0.01,
        "level": 0.95, "power": 0.8, "icc": 0.0049, "sets_per_arm": 2280, "looks": (0.5, 1.0),
        "spending": Spending.CAUTIOUS, "stop_rule": "Stop where the limit of a planned look is crossed, in either "
        "direction; otherwise at the planned size.", "exclusions": ("children",), "settle_days": 1,
        "decides": "value analysis committee", "seed": 7,
    }  # fmt: skip
    return TrialPlan(**{**values, **changes})


def protocol(one, **changes):
    values = {"plan": one, "number": 3, "definition": DEFINITION, "made_on": date(2026, 4, 20),
              "sealed": "Sealed by A. Educator, practice educator, on 20 April 2026; data up to 31 March 2026 "
              "were in."}  # fmt: skip
    return TrialPage(**{**values, **changes})


@pytest.mark.parametrize(("paper", "size"), [(PaperSize.A4, (210, 297)), (PaperSize.LETTER, (216, 279))])
@pytest.mark.parametrize("design", list(TrialDesign))
def test_every_design_fits_one_tagged_page(read, paper, size, design):
    page = read(print_trial_page(protocol(plan(design)), paper=paper))
    assert (page.pages, tuple(round(mm) for mm in page.size_mm)) == (1, size)
    assert page.tagged
    for words in (
        "Trial 3: Kit trial",
        "Who begins when",
        "What would matter",
        "a fall of at least 1.0 points",
        "2,280 sets in each arm",
        "value analysis committee",
        "Drawn with seed 7",
    ):
        assert words in page.words  # fmt: skip


def test_the_whole_fingerprint_stands_on_the_page(read):
    one = plan()
    words = read(print_trial_page(protocol(one))).words
    assert fingerprint_words(one.fingerprint()) in words
    assert fingerprint_words(one.fingerprint()).replace(" ", "") == one.fingerprint()


def test_turns_are_printed_as_marks_that_need_no_colour(read):
    one = plan()
    words = read(print_trial_page(protocol(one))).words.replace(" ", "")
    for unit in units():
        marks = "".join("N" if s.arm else "–" for s in one.stretches if s.unit == unit.unit)
        assert marks in words


def test_a_late_plan_and_a_draft_say_so(read):
    late = read(print_trial_page(protocol(plan(data_to=START)))).words
    assert "Written after data were there: the trial starts on 4 May 2026" in late
    assert "Protocol, written late" in late
    draft = read(print_trial_page(protocol(plan(), number=None, sealed=""))).words
    assert "Draft of a trial: Kit trial" in draft
    assert "Not sealed yet: nothing binds anybody." in draft


def test_steps_and_parallel_units_are_said_in_words(read):
    assert "'kit' from" in read(print_trial_page(protocol(plan(TrialDesign.STEPPED)))).words
    words = read(print_trial_page(protocol(plan(TrialDesign.PARALLEL)))).words
    assert words.count("stays with 'single items'") == 2


def test_more_than_a_page_holds_is_refused_with_a_way_out():
    with pytest.raises(RequestProblem, match="one page"):
        print_trial_page(protocol(plan(TrialDesign.DAYS, count=40, weeks=26)))


def result(one, *, shares=(0.045, 0.022), number=1):
    turns = tuple(
        TurnCount(key=str(n), place=s.place, arm=s.arm, sets=40,
                  contaminated=round(40 * shares[s.arm]) + (n % 3 == 0))
        for n, s in enumerate(one.stretches)
    )  # fmt: skip
    reading = read_result(one, TrialCounts(turns=turns, data_to=one.end))
    limit = limit_of_look(one, (reading.share,), last=True)
    look = LookMade(number=number, last=True, limit=limit, crossed=limit.crossed(reading.z))
    deviations = find_deviations(one, reading, Done(charter_now=2, looks=(reading.share,)))
    return TrialResultPage(
        number=3, plan=one, answer=build_result_answer(reading, look, deviations=deviations), deviations=deviations,
        limits=limit_lines(one), definition=DEFINITION, looked="Look 1 on 2 November 2026, batch 9, 4,160 sets",
        made_on=date(2026, 11, 3), receipt="Receipt R-AAAA-BBBB-CCCC: 'cubital again R-AAAA-BBBB-CCCC'",
    )  # fmt: skip


@pytest.mark.parametrize(("paper", "size"), [(PaperSize.A4, (210, 297)), (PaperSize.LETTER, (216, 279))])
def test_a_result_is_one_page_with_deviations_and_limits(read, paper, size):
    page = read(print_trial_result(result(plan()), paper=paper))
    assert (page.pages, tuple(round(mm) for mm in page.size_mm)) == (1, size)
    assert page.tagged
    for words in (
        "Result of trial 3: Kit trial",
        "Difference",
        "Probability of a fall that matters",
        "Charter 2 is in force today; counted is by charter 1, as written.",
        "What this cannot say",
        "Counted is what was planned for the day, not what was used",
        DEFINITION,
        "R-AAAA-BBBB-CCCC",
        "Decision of value analysis committee",
        fingerprint_words(plan().fingerprint()),
    ):
        assert words in page.words  # fmt: skip


def test_a_late_result_says_so_once_and_first(read):
    words = read(print_trial_result(result(plan(data_to=START)))).words
    assert words.index("Written after data were there") < words.index("Does the pre-packed kit")


def test_differences_are_points_and_chances_never_certain(read):
    words = read(print_trial_result(result(plan()))).words
    assert "Difference \u22122.4 points \u2212" in words
    assert "Probability of any fall over 99 %" in words
    assert "100.0 %" not in words


def test_the_same_result_gives_the_same_bytes():
    assert print_trial_result(result(plan())) == print_trial_result(result(plan()))
