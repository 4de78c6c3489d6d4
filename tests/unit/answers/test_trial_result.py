"""What a trial showed: limits of the looks really made, deviations listed, and never more than the design can say."""

from __future__ import annotations

from datetime import date, timedelta

import numpy as np
import pytest

from cubital.answers.trial_boundary import limit_of_look, planned_limits, price_of_looking
from cubital.answers.trial_deviations import Done, find_deviations
from cubital.answers.trial_order import TrialUnit, draw_order
from cubital.answers.trial_result import LookMade, build_result_answer
from cubital.answers.trial_result_reading import ResultState, TrialCounts, TurnCount, read_result, widened
from cubital.domain.answer import Verdict
from cubital.domain.diary import ChangeKind, DiaryEntry
from cubital.domain.trial import Spending, TrialDesign, TrialPlan

START = date(2026, 3, 2)
MARROWBY = "Marrowby General"
UNITS = tuple(TrialUnit(facility=MARROWBY, unit=name, place=name, sets=100) for name in ("ed", "icu", "north", "west"))


def plan(design=TrialDesign.WEEKS, units=UNITS, weeks=20, **changes):
    values = {
        "name": "Kit trial", "question": "Does the kit help?", "design": design, "usual": "as now", "new": "kit",
        "stretches": draw_order(units, design=design, start=START, weeks=weeks, seed=3), "charter": 1,
        "charter_fingerprint": "0123456789abcdef", "baseline": 0.04, "expected": 0.02, "meaningful": 0.01,
        "level": 0.95, "power": 0.8, "icc": 0.01, "sets_per_arm": 1000, "looks": (0.5, 1.0),
        "spending": Spending.CAUTIOUS, "stop_rule": "Stop where the limit is crossed.", "exclusions": (),
        "settle_days": 0, "decides": "value analysis",
    }  # fmt: skip
    return TrialPlan(**{**values, **changes})


def counts(one, shares=(0.04, 0.02), sets=25, seed=5, until=None, **changes):
    """One count per stretch, drawn at the arm's share."""
    rng = np.random.default_rng(seed)
    steps = sorted({stretch.first for stretch in one.stretches})
    turns = tuple(
        TurnCount(
            key=f"{stretch.unit} {stretch.first}", place=stretch.place, arm=stretch.arm, sets=sets,
            contaminated=int(rng.binomial(sets, shares[stretch.arm])), period=steps.index(stretch.first)
            if one.design is TrialDesign.STEPPED else 0,
        )
        for stretch in one.stretches
        if until is None or stretch.first <= until
    )  # fmt: skip
    return TrialCounts(turns=turns, data_to=until or one.end, **changes)


def made(one, reading, number=1, *, last=True, shares=None):
    limit = limit_of_look(one, shares or (reading.share,), last=last)
    return LookMade(number=number, last=last, limit=limit, crossed=limit.crossed(reading.z))


def test_limits_of_two_looks_are_those_of_the_literature():
    """O'Brien and Fleming type spending at half and all: 2.963 and 1.969 (Jennison and Turnbull 2000, from memory)."""
    early, late = planned_limits(plan())
    assert (early.z, late.z) == (pytest.approx(2.963, abs=0.001), pytest.approx(1.969, abs=0.001))
    assert late.spent == pytest.approx(0.05)
    assert limit_of_look(plan(), (0.5,), last=False).z == pytest.approx(early.z)


def test_more_looks_than_planned_draw_the_limit_in():
    more = limit_of_look(plan(), (0.3, 0.5, 0.7, 1.0), last=True)
    assert more.z > planned_limits(plan())[-1].z
    assert more.spent == pytest.approx(0.05)


def test_looking_has_its_price():
    free = price_of_looking((1.0,), level=0.95, power=0.8, spending=Spending.CAUTIOUS)
    assert free == pytest.approx(1.0, abs=1e-6)
    even, cautious = (
        price_of_looking((0.5, 1.0), level=0.95, power=0.8, spending=one) for one in (Spending.EVEN, Spending.CAUTIOUS)
    )
    assert 1 < cautious < 1.02 < even < 1.15


def test_a_clear_fall_is_said_with_its_doubt_and_who_decides():
    one = plan()
    reading = read_result(one, counts(one, (0.06, 0.02), sets=60))
    said = build_result_answer(reading, made(one, reading))
    assert said.verdict is Verdict.SIGNAL
    assert said.sentence.startswith("Kit: ")
    assert "The limit that was written beforehand is crossed. Value analysis decides" in said.sentence
    assert said.figure("difference").high < 0
    assert said.figure("meaningful").value > 0.9
    assert said.figure("share").denominator == 2000


