"""The bench: every definition on the messy month of two laboratories, and the sets that move."""

from __future__ import annotations

import json
from dataclasses import replace

import pytest

from cubital.answers.bench import build_bench, build_bench_dict
from cubital.answers.class_words import class_words, reason_words
from cubital.domain.charter import Population, Reason, SetClass, with_population
from cubital.engine import open_session
from cubital.judge.counts import Scope
from cubital.reference.charters import published_charters
from cubital.workspace.judging import judge_definition
from judge_worlds import fill_session
from messy_month import messy_month, short_name

A, B, C, D = tuple(published_charters())[:4]


@pytest.fixture(scope="module")
def judged():
    with open_session(threads=1) as session:
        fill_session(session, messy_month())
        adults = [with_population(one, Population.ADULTS) for one in published_charters().values()]
        return [judge_definition(session, one, scope=Scope()) for one in adults]


@pytest.fixture(scope="module")
def bench(judged):
    return build_bench(judged)


def moved(bench, first, second):
    return {
        short_name(move.facility, move.accession): (move.from_class, move.to_class)
        for move in bench.moves
        if (move.from_key, move.to_key) == (first, second)
    }


def test_every_published_definition_has_a_line(bench):
    assert [line.key for line in bench.definitions] == list(published_charters())


def test_the_rates_carry_the_interval_that_statsmodels_gives(bench):
    proportion = pytest.importorskip("statsmodels.stats.proportion", reason="statsmodels is not installed")
    line = bench.line(A)
    assert (line.numerator, line.denominator) == (4, 18)
    low, high = proportion.proportion_confint(4, 18, alpha=0.05, method="wilson")
    assert (line.low, line.high) == (pytest.approx(low), pytest.approx(high))


def test_no_set_changes_class_where_only_the_denominator_differs(bench):
    assert moved(bench, A, B) == {}


def test_counting_single_sets_moves_the_two_single_commensals(bench):
    step = (SetClass.SOLITARY_COMMENSAL, SetClass.CONTAMINATED)
    assert moved(bench, A, C) == {"M5005": step, "T5007": step}


def test_counting_any_commensal_moves_five_sets(bench):
    assert set(moved(bench, A, D)) == {"M5003", "M5004", "M5005", "M5009", "T5007"}


def test_moves_say_why_in_words(bench):
    (move,) = (one for one in bench.moves if (one.from_key, one.to_key, one.accession) == (A, D, "5009"))
    assert "together with another organism" in move.why
    assert "any such growth" in move.why


def test_the_bench_is_plain_data_for_json(bench):
    plain = json.loads(json.dumps(build_bench_dict(bench), allow_nan=False))
    assert plain["definitions"][0]["key"] == A
    assert set(plain["moves"][0]) == {"from", "to", "facility", "accession", "from_class", "to_class", "why"}


def test_definitions_of_different_sets_are_not_compared(judged):
    with pytest.raises(ValueError, match="same sets"):
        build_bench([judged[0], replace(judged[1], verdicts=judged[1].verdicts[1:])])


def test_an_empty_month_has_no_rate(judged):
    bench = build_bench([replace(one, months=(), verdicts=()) for one in judged])
    assert {(line.rate, line.low, line.high) for line in bench.definitions} == {(None, None, None)}


def test_every_class_and_reason_has_words_of_its_own():
    assert len({class_words(one) for one in SetClass}) == len(SetClass)
    assert len({reason_words(one) for one in Reason}) == len(Reason)


def test_a_line_that_is_not_there_is_a_key_error(bench):
    with pytest.raises(KeyError):
        bench.line("nobody's definition")
