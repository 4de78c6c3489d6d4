"""Millilitres, millimetres and grams. Expected: computed anchors, numerical integration, the story's balance."""

from __future__ import annotations

from math import cos, pi, radians, sin, tan

import numpy as np
import pytest
from bedside_cast import APPROVED, TODAY

from cubital.bedside.fill import FillFlag, TareKind, Weighing, level_mm, mm_per_ml, tilt_error_ml, weigh_bottles
from cubital.bedside.fill_answer import answer_stop_line, answer_weighing
from cubital.domain.answer import Verdict

TARE = {"AER": 62.4, "ANA": 61.9}
BALANCE = [
    ("5101", "AER", 71.6), ("5101", "ANA", 67.1), ("5102", "AER", 66.3), ("5102", "ANA", 64.0), ("5103", "AER", 72.9),
    ("5104", "AER", 70.1), ("5104", "ANA", 70.3), ("5105", "AER", 65.2), ("5105", "ANA", 62.0), ("5106", "AER", 74.5),
    ("5106", "ANA", 69.2),
]  # fmt: skip
SHEET = [Weighing(accession=a, bottle=b, gross_g=g, tare_g=TARE[b]) for a, b, g in BALANCE]


def weigh(tare=TareKind.LOT):
    return answer_weighing(APPROVED, SHEET, tare=tare, density_g_ml=1.055, today=TODAY)


def test_one_millilitre_in_a_bore_of_34_mm():
    assert mm_per_ml(34) == pytest.approx(1.10, abs=0.005)
    assert level_mm(10, bore_mm=34) == pytest.approx(11.0, abs=0.05)


@pytest.mark.parametrize(("tilt", "expected"), [(10, 2.7), (45, 15)])
def test_a_tilted_bottle_misleads(tilt, expected):
    assert tilt_error_ml(34, tilt_degrees=tilt) == pytest.approx(expected, abs=0.5)


@pytest.mark.parametrize("tilt", [5, 10, 30])
def test_tilt_agrees_with_numerical_integration(tilt):
    # The liquid under a plane through the axis at height h: its volume is that of the upright level h. Integrated over
    # the disc, the mean height is h, and the height at the edge differs by r·tan(tilt).
    radius, height = 17.0, 40.0
    r = (np.arange(400) + 0.5) / 400 * radius
    angle = (np.arange(720) + 0.5) / 720 * 2 * pi
    heights = height + np.outer(r, np.cos(angle)) * tan(radians(tilt))
    volume = float((heights * r[:, None]).sum() * (radius / 400) * (2 * pi / 720)) / 1000
    assert volume == pytest.approx(pi * radius**2 * height / 1000, rel=1e-4)
    at_edge = height + radius * sin(radians(tilt)) / cos(radians(tilt))
    assert (at_edge - height) / mm_per_ml(34) == pytest.approx(tilt_error_ml(34, tilt_degrees=tilt))


def test_the_balance_gives_the_storys_volumes():
    found = [round(row[2], 1) for row in weigh().table.rows]
    assert found == [8.7, 4.9, 3.7, 2.0, 10.0, 7.3, 8.0, 2.7, 0.1, 11.5, 6.9]


def test_set_totals_are_those_of_the_story():
    totals = {row[0]: row[5] for row in weigh().table.rows}
    assert list(totals.values()) == [13.6, 5.7, 10.0, 15.3, 2.7, 18.4]


def test_under_over_and_mean_are_those_of_the_story():
    answer = weigh()
    assert (answer.figure("under_count").numerator, answer.figure("under_count").denominator) == (8, 11)
    assert answer.figure("over_count").numerator == 1
    assert answer.figure("mean_ml").value == pytest.approx(6.0, abs=0.05)


def test_the_empty_bottle_is_flagged():
    assert any(c.startswith("5105 ANA: practically empty or wrong tare") for c in weigh().cautions)


def test_a_lot_tare_doubts_one_bottle_far_more_than_a_mean():
    fills = weigh_bottles(SHEET[:1] * 40, low_ml=8, high_ml=10, tare_sd_g=1.8)
    from cubital.bedside.fill import mean_fill_sd

    assert fills[0].sd_ml == pytest.approx(1.7, abs=0.05)
    assert mean_fill_sd(fills, shared_tare=False) == pytest.approx(0.27, abs=0.005)


def test_a_bottle_lighter_than_its_tare_is_impossible():
    light = Weighing(accession="1", bottle="AER", gross_g=50, tare_g=62.4)
    assert weigh_bottles([light], low_ml=8, high_ml=10, tare_sd_g=1)[0].flag is FillFlag.IMPOSSIBLE


def test_the_stop_line_is_eleven_millimetres_for_ten():
    answer = answer_stop_line(APPROVED, "adult_aerobic", 10, today=TODAY)
    assert answer.figure("stop_mm").value == pytest.approx(11.0, abs=0.05)


def test_no_stop_line_above_the_bottles_maximum():
    assert answer_stop_line(APPROVED, "adult_aerobic", 12, today=TODAY).figures == ()


def test_an_impossible_bottle_is_named_and_counted_nowhere():
    good = Weighing(accession="1", bottle="AER", gross_g=71.6, tare_g=62.4)
    light = Weighing(accession="1", bottle="ANA", gross_g=50.0, tare_g=61.9)
    answer = answer_weighing(APPROVED, [good, light], tare=TareKind.LOT, density_g_ml=1.055, today=TODAY)
    assert answer.figure("mean_ml").value == pytest.approx((71.6 - 62.4) / 1.055, abs=0.001)
    assert answer.figure("under_count").denominator == 1
    assert any("no bottle weighs that" in words for words in answer.cautions)
    assert {row[5] for row in answer.table.rows} == {None}


def test_nothing_but_impossible_bottles_gives_no_mean():
    light = Weighing(accession="1", bottle="ANA", gross_g=50.0, tare_g=61.9)
    answer = answer_weighing(APPROVED, [light], tare=TareKind.LOT, density_g_ml=1.055, today=TODAY)
    assert answer.verdict is Verdict.REFUSED


def test_a_typed_716_for_71_6_is_named_and_counted_nowhere():
    good = Weighing(accession="1", bottle="AER", gross_g=71.6, tare_g=62.4)
    typed = Weighing(accession="2", bottle="AER", gross_g=716.0, tare_g=62.4)
    answer = answer_weighing(APPROVED, [good, typed], tare=TareKind.LOT, density_g_ml=1.055, today=TODAY)
    assert answer.figure("mean_ml").value == pytest.approx(8.7, abs=0.05)
    assert any(caution.startswith("2 AER: no bottle weighs that") for caution in answer.cautions)
