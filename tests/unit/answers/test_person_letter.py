"""Words of private letters, disputes and counts by code; the fourteen collectors are the worked example (invented)."""

from __future__ import annotations

from datetime import date

import pytest

from cubital.answers.people_counts import parse_people_rows, parse_people_text
from cubital.answers.people_dispute import build_dispute_answer, without
from cubital.answers.people_reading import PeoplePolicy, PersonCount, read_people
from cubital.answers.person_letter import (
    LetterMaterial,
    SetChange,
    clean_words,
    correction_parts,
    estimate_words,
    letter_parts,
    purpose_words,
    trend_words,
)
from cubital.domain.answer import Verdict
from cubital.domain.charter import SetClass
from cubital.domain.errors import FileProblem
from cubital.domain.words import choose_language

COLLECTORS = {
    "C01": (9, 2), "C02": (41, 1), "C03": (63, 5), "C04": (88, 1), "C05": (112, 6), "C06": (4, 1), "C07": (57, 0),
    "C08": (240, 14), "C09": (35, 0), "C10": (76, 2), "C11": (29, 3), "C12": (133, 2), "C13": (18, 0), "C14": (95, 7),
}  # fmt: skip
COUNTS = tuple(PersonCount(key=key, draws=n, contaminated=k) for key, (n, k) in COLLECTORS.items())
BY_KEY = {one.key: one for one in COUNTS}


@pytest.fixture(scope="module")
def reading():
    return read_people(COUNTS, policy=PeoplePolicy(), unattributed=(8, 230))


def words_of(parts) -> str:
    return " ".join(" ".join((head, *lines)) for head, lines in parts)


@pytest.mark.parametrize("key", COLLECTORS)
def test_every_letter_counts_clean_draws_first(reading, key):
    head, lines = letter_parts(LetterMaterial(count=BY_KEY[key], reading=reading, period="2025"))[0]
    draws, contaminated = COLLECTORS[key]
    assert head.startswith(f"{draws - contaminated} of your {draws} draws were clean")
    assert lines[0].startswith(f"{contaminated} w")


@pytest.mark.parametrize("key", ["C01", "C06", "C11", "C13"])
def test_below_thirty_draws_the_letter_has_no_percentage_of_the_person(reading, key):
    said = estimate_words(LetterMaterial(count=BY_KEY[key], reading=reading, period=""))
    assert "too few to say more" in said
    assert "about 320 draws of one person" in said
    assert said.count("%") == 2  # twice the target, and the target
    assert "To tell 6 % from 3 %" in said


@pytest.mark.parametrize("key", COLLECTORS)
def test_no_letter_names_or_compares_with_another_person(reading, key):
    said = words_of(letter_parts(LetterMaterial(count=BY_KEY[key], reading=reading, period="2025")))
    assert not [other for other in COLLECTORS if other != key and other in said]
    for word in ("rank", "worst", "best", "place", "colleague", "other people", "first of", "percentile"):
        assert word not in said.lower()


def test_the_estimate_comes_with_its_range_and_the_aim(reading):
    said = estimate_words(LetterMaterial(count=BY_KEY["C08"], reading=reading, period=""))
    assert "about 5.5 % of your draws" in said
    assert "from 3.3 % to 8.3 % fits" in said
    assert "at most 3.0 %" in said


def test_what_is_not_in_the_persons_hands_stands_on_the_same_page(reading):
    said = words_of(letter_parts(LetterMaterial(count=BY_KEY["C08"], reading=reading, period="")))
    assert "44 of 1,000, 4.4 %, above the aim" in said
    assert "Say which one was not yours" in said


def test_people_are_compared_with_themselves_where_both_halves_have_draws_enough(reading):
    bare = {"count": BY_KEY["C08"], "reading": reading, "period": ""}
    assert "110 of 118 clean in the first half" in trend_words(
        LetterMaterial(**bare, before=(110, 118), later=(116, 122))
    )
    assert trend_words(LetterMaterial(**bare, before=(20, 29), later=(116, 122))) == ""
    assert trend_words(LetterMaterial(**bare)) == ""