def test_no_difference_at_the_end_is_no_proof_of_none():
    one = plan()
    reading = read_result(one, counts(one, (0.03, 0.03)))
    said = build_result_answer(reading, made(one, reading))
    assert said.verdict is Verdict.WITHIN_VARIATION
    assert "does not show that 'kit' is better, and does not show that it is not" in said.sentence


def test_an_early_look_goes_on():
    one = plan()
    until = START + timedelta(weeks=10)
    reading = read_result(one, counts(one, until=until))
    said = build_result_answer(reading, made(one, reading, last=False))
    assert said.verdict is Verdict.TOO_FEW
    assert "go on, nothing is decided yet" in said.sentence


def test_a_new_way_that_does_worse_is_said_so():
    one = plan()
    reading = read_result(one, counts(one, (0.02, 0.08), sets=60))
    said = build_result_answer(reading, made(one, reading))
    assert "crossed in the wrong direction: 'kit' does worse" in said.sentence
    assert said.figure("meaningful").value < 0.01


def test_a_late_plan_says_so_before_everything_else():
    one = plan(data_to=START + timedelta(days=3))
    reading = read_result(one, counts(one))
    said = build_result_answer(reading, made(one, reading), deviations=find_deviations(one, reading, Done()))
    assert said.sentence.startswith("Written after data were there: the trial starts on 2 March 2026, and data up to ")
    assert any("choosing cannot be excluded" in caution for caution in said.cautions)


def test_the_repeated_interval_is_wider_than_the_plain_one():
    one = plan()
    reading = read_result(one, counts(one))
    wide = widened(reading, 2.963)
    assert wide.high - wide.low > reading.interval.high - reading.interval.low
    assert widened(reading, None) == reading.interval
    early = widened(reading, float("inf"))  # so early that nothing could cross: all is open
    assert (early.low, early.high) == (-1.0, 1.0)


@pytest.mark.parametrize(
    ("design", "turns", "state"),
    [
        (TrialDesign.WEEKS, (), ResultState.EMPTY),
        (TrialDesign.WEEKS, ((0, 50, 1),), ResultState.EMPTY),
        (TrialDesign.PARALLEL, ((0, 50, 1), (1, 50, 2)), ResultState.FEW_CLUSTERS),
        (TrialDesign.WEEKS, ((0, 50, 0), (0, 40, 0), (1, 30, 0), (1, 50, 0)), ResultState.FEW_CLUSTERS),
        (TrialDesign.STEPPED, ((0, 50, 1), (1, 50, 2)), ResultState.FEW_CLUSTERS),
    ],
)
def test_data_that_cannot_say_are_refused_with_the_reason(design, turns, state):
    one = plan(design)
    held = tuple(
        TurnCount(key=str(number), place="ed", arm=arm, sets=sets, contaminated=events)
        for number, (arm, sets, events) in enumerate(turns)
    )
    reading = read_result(one, TrialCounts(turns=held, data_to=START))
    assert reading.state is state
    said = build_result_answer(reading, made(one, reading, shares=(0.1,), last=False))
    assert said.verdict in (Verdict.TOO_FEW, Verdict.NOT_IDENTIFIABLE)
    assert all(figure.key != "difference" for figure in said.figures)


def test_steps_where_all_change_at_once_cannot_be_told_from_time():
    one = plan(TrialDesign.STEPPED)
    held = tuple(
        TurnCount(key=f"{place}{arm}", place=place, arm=arm, sets=100, contaminated=4, period=arm)
        for place in ("ed", "icu", "north") for arm in (0, 1)
    )  # fmt: skip
    assert read_result(one, TrialCounts(turns=held, data_to=START)).state is ResultState.NOT_TOLD


def test_intervals_of_trials_in_turns_cover_the_truth():
    """300 trials of four units in weekly turns, true difference −1 point. Monte-Carlo error of 0.95: 0.013."""
    one = plan()
    covered = 0
    for seed in range(300):
        interval = read_result(one, counts(one, (0.04, 0.03), sets=40, seed=seed)).interval
        covered += interval.low <= -0.01 <= interval.high
    assert covered / 300 == pytest.approx(0.95, abs=0.04)


def test_two_looks_together_keep_the_error_where_the_plan_put_it():
    """600 trials without any difference, looked at twice: 5 %, Monte-Carlo error 0.9 points.

    With a true fall from 4.5 to 2.5 % at 1,600 sets in each arm the same procedure finds it in most trials.
    """
    one = plan(sets_per_arm=1600)
    early, late = planned_limits(one)
    middle = START + timedelta(weeks=10) - timedelta(days=1)

    def found(shares, trials):
        hits = 0
        for seed in range(trials):
            half = read_result(one, counts(one, shares, sets=40, seed=seed, until=middle))
            whole = read_result(one, counts(one, shares, sets=40, seed=seed))
            hits += early.crossed(half.z) or late.crossed(whole.z)
        return hits / trials

    assert found((0.03, 0.03), 600) == pytest.approx(0.05, abs=0.027)
    assert found((0.045, 0.025), 120) > 0.75


