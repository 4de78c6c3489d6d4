"""The organism reading and the surveillance list against the published list itself.

Source: CDC National Healthcare Safety Network, NHSN Organism List, January 2020 (v9.4): 3,034 display names, each with
a common-commensal flag (605 are flagged). Public domain; use does not imply endorsement. The tables were written with
that list's *names* as one source; its flags are not in the tables, they are rules on genera with named exceptions.
"""

from __future__ import annotations

import csv

import pytest

from cubital.domain.cultures import Match
from cubital.intake.results import ResultKind, read_result
from cubital.reference.commensals import Standing, standing
from cubital.reference.organisms import holders
from cubital.reference.spellings import scientific_names

LIST = "surveillance_2020"
AGREEMENT_NEEDED = 0.995


@pytest.fixture(scope="module")
def terms(open_data):
    path = open_data("nhsn-organism-list") / "nhsn_organisms_2020.csv"
    with path.open(encoding="utf-8", newline="") as lines:
        return [(row["nhsn_display_name"], row["common_commensal"] == "1") for row in csv.DictReader(lines)]


def reads_as_commensal(text: str) -> bool:
    keys = [one.organism_key for one in read_result(text).organisms if not one.negated]
    return bool(keys) and all(standing(key, LIST) is Standing.COMMENSAL for key in keys)


def why(text: str) -> str:
    reading = read_result(text)
    told = ", ".join(
        f"{one.organism_key or 'unread'} is {standing(one.organism_key, LIST)}" for one in reading.organisms
    )
    return f"{text}: read as {reading.kind}; {told}"


def test_the_published_flag_is_given_on_nearly_every_term(terms, capsys):
    assert (len(terms), sum(flag for _name, flag in terms)) == (3034, 605)
    differences = [why(name) for name, flag in terms if reads_as_commensal(name) != flag]
    with capsys.disabled():
        print(f"\n{len(terms) - len(differences)} of {len(terms)} published flags given; differences:")
        print("\n".join(differences) or "none")
    assert len(differences) <= (1 - AGREEMENT_NEEDED) * len(terms)


def test_the_agreement_is_not_one_of_unread_texts(terms):
    unread = [name for name, _flag in terms if read_result(name).kind is ResultKind.UNMATCHED]
    assert len(unread) < 0.07 * len(terms)  # viruses and parasites, which no blood culture grows
    assert not any(flag for name, flag in terms if name in set(unread))


def growing(text: str) -> set[str]:
    return {one.organism_key for one in read_result(text).organisms if not one.negated}


def test_no_published_term_reads_as_another_by_a_guess(terms):
    readings = [one for name, _flag in terms for one in read_result(name).organisms]
    assert [one.raw_text for one in readings if one.match is Match.PROPOSED] == []


@pytest.mark.parametrize(
    "never",
    ["bacillus-anthracis", "corynebacterium-diphtheriae", "staphylococcus", "streptococcus", "staphylococcus-aureus"],
)
def test_what_must_never_be_a_commensal_is_none(never):
    assert standing(never, LIST) is not Standing.COMMENSAL


def test_no_anthracis_diphtheriae_or_bare_staphylococcus_among_the_commensals(terms):
    commensal = {key for name, _flag in terms if reads_as_commensal(name) for key in growing(name)}
    assert len(commensal) > 450
    assert {"bacillus-anthracis", "corynebacterium-diphtheriae", "staphylococcus", "streptococcus"} & commensal == set()
    assert [key for key in commensal if "staphylococcus-coagulase-positive" in holders(key)] == []


def test_capitals_and_abbreviated_genera_never_make_a_commensal(terms):
    bacteria = [name for name, flag in terms if not flag and name.lower() in scientific_names()]
    assert len(bacteria) > 1900
    for name in bacteria:
        genus, *species = name.split()
        short = f"{genus[0]}. {species[0]}" if len(species) == 1 else name
        for text in (name.upper(), short):
            wrong = [key for key in growing(text) if standing(key, LIST) is Standing.COMMENSAL]
            assert wrong == [], f"{text} (of {name}) read as {wrong}"
