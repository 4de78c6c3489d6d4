"""The spike sheet: always five steps, always in this order, people last and without a name or a rate."""

from __future__ import annotations

import dataclasses
import re

from hypothesis import given
from hypothesis import strategies as st

from cubital.answers.lots import Exposure
from cubital.answers.spike import Found, Kind, Slice, SpikeMaterial, build_spike_sheet
from cubital.domain.answer import Answer, Check, Mark, Verdict

ORDER = ["data", "mix", "place", "supplies", "people"]
ANSWER = Answer(
    question="?", verdict=Verdict.SIGNAL, sentence="March is above.",
    checks=(Check(key="no_set_twice", passed=True, words="No set stands twice."),),
)  # fmt: skip


def one(kind, name, now, before):
    return Slice(
        kind=kind, name=name, contaminated=now[0], sets=now[1], contaminated_before=before[0], sets_before=before[1]
    )


def material(**more):
    usual = {
        "month": "2026-03", "place": "ED", "answer": ANSWER, "singles": (60, 300), "singles_before": (720, 3600),
        "slices": (
            one(Kind.AGE, "18 to 64 years", (8, 250), (90, 3000)),
            one(Kind.AGE, "80 years and over", (7, 248), (90, 3000)),
            one(Kind.UNIT, "ED", (8, 250), (90, 3000)), one(Kind.UNIT, "ICU", (7, 248), (90, 3000)),
        ),
        "lots": None, "people": tuple((1, 20) for _n in range(12)),
    }  # fmt: skip
    return SpikeMaterial(**usual | more)


def step(sheet, key):
    return next(found for found in sheet.steps if found.key == key)


def test_the_order_is_fixed_and_people_come_last():
    sheet = build_spike_sheet(material())
    assert [found.key for found in sheet.steps] == ORDER


def test_nothing_found_says_chance_is_likeliest():
    sheet = build_spike_sheet(material())
    assert not any(found.found is Found.LOOK for found in sheet.steps)
    assert "chance is the likeliest cause" in sheet.proposal


def test_failed_data_come_before_everything_else_that_was_found():
    failed = dataclasses.replace(ANSWER, checks=(Check(key="volume", passed=False, words="Twice as many sets."),))
    rise = (one(Kind.UNIT, "ED", (40, 250), (90, 3000)), one(Kind.UNIT, "ICU", (7, 248), (90, 3000)))
    sheet = build_spike_sheet(material(answer=failed, slices=rise))
    assert step(sheet, "place").found is Found.LOOK
    assert sheet.proposal.startswith("Settle the data first")


def test_a_moved_mix_says_what_the_old_rates_would_give():
    moved = (one(Kind.AGE, "young", (5, 100), (60, 4000)), one(Kind.AGE, "old", (30, 400), (120, 2000)))
    words = step(build_spike_sheet(material(slices=moved)), "mix").lines[0]
    assert "80 % of sets are old, 33 % before" in words
    assert "would give 26 of 500; 35 were counted" in words  # 100 x 60/4000 + 400 x 120/2000 = 25.5


def test_the_unit_that_rose_is_named_with_its_doubt():
    rise = (one(Kind.UNIT, "ED", (40, 250), (90, 3000)), one(Kind.UNIT, "ICU", (7, 248), (90, 3000)))
    lines = step(build_spike_sheet(material(slices=rise)), "place").lines
    assert lines[0].startswith("ED: 40 of 250 (16.0 %), before 90 of 3,000 (3.0 %)")
    assert "less than once in 10,000" in lines[0]


def test_a_lot_that_stands_out_is_exposure_not_cause():
    lot = Exposure(
        item="gauze", lot="G", exposed=12, exposed_sets=80, others=3, other_sets=400, chance=0.001, units=("ed",)
    )
    found = step(build_spike_sheet(material(lots=(lot,))), "supplies")
    assert found.found is Found.LOOK
    assert "Exposure, not cause" in found.lines[0]


def test_few_people_are_not_compared():
    found = step(build_spike_sheet(material(people=((9, 10), (0, 90)))), "people")
    assert found.found is Found.NOT_CHECKED
    assert "point at somebody" in found.lines[0]


def test_people_that_differ_are_not_said_by_count_or_rate():
    people = ((15, 20), *((0, 40) for _n in range(11)))
    found = step(build_spike_sheet(material(people=people)), "people")
    assert found.found is Found.LOOK
    assert not re.search(r"\b15\b|75\.0|\b20\b", found.lines[0])


def test_nothing_at_all_still_makes_five_steps():
    sheet = build_spike_sheet(material(slices=(), people=None, singles=(0, 0), singles_before=(0, 0)))
    assert [found.key for found in sheet.steps] == ORDER
    assert all(found.lines for found in sheet.steps)


@given(
    st.lists(st.tuples(st.integers(0, 30), st.integers(0, 300), st.integers(0, 30), st.integers(0, 300)), max_size=8)
)
def test_any_counts_make_a_sheet(counts):
    slices = tuple(
        one(kind, f"{kind} {i}", (min(a, b), b), (min(c, d), d))
        for i, (a, b, c, d) in enumerate(counts)
        for kind in Kind
    )
    sheet = build_spike_sheet(material(slices=slices, people=tuple((min(a, b), b) for a, b, _c, _d in counts if b)))
    words = " ".join(line for found in sheet.steps for line in found.lines)
    assert [found.key for found in sheet.steps] == ORDER
    assert "nan" not in words


def test_what_the_diary_holds_for_these_weeks_stands_under_place_and_time_as_no_finding():
    marks = tuple(
        Mark(letter=letter, month=month, words=words)
        for letter, month, words in (
            ("A", "2026-01", "A course in January"), ("B", "2026-02", "A kit in February"), ("C", "2026-03", "A rota"),
        )
    )  # fmt: skip
    found = step(build_spike_sheet(material(answer=dataclasses.replace(ANSWER, marks=marks))), "place")
    assert found.lines[-1] == "In the diary at that time: A kit in February; A rota."
    assert found.found is step(build_spike_sheet(material()), "place").found
    assert not any("diary" in line for line in step(build_spike_sheet(material()), "place").lines)