def test_a_stepped_trial_recovers_its_difference_where_time_falls_for_all():
    """Units differ, everybody falls with time, the new way halves the odds: found by t with four degrees of freedom."""
    units = tuple(TrialUnit(facility=MARROWBY, unit=f"u{n}", place=f"u{n}") for n in range(6))
    one = plan(TrialDesign.STEPPED, units=units, weeks=28)
    steps = sorted({stretch.first for stretch in one.stretches})
    found = []
    for seed in range(30):
        rng = np.random.default_rng(seed)
        turns = []
        for unit in units:
            own = rng.normal(0, 0.25)
            for period, day in enumerate(steps):
                arm = one.arm_on(facility=MARROWBY, unit=unit.unit, day=day)
                share = 1 / (1 + np.exp(-(-2.8 + own - 0.08 * period - 0.69 * arm)))
                turns.append(
                    TurnCount(key=f"{unit.unit}{period}", place=unit.place, arm=arm, sets=150, period=period,
                              contaminated=int(rng.binomial(150, share)))
                )  # fmt: skip
        found.append(read_result(one, TrialCounts(turns=tuple(turns), data_to=one.end)).z)
        assert found[-1] is not None
    assert np.mean([z < -1.96 for z in found]) > 0.4
    assert np.mean(found) < -1.5


ALL_DONE = Done(charter_now=1, looks=(0.5, 1.0))


def test_a_trial_done_as_written_has_no_deviation():
    one = plan()
    reading = read_result(one, counts(one))
    assert find_deviations(one, reading, ALL_DONE) == ()


@pytest.mark.parametrize(
    ("changes", "done", "said"),
    [
        ({"until": START + timedelta(weeks=10)}, {}, "Data end on 11 May 2026; written was 19 July 2026."),
        ({"sets": 5}, {}, "'kit' has 200 sets; written were 1,000."),
        ({"undated": 7}, {}, "7 sets of these units, whenever they were drawn, have no day"),
        ({}, {"charter_now": 4}, "Charter 4 is in force today; counted is by charter 1, as written."),
        ({}, {"looks": (0.2, 0.5, 1.0)}, "Looked 3 times; written were 2."),
        ({}, {"looks": (0.2, 1.0)}, "Look 1 was made at 20 % of the sets; written were 50 %, 100 %."),
        ({}, {"replaced_by": (9,)}, "A later plan, trial 9, replaces this one."),
        ({}, {"renamed": (("ed", "Emergency"),)}, "ed is called Emergency today."),
        ({}, {"gone": ("west",)}, "west is no unit of this workspace any more."),
        ({"until": START - timedelta(days=1)}, {}, "The first day, 2 March 2026, is not in the data yet."),
    ],
)
def test_every_deviation_is_listed(changes, done, said):
    one = plan()
    reading = read_result(one, counts(one, **changes))
    lines = find_deviations(one, reading, Done(**{**vars(ALL_DONE), **done}))
    assert any(said in line for line in lines)


def test_while_it_runs_what_is_still_to_come_is_no_deviation():
    one = plan()
    reading = read_result(one, counts(one, until=START + timedelta(weeks=10)))
    running = Done(charter_now=1, looks=(0.5,), ended=False)
    assert find_deviations(one, reading, running) == ()


def test_a_unit_without_a_set_in_an_arm_is_listed():
    one = plan()
    whole = counts(one)
    short = TrialCounts(turns=tuple(t for t in whole.turns if (t.place, t.arm) != ("ed", 1)), data_to=one.end)
    assert "ed drew nothing in 'kit'." in find_deviations(one, read_result(one, short), ALL_DONE)


def test_a_change_on_one_side_that_came_meanwhile_is_listed():
    one = plan(TrialDesign.PARALLEL)
    new = next(stretch for stretch in one.stretches if stretch.arm)
    entry = DiaryEntry(
        kind=ChangeKind.STAFFING, on=START + timedelta(days=30), words="New shift", facility=MARROWBY, unit=new.unit
    )
    lines = find_deviations(one, read_result(one, counts(one)), Done(**{**vars(ALL_DONE), "entries": (entry,)}))
    assert any("New shift (1 April 2026) fell together with the trial on one side" in line for line in lines)
