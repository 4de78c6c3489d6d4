"""When bottles run out: the list, the state of the count, the day with its doubt, tiers with an owner, refusals."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from scipy import stats

from cubital.answers.hand_tables import text_rows
from cubital.answers.shortage_words import missed_range
from cubital.answers.stock import build_stock_answer
from cubital.answers.stock_reading import StockState, read_stock
from cubital.answers.stock_table import parse_stock, parse_tiers
from cubital.domain.answer import Verdict
from cubital.domain.errors import FileProblem

TODAY = date(2026, 3, 28)
USE = [28, 33, 30, 31, 29, 32, 27, 30, 35, 25, 30, 31, 29, 30]  # mean 30, two weeks up to today


def stock_text(counted="900", delivery="", use=USE, day=TODAY):
    lines = ["item,day,used,counted,delivery"]
    lines += [f"aerobic,{TODAY - timedelta(days=len(use) - 1 - n)},{amount},," for n, amount in enumerate(use)]
    if counted:
        lines.append(f"aerobic,{day},,{counted},")
    if delivery:
        lines.append(f"aerobic,{delivery},,,600")
    return "\n".join(lines)


def merged(text):
    """Use and count of one day in one row, as the list wants them."""
    rows = text_rows(text, where="stock.csv", advice="")
    return parse_stock(rows, where="stock.csv")


TIERS = """tier,below days,saves low,saves high,what,owner,approved on,review by
Mild,28,10,15,No repeat within 24 hours without a reason,Chief of microbiology,2026-01-10,2026-12-31
Strict,14,25,40,Only on the list of indications,Chief of medicine,2026-01-10,2026-12-31
"""


def tiers(text=TIERS):
    return parse_tiers(text_rows(text, where="tiers.csv", advice=""), where="tiers.csv")


def read(text, **more):
    (item,) = merged(text)
    return read_stock(item, today=TODAY, **more)


def test_the_day_is_the_one_that_exact_demand_gives():
    """Own derivation: the use has mean 30 and variance below it, so demand is Poisson; 900 last until the first day d
    with P(Poisson(30 d) > 900) of at least one half, which is d = 30 or 31, and with 5 % some days sooner."""
    reading = read(stock_text())
    middle = next(d for d in range(1, 100) if stats.poisson.sf(900, 30.0 * d) >= 0.5)
    early = next(d for d in range(1, 100) if stats.poisson.sf(900, 30.0 * d) >= 0.05)
    assert reading.demand.mean == 30.0
    assert reading.as_now.middle == TODAY + timedelta(days=middle)
    assert reading.as_now.early == TODAY + timedelta(days=early)
    assert reading.cover_days == 30.0


def test_the_sentence_says_stock_use_cover_day_and_delivery():
    answer = build_stock_answer([read(stock_text(delivery="2026-04-10"))])
    assert "900 are there and 30.0 a day are used, 30 days of cover" in answer.sentence
    assert "The delivery of 600 on 10 April 2026 comes in time" in answer.sentence
    assert answer.verdict is Verdict.ESTIMATE


def test_a_delivery_that_may_come_too_late_is_a_signal():
    answer = build_stock_answer([read(stock_text(counted="300", delivery="2026-04-10"))])
    assert "may come too late" in answer.sentence
    assert answer.verdict is Verdict.SIGNAL


def test_what_was_used_since_the_count_is_taken_off():
    reading = read(stock_text(counted="900", day=TODAY - timedelta(days=3)))
    assert reading.left == 900 - sum(USE[-3:])


@pytest.mark.parametrize(
    ("text", "state", "verdict", "words"),
    [
        (stock_text(counted=""), StockState.NOT_COUNTED, Verdict.REFUSED, "nobody has counted"),
        (stock_text(use=USE[:5]), StockState.SHORT_USE, Verdict.TOO_FEW, "fewer than 14 days of use"),
        (stock_text(day=TODAY - timedelta(days=40)), StockState.COUNT_OLD, Verdict.REFUSED, "Count again"),
        (
            stock_text(counted="10", day=TODAY - timedelta(days=3)), StockState.DISAGREES, Verdict.REFUSED,
            "Count or use is wrong",
        ),
    ],
)  # fmt: skip
def test_what_cannot_be_said_says_what_is_missing(text, state, verdict, words):
    reading = read(text)
    answer = build_stock_answer([reading])
    assert (reading.state, answer.verdict) == (state, verdict)
    assert words in answer.sentence


def test_tiers_win_days_and_the_one_that_is_reached_is_named_with_its_owner():
    reading = read(stock_text(counted="600"), tiers=tiers())
    mild, strict = reading.tiers
    assert (mild.begins, strict.begins) == (True, False)
    assert reading.as_now.middle < mild.least.middle <= mild.most.middle < strict.least.middle <= strict.most.middle
    answer = build_stock_answer([reading], detected_per_year=216)
    assert "tier 'Mild' applies, if Chief of microbiology says so" in answer.sentence
    assert answer.verdict is Verdict.SIGNAL


def test_what_a_tier_may_cost_is_a_range_from_the_published_shortages():
    """27 and 49 % fewer cultures, about 15 % fewer infected patients found (PMID 40929077, 39136555)."""
    assert missed_range((0.27, 0.27))[1] == pytest.approx(0.15)
    assert missed_range((0.49, 0.49))[0] == pytest.approx(0.15)
    words = " ".join(build_stock_answer([read(stock_text(), tiers=tiers())], detected_per_year=216).cautions)
    assert "a model, not a measurement" in words
    assert "of about 18 a month" in words


def test_a_tier_without_an_owner_or_approval_is_no_tier():
    unowned = TIERS.replace("Chief of medicine", "").replace("2026-01-10,2026-12-31\nStrict", "soon,2026-12-31\nStrict")
    with pytest.raises(FileProblem) as told:
        tiers(unowned)
    assert "row 2" in str(told.value)
    assert "row 3, column 'owner': is empty" in str(told.value)


@pytest.mark.parametrize(
    ("change", "words"),
    [
        (("25,40", "40,25"), "from a lower to a higher"),
        (("25,40", "25,120"), "below 100"),
        (("Strict,14", "Strict,28"), "same days of cover"),
        (("Strict,14", "Strict,nan"), "expected a number"),
        (("2026-01-10,2026-12-31\n", "2026-12-31,2026-01-10\n"), "reviewed before it was approved"),
    ],
)
def test_impossible_tiers_are_named(change, words):
    with pytest.raises(FileProblem, match=words):
        tiers(TIERS.replace(*change))


def test_a_tier_that_is_not_approved_for_the_day_is_said():
    late = tiers(TIERS.replace("2026-12-31", "2026-02-01"))
    words = " ".join(build_stock_answer([read(stock_text(), tiers=late)]).cautions)
    assert "Tier 'Mild' is not approved for today" in words


@pytest.mark.parametrize(
    ("line", "words"),
    [
        ("aerobic,2026-03-28,4,,", "stands twice"),
        ("aerobic,28.03.2026,4,,", "expected a day"),
        ("aerobic,2026-03-29,-4,,", "whole number of zero or more"),
        ("aerobic,2026-03-29,,,", "nothing is used, counted or delivered"),
        (",2026-03-29,4,,", "is empty"),
    ],
)
def test_a_row_that_is_wrong_is_named_and_nothing_is_read(line, words):
    with pytest.raises(FileProblem, match=words):
        merged(f"{stock_text()}\n{line}")


def test_nothing_used_never_runs_out():
    answer = build_stock_answer([read(stock_text(use=[0] * 14))])
    assert "none is used" in answer.sentence


def test_the_most_urgent_item_leads_and_the_others_stand_beside_it():
    lines = stock_text().splitlines()
    both = "\n".join([*lines, *(line.replace("aerobic", "anaerobic").replace(",900,", ",300,") for line in lines[1:])])
    readings = [read_stock(item, today=TODAY) for item in merged(both)]
    answer = build_stock_answer(readings)
    assert answer.sentence.startswith("anaerobic: 300 are there")
    assert "Beside it: aerobic until about" in answer.sentence


def test_days_of_cover_are_rounded_down_so_that_no_tier_is_contradicted():
    # 833 of 30 a day are 27.8 days: below a tier of 28, and never called 28
    answer = build_stock_answer([read(stock_text(counted="833"))])
    assert "27 days of cover" in answer.sentence
    assert "1.5 days of cover" in build_stock_answer([read(stock_text(counted="45"))]).sentence
