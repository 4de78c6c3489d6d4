"""The answers on published series, not only the numerics under them.

Sources: qcc 2.7 and qicharts2 0.8.1 through the check-values (orange juice, purchase orders, NHS accidents, 24 gaps);
qicharts2's ``cdi`` (C. difficile in one hospital, an intervention after month 24) and ``hospital_infections``
(bacteraemia in six hospitals over 24 months). Patient-days are rounded to whole ones. Skipped where they are absent.
"""

from __future__ import annotations

import csv
import json
from collections import defaultdict

import pytest
from scipy.stats import geom, poisson

from cubital.answers.charts.gap_answering import build_gap_answer
from cubital.answers.charts.gaps import Gaps
from cubital.answers.charts.kinds import ChartKind
from cubital.answers.charts.monthly import read_chart
from cubital.answers.counts import MonthCount
from cubital.answers.month_text import next_month
from cubital.answers.signal_reading import SignalPolicy
from cubital.answers.since_when import build_since_answer
from cubital.answers.unit_months import UnitMonths, build_units_answer
from cubital.domain.answer import Verdict

POLICY = SignalPolicy(min_points=8, min_sets=100)


@pytest.fixture(scope="module")
def printed(check_values):
    cases = json.loads(check_values("m02-attribute-charts.json").read_text())["cases"]
    return {case["id"]: case for case in cases}


def series(events, sizes, start="2015-01"):
    month, found = start, []
    for x, n in zip(events, sizes, strict=True):
        found.append(MonthCount(month=month, sets=round(n), contaminated=x))
        month = next_month(month)
    return tuple(found)


def whole(counts, kind):
    return read_chart(counts, kind=kind, policy=POLICY, locked=(counts[0].month, counts[-1].month))


def test_the_proportion_chart_of_orange_juice_has_the_printed_limits(printed):
    case = printed["m02-p-orangejuice"]
    reading = whole(series(case["inputs"]["defectives"], [50] * 30), ChartKind.P)
    assert reading.center == pytest.approx(case["expected"]["center"], rel=1e-9)
    assert reading.upper[0] == pytest.approx(case["expected"]["ucl"], rel=1e-6)


def test_the_stretched_chart_of_nhs_accidents_has_the_printed_limits(printed):
    case = printed["m02-laney-nhs"]
    reading = whole(series(case["inputs"]["events"], case["inputs"]["n"]), ChartKind.LANEY)
    expected = case["expected"]
    assert reading.spread == pytest.approx(expected["sigma_z"], rel=1e-6)
    assert reading.upper == pytest.approx(tuple(expected["ucl"]), rel=1e-6)


def test_the_chart_of_gaps_has_the_printed_mean(check_values):
    cases = {c["id"]: c for c in json.loads(check_values("m03-rare-event-charts.json").read_text())["cases"]}
    case = cases["m03-g-gaps24"]
    gaps = tuple(case["inputs"]["cases_between"])
    answer = build_gap_answer(Gaps(closed=gaps[:-1], open=gaps[-1]))
    mean = sum(gaps[:-1]) / (len(gaps) - 1)
    assert answer.figure("mean_gap").value == pytest.approx(mean)
    assert answer.figure("gap_chance").value == pytest.approx(geom.sf(gaps[-1], 1 / (mean + 1)))
    full = build_gap_answer(Gaps(closed=gaps, open=0))
    assert full.figure("mean_gap").value == pytest.approx(case["expected"]["mean"])


@pytest.fixture(scope="module")
def infections(open_data):
    with open_data("spc-qicharts2/hospital_infections.csv").open() as lines:
        rows = [row for row in csv.DictReader(lines) if row["infection"] == "BAC"]
    found = defaultdict(list)
    for row in rows:
        found[row["hospital"]].append((int(row["n"]), float(row["days"])))
    return {name: series([x for x, _d in months], [d for _x, d in months]) for name, months in found.items()}


def test_bacteraemia_in_six_hospitals_has_poisson_false_alarms(infections):
    assert len(infections) == 6
    for counts in infections.values():
        assert len(counts) == 24
        reading = whole(counts, ChartKind.U)
        mean = reading.center * reading.cost_sets
        reach = 3 * mean**0.5
        low, high = poisson.cdf(-(-(mean - reach) // 1) - 1, mean), poisson.sf((mean + reach) // 1, mean)
        assert reading.cost.false_alarm_every == pytest.approx(1 / (low + high), rel=1e-6)


def test_six_hospitals_at_once_are_judged_with_all_their_months(infections):
    units = [UnitMonths(name=name, counts=counts) for name, counts in infections.items()]
    answer = build_units_answer(units, months=12, policy=POLICY)
    assert answer.figure("looked_at").value == 72
    assert 0 <= answer.figure("chance_of_any").value <= 1


def test_the_intervention_against_c_difficile_is_found_where_it_was(open_data):
    with open_data("spc-qicharts2/cdi.csv").open() as lines:
        rows = list(csv.DictReader(lines))
    counts = series([int(row["n"]) for row in rows], [float(row["days"]) for row in rows], start="2012-11")
    answer = build_since_answer(counts)
    assert answer.verdict is Verdict.SIGNAL
    chances = {row[0]: row[3] for row in answer.table.rows}
    # published: 24 months before, 12 after; November 2014 is the first month after
    first = max(chances, key=chances.get)
    assert first in {"2014-09", "2014-10", "2014-11", "2014-12", "2015-01"}
    assert "fell" in answer.sentence
