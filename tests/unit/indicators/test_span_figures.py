"""Several months together: counts are added, medians are not, and contamination keeps its company."""

from __future__ import annotations

import pytest

from cubital.domain.charter import SetClass
from cubital.indicators.month import ALWAYS_BESIDE
from cubital.indicators.span import add_counts, add_process, span_figures
from cubital.judge.counts import MonthCounts, ProcessCounts, ProcessLimits
from cubital.reference.charters import published_charters

CHARTER = published_charters()["a_one_of_several_all_sets"]


def month(name: str, *, contaminated: int, sets: int = 100) -> MonthCounts:
    return MonthCounts(
        month=name, facility="Marrowby", unit=None, unit_name="", numerator=contaminated, denominator=sets, sets=sets,
        positives=contaminated + 4, preliminary=0, solitary_excluded=0, unpairable=2, solitary=10, episodes=50,
        eligible=80, classes={SetClass.CONTAMINATED: contaminated, SetClass.NO_GROWTH: sets - contaminated},
    )  # fmt: skip


def drawn(name: str, *, minutes: float | None = 50.0, fill: float | None = None) -> ProcessCounts:
    return ProcessCounts(
        month=name, facility="Marrowby", unit=None, unit_name="", sets=100, bottle_measurable=100, bottle_complete=90,
        timed=98, late=5, very_late=1, median_minutes=minutes, collector_sets=100, collector_measurable=100,
        attributed=60, fills=0 if fill is None else 150, fill_median_ml=fill, fills_low=None, fills_high=None,
    )  # fmt: skip


def figures_of(*pairs):
    found = span_figures(
        [counts for counts, _ in pairs], [process for _, process in pairs], charter=CHARTER, limits=ProcessLimits()
    )
    return {figure.key: figure for figure in found}


def test_counts_and_classes_are_added():
    """3 + 5 of 100 + 120; solitary 10 + 10 of 50 + 50 episodes."""
    found = figures_of(
        (month("2026-01", contaminated=3), drawn("2026-01")),
        (month("2026-02", contaminated=5, sets=120), drawn("2026-02")),
    )
    assert (found["contamination"].numerator, found["contamination"].denominator) == (8, 220)
    assert (found["solitary_by_episode"].numerator, found["solitary_by_episode"].denominator) == (20, 100)
    assert (found["bottles_complete"].numerator, found["bottles_complete"].denominator) == (180, 200)
    whole = add_counts([month("2026-01", contaminated=3), month("2026-02", contaminated=5)])
    assert whole.of_class(SetClass.NO_GROWTH) == 192
    assert whole.month == "2026-02"


def test_a_median_of_months_is_given_as_their_range_and_not_as_a_number():
    found = figures_of(
        (month("2026-01", contaminated=3), drawn("2026-01", minutes=41.5, fill=6.2)),
        (month("2026-02", contaminated=5), drawn("2026-02", minutes=46.0, fill=8.0)),
    )
    assert found["minutes_to_receipt"].value is None
    assert found["minutes_to_receipt"].note == "41.5 to 46 by month"
    assert found["fill_median"].value is None
    assert found["fill_median"].note == "6.2 to 8 by month"


def test_one_month_keeps_its_median():
    found = figures_of((month("2026-01", contaminated=3), drawn("2026-01", fill=6.2)))
    assert found["fill_median"].value == 6.2
    assert add_process([drawn("2026-01", fill=6.2)]).fill_median_ml == 6.2
    assert add_process([drawn("2026-01", fill=6.2), drawn("2026-02", fill=6.2)]).fill_median_ml is None


def test_contamination_never_stands_alone():
    found = figures_of((month("2026-01", contaminated=3), drawn("2026-01")))
    assert set(ALWAYS_BESIDE) < set(found)
    assert all(found[key].value is not None or found[key].note for key in ALWAYS_BESIDE)


def test_what_one_month_does_not_know_is_not_known_of_all():
    unknown = MonthCounts(
        month="2026-01", facility=None, unit=None, unit_name="", numerator=1, denominator=9, sets=9, positives=1,
        preliminary=0, solitary_excluded=0,
    )  # fmt: skip
    assert add_counts([unknown, unknown]).solitary is None
    assert add_counts([unknown, unknown]).numerator == 2


def test_different_months_are_a_mistake():
    with pytest.raises(ValueError, match="same months"):
        figures_of((month("2026-01", contaminated=3), drawn("2026-02")))
    with pytest.raises(ValueError, match="same months"):
        span_figures([], [], charter=CHARTER, limits=ProcessLimits())
