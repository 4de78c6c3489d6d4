"""The published studies of yield: each says where it comes from, over what it was observed and how it may mislead."""

from __future__ import annotations

import pytest

from cubital.reference.collection_guidance import Confidence
from cubital.reference.yield_studies import Measure, StudyUse, yield_studies, yield_study


@pytest.mark.parametrize("study", yield_studies(), ids=lambda study: study.key)
def test_every_study_says_source_setting_and_bias(study):
    assert str(study.year) in study.source
    assert min(len(study.setting), len(study.finding), len(study.bias)) > 10
    assert study.span_ml is None or study.span_ml > 0


def test_no_key_stands_twice():
    keys = [study.key for study in yield_studies()]
    assert len(set(keys)) == len(keys)


def test_only_the_first_series_of_lee_is_kept():
    # Lee A et al., J Clin Microbiol 2007;45:3546-3548: 460, 564, 618, 628 of 629. Its abstract prints 93.9 % for 308 of
    # 351, which is 87.7 %: that series must not be found anywhere but in the warning.
    lee = yield_study("lee_2007")  # the abstract cuts 98.25 to 98.2
    assert [round(100 * share, 1) for share in lee.cumulative] == [73.1, 89.7, 98.3, 99.8]
    assert 308 not in lee.found
    assert round(100 * 308 / 351, 1) == 87.7


def test_the_campaign_and_the_slopes_are_as_published():
    # Khare R et al., Clin Infect Dis 2020;70:262-268; Mermel LA, Maki DG, Ann Intern Med 1993;119:270-272.
    khare, mermel = yield_study("khare_2020"), yield_study("mermel_maki_1993")
    assert (khare.low_ml, khare.high_ml, khare.positive_before, khare.positive_after) == (2.3, 8.6, 0.0739, 0.0885)
    assert khare.measure is Measure.BOTTLE
    assert mermel.span_ml == pytest.approx(6.0)
    assert mermel.share_per_ml == 0.03


def test_what_is_from_memory_says_so():
    memory = {study.key for study in yield_studies() if study.confidence is Confidence.MEMORY}
    assert {"washington_1975", "older_volumes", "intensive_care_odds"} <= memory


def test_models_have_a_number_to_reckon_with():
    for study in yield_studies():
        if study.use is StudyUse.MODEL:
            numbers = (study.share_per_ml, study.odds_per_ml, study.odds_per_ml_low, study.positive_after)
            assert study.cumulative or any(number is not None for number in numbers)
