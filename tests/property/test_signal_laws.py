"""Laws of the signal answer: whatever is typed it answers or refuses in a sentence, and more is never calmer."""

from __future__ import annotations

import json

from hypothesis import assume, given
from hypothesis import strategies as st

from cubital.answers.counts import MonthCount, parse_counts, parse_counts_text
from cubital.answers.month_text import month_before, next_month, parse_month
from cubital.answers.signal import build_signal_answer
from cubital.answers.signal_reading import Baseline, Rule, SignalPolicy, assess_month
from cubital.domain.answer import Verdict, build_answer_dict
from cubital.domain.errors import FileProblem

PAIRS = st.integers(0, 600).flatmap(lambda sets: st.tuples(st.just(sets), st.integers(0, sets)))
USUAL = st.integers(100, 900).flatmap(lambda sets: st.tuples(st.just(sets), st.integers(0, sets // 12)))
CELLS = st.one_of(st.none(), st.integers(), st.floats(), st.text(max_size=12), st.dates(), st.booleans())


def series(pairs, start="2020-01"):
    counts, month = [], start
    for sets, contaminated in pairs:
        counts.append(MonthCount(month=month, sets=sets, contaminated=contaminated))
        month = next_month(month)
    return counts


@given(pairs=st.lists(PAIRS, min_size=1, max_size=40))
def test_any_counts_give_an_answer_that_json_can_carry(pairs):
    answer = build_signal_answer(series(pairs))
    text = json.dumps(build_answer_dict(answer), allow_nan=False)
    assert json.loads(text)["sentence"] == answer.sentence
    assert answer.sentence[0].isupper()
    assert answer.sentence.rstrip().endswith(".")
    assert "{" not in answer.sentence
    assert all("{" not in words for words in answer.cautions)


@given(pairs=st.lists(PAIRS, min_size=1, max_size=40))
def test_every_figure_has_a_value_or_a_reason(pairs):
    for figure in build_signal_answer(series(pairs)).figures:
        assert figure.value is not None or figure.note, figure.key


@given(pairs=st.lists(USUAL, min_size=20, max_size=30), last=st.integers(50, 900))
def test_the_first_signal_is_a_signal_and_one_less_is_not(pairs, last):
    before = series(pairs)
    asked = next_month(before[-1].month)
    reading = assess_month([*before, MonthCount(month=asked, sets=last, contaminated=0)], policy=SignalPolicy())
    first = reading.first_signal
    assume(reading.state is Baseline.SOUND and first is not None)

    def above(contaminated):
        counts = [*before, MonthCount(month=asked, sets=last, contaminated=contaminated)]
        return Rule.ABOVE in assess_month(counts, policy=SignalPolicy()).broken

    assert above(first)
    assert first == 0 or not above(first - 1)
    assert above(last)


@given(pairs=st.lists(USUAL, min_size=21, max_size=30))
def test_the_months_before_decide_alone_about_limits(pairs):
    """What the asked month shows cannot move the limits it is judged by."""
    ordinary, extreme = series(pairs), series([*pairs[:-1], (pairs[-1][0], pairs[-1][0])])
    policy = SignalPolicy()
    assert assess_month(ordinary, policy=policy).upper == assess_month(extreme, policy=policy).upper


@given(pairs=st.lists(PAIRS, min_size=1, max_size=20))
def test_fewer_than_twenty_months_before_never_signal(pairs):
    assert build_signal_answer(series(pairs)).verdict in {Verdict.TOO_FEW, Verdict.REFUSED}


def read_or_refuse(read, *arguments):
    """The counts, or the sentence of the refusal; any other error is a broken reader."""
    try:
        return read(*arguments, where="pasted"), ""
    except FileProblem as problem:
        return (), problem.sentence()


@given(text=st.text(max_size=200))
def test_any_pasted_text_is_read_or_refused_in_a_sentence(text):
    counts, refusal = read_or_refuse(parse_counts_text, text)
    assert bool(counts) != refusal.startswith("pasted: ")


@given(rows=st.lists(st.lists(CELLS, max_size=4), max_size=6))
def test_any_cells_under_the_headers_are_read_or_refused_in_a_sentence(rows):
    counts, refusal = read_or_refuse(parse_counts, [("month", "sets", "contaminated"), *rows])
    assert bool(counts) != refusal.startswith("pasted: ")
    assert all(0 <= count.contaminated <= count.sets for count in counts)


@given(pairs=st.lists(PAIRS, min_size=1, max_size=30), separator=st.sampled_from([",", ";", "\t", " "]))
def test_what_is_written_out_is_read_back(pairs, separator):
    counts = series(pairs)
    lines = ["month,sets,contaminated", *(f"{c.month},{c.sets},{c.contaminated}" for c in counts)]
    assert parse_counts_text("\n".join(lines).replace(",", separator), where="x") == tuple(counts)


@given(year=st.integers(1901, 2199), number=st.integers(1, 12), back=st.integers(0, 40))
def test_stepping_back_and_forth_comes_home(year, number, back):
    month = f"{year}-{number:02d}"
    stepped = month_before(month, back) if year > 1904 else month
    for _step in range(back if year > 1904 else 0):
        stepped = next_month(stepped)
    assert stepped == month == parse_month(month)
