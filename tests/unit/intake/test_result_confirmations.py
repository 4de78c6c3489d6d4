"""What a person settled once for a source is used before the tables."""

from __future__ import annotations

import pytest

from cubital.domain.cultures import Match
from cubital.intake.results import ResultKind, propose_organisms, read_result


def test_a_confirmed_cell_reads_as_its_organism():
    reading = read_result("Foobarella  MYSTICA", confirmed={"foobarella mystica": "bacillus"})
    assert reading.kind is ResultKind.GROWTH
    assert [(one.organism_key, one.match) for one in reading.organisms] == [("bacillus", Match.CONFIRMED)]


def test_a_confirmed_name_is_used_inside_a_longer_cell():
    reading = read_result("Staph epi, Foobarella mystica", confirmed={"foobarella mystica": "kocuria"})
    assert [one.organism_key for one in reading.organisms] == ["staphylococcus-epidermidis", "kocuria"]
    assert reading.organisms[1].match is Match.CONFIRMED


def test_a_text_confirmed_to_name_nothing_is_dropped():
    assert read_result("see comment", confirmed={"see comment": ""}).kind is ResultKind.EMPTY
    reading = read_result("CNS, Foobarella mystica", confirmed={"foobarella mystica": ""})
    assert [one.organism_key for one in reading.organisms] == ["staphylococcus-coagulase-negative"]


def test_what_stays_beside_a_dropped_name_is_still_read():
    reading = read_result("No growth. Foobarella mystica noted", confirmed={"foobarella mystica": ""})
    assert reading.kind is ResultKind.NO_GROWTH


def test_a_denied_name_stays_denied_when_confirmed():
    reading = read_result("No Foobarella mystica isolated. CNS", confirmed={"foobarella mystica": "kocuria"})
    assert [(one.organism_key, one.negated) for one in reading.organisms] == [
        ("kocuria", True),
        ("staphylococcus-coagulase-negative", False),
    ]


@pytest.mark.parametrize("kind", [ResultKind.NO_GROWTH, ResultKind.CANCELLED, ResultKind.PENDING])
def test_a_text_may_be_confirmed_as_a_kind(kind):
    assert read_result("code 17", confirmed={"code 17": kind.value}).kind is kind


def test_a_confirmation_corrects_a_proposal():
    text = "Micrococus luteus"
    reading = read_result(text, confirmed={"micrococus luteus": "kocuria-rosea"})
    assert [one.organism_key for one in reading.organisms] == ["kocuria-rosea"]


def test_confirmations_of_other_texts_change_nothing():
    assert read_result("CNS", confirmed={"staph epi": "bacillus"}) == read_result("CNS")


def test_proposals_say_when_they_would_change_the_genus():
    proposals = propose_organisms("Bacillus fragilis")
    crossing = {one.key: one.crosses_genus for one in proposals}
    assert len(proposals) == 5
    assert not proposals[0].crosses_genus
    assert crossing.get("bacteroides-fragilis", True)


def test_the_best_proposal_for_a_misspelled_name_is_that_name():
    assert propose_organisms("Staphlococcus aureuss")[0].key == "staphylococcus-aureus"
    assert propose_organisms("Kleibsela oxytoca", limit=1)[0].key == "klebsiella-oxytoca"


def test_a_text_without_letters_has_no_proposals():
    assert propose_organisms("17 / 4") == ()