def test_a_person_without_draws_enough_among_nobody_else_still_gets_a_letter():
    alone = PersonCount(key="C01", draws=1, contaminated=0)
    lonely = read_people([alone], policy=PeoplePolicy())
    assert letter_parts(LetterMaterial(count=alone, reading=lonely, period=""))[0][0] == "1 of your 1 draw was clean."


def test_a_correction_says_what_changed_and_why_with_an_apology(reading):
    change = SetChange(
        facility="Thistlecombe",
        accession="5003",
        day=date(2025, 11, 4),
        was=SetClass.CONTAMINATED,
        now=SetClass.PATHOGEN,
    )
    now = LetterMaterial(count=PersonCount(key="C08", draws=240, contaminated=13), reading=reading, period="")
    said = words_of(correction_parts(now, [change], told_on=date(2025, 12, 1), told=BY_KEY["C08"]))
    assert said.startswith(
        "We are sorry: our letter of 1 December 2025 was not right. It said: 226 of 240 draws clean."
    )
    assert "Now: 227 of your 240 draws were clean." in said
    assert "Set 5003, Thistlecombe, 4 November 2025: read 'counted as contaminated' and now reads" in said
    assert "the laboratory amended" in said


def test_every_private_page_says_what_it_is_for_in_both_languages():
    assert "not for pay, discipline or contracts" in purpose_words()
    choose_language("es")
    try:
        assert "no para sueldo, disciplina ni contratos" in purpose_words()
        assert clean_words(BY_KEY["C08"]) == "226 de sus 240 extracciones fueron limpias."
    finally:
        choose_language("en")


def test_two_sets_that_were_not_hers(reading):
    new = read_people(
        without(COUNTS, key="C08", draws=2, contaminated=2), policy=PeoplePolicy(), unattributed=(10, 232)
    )
    answer = build_dispute_answer(reading, new, key="C08")
    assert answer.verdict is Verdict.ESTIMATE
    assert answer.sentence.startswith("Without the 2 disputed sets: 226 of 238 clean, where it was 226 of 240.")
    assert [row[:4] for row in answer.table.rows] == [("with them", 240, 226, 14), ("without them", 238, 226, 12)]
    assert answer.table.rows[1][4] < answer.table.rows[0][4]


def test_below_the_minimum_a_dispute_shows_counts_only(reading):
    new = read_people(without(COUNTS, key="C01", draws=9, contaminated=2), policy=PeoplePolicy())
    answer = build_dispute_answer(reading, new, key="C01")
    assert answer.verdict is Verdict.TOO_FEW
    assert "no draw of this person is left" in answer.sentence
    assert answer.table.rows[0][4:] == (None, None, None)


def test_nobody_can_dispute_more_than_they_have():
    with pytest.raises(ValueError, match="to take away"):
        without(COUNTS, key="C07", draws=1, contaminated=1)


def test_counts_by_code_are_read_and_rows_of_nobody_add_up():
    read = parse_people_text("Collector;Draws;Contaminated\nC07;57;0\n;30;2\nunknown;200;6\nC99;0;0\n", where="t")
    assert [one.key for one in read.people] == ["C07"]  # nobody without a draw
    assert read.unattributed == (8, 230)


@pytest.mark.parametrize(
    ("rows", "said"),
    [
        ([["person", "draws"]], "no column is called 'contaminated'"),
        ([["person", "draws", "sets", "contaminated"]], "more than one column may be 'draws'"),
        ([["person", "draws", "contaminated"], ["C01", "x", "1"]], "row 2, column 'draws': got 'x'"),
        ([["person", "draws", "contaminated"], ["C01", 4, 5]], "more than all"),
        ([["person", "draws", "contaminated"], ["C01", 4.0, 1.0], ["C01", 3, 1]], "C01 stands there already"),
        ([["person", "draws", "contaminated"], ["JM", 4, 1]], "expected a code such as C07, not a name"),
        ([[None]], "there is nothing in it"),
    ],
)
def test_what_is_wrong_with_counts_by_code_is_said_by_row(rows, said):
    with pytest.raises(FileProblem, match=said):
        parse_people_rows(rows, where="t")
