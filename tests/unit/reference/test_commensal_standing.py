"""How organisms stand on the published lists: the traps of each, with its source."""

from __future__ import annotations

import pytest

from cubital.domain.errors import CharterProblem
from cubital.reference.commensals import Standing, commensal_lists, listed_keys, standing
from cubital.reference.organisms import organisms

LISTS = ("short", "ecdc", "surveillance_2020")
YES, NO, OPEN = Standing.COMMENSAL, Standing.OTHER, Standing.UNRESOLVED

# short: CAP Q-Tracks QT2 description of 2005; ecdc: PPS protocol 0512-TED; surveillance: NHSN list of January 2020.
# S. lugdunensis on the short list (left to the laboratory) is from memory; ECDC does not say.
MATRIX = [
    ("staphylococcus-coagulase-negative", YES, YES, YES),
    ("staphylococcus-epidermidis", YES, YES, YES),
    ("mammaliicoccus-sciuri", YES, YES, YES),
    ("staphylococcus-lugdunensis", NO, OPEN, YES),
    ("staphylococcus-schleiferi-schleiferi", YES, YES, YES),
    ("staphylococcus-schleiferi", OPEN, OPEN, OPEN),
    ("staphylococcus-schleiferi-coagulans", NO, NO, NO),
    ("staphylococcus", OPEN, OPEN, OPEN),
    ("staphylococcus-aureus", NO, NO, NO),
    ("micrococcus-luteus", YES, YES, YES),
    ("kocuria-rosea", NO, NO, YES),
    ("corynebacterium", YES, YES, YES),
    ("corynebacterium-jeikeium", YES, YES, YES),
    ("corynebacterium-diphtheriae", NO, NO, NO),
    ("corynebacterium-toxigenic", NO, NO, YES),
    ("diphtheroids", YES, YES, YES),
    ("bacillus", YES, YES, YES),
    ("bacillus-cereus", YES, YES, YES),
    ("priestia-megaterium", YES, YES, YES),
    ("bacillus-anthracis", NO, NO, NO),
    ("paenibacillus-alvei", NO, NO, YES),
    ("cutibacterium-acnes", YES, YES, YES),
    ("streptococcus-viridans-group", YES, NO, YES),
    ("streptococcus-mitis", YES, NO, YES),
    ("streptococcus-gallolyticus", NO, NO, YES),
    ("streptococcus-pneumoniae", NO, NO, NO),
    ("streptococcus-agalactiae", NO, NO, NO),
    ("streptococcus", OPEN, OPEN, OPEN),
    ("aerococcus-urinae", NO, NO, YES),
    ("rhodococcus-equi", NO, NO, YES),
    ("gram-positive-cocci-clusters", OPEN, OPEN, OPEN),
    ("growth-unnamed", OPEN, OPEN, OPEN),
    ("enterococcus-faecalis", NO, NO, NO),
    ("candida-albicans", NO, NO, NO),
    ("lactobacillus", NO, NO, NO),
    ("unheard-of", OPEN, OPEN, OPEN),
    ("", OPEN, OPEN, OPEN),
]


@pytest.mark.parametrize("line", MATRIX, ids=lambda line: line[0] or "unread")
def test_standing_follows_the_published_lists(line):
    key, *expected = line
    assert [standing(key, name) for name in LISTS] == expected


@pytest.mark.parametrize("name", LISTS)
def test_every_rule_of_a_list_names_an_organism(name):
    rules = commensal_lists()[name]
    assert (rules.include | rules.exclude | rules.unresolved | set(rules.notes)) - set(organisms()) == set()


@pytest.mark.parametrize("name", LISTS)
def test_every_list_says_where_it_comes_from_and_how_sure_that_is(name):
    assert commensal_lists()[name].source
    assert "looked up" in commensal_lists()[name].confidence


OFF_EVERY_LIST = {
    "enterococcus", "clostridium", "lactobacillus", "leuconostoc", "gemella", "granulicatella", "dietzia", "finegoldia",
    "acinetobacter", "moraxella", "neisseria", "stenotrophomonas", "candida", "bacteroides", "escherichia",
}  # fmt: skip


# "never auto-classify as contaminant": genera that none of the three published lists has.
@pytest.mark.parametrize(
    "genus",
    sorted(OFF_EVERY_LIST),
)
def test_no_species_of_a_genus_off_the_lists_is_a_commensal(genus):
    for name in LISTS:
        assert [key for key in listed_keys(name) if organisms()[key].genus == genus] == []


def test_the_long_list_holds_the_short_one_but_for_what_is_left_open():
    extra = listed_keys("short") - listed_keys("surveillance_2020")
    assert extra == {"streptococcus-alpha-haemolytic"}  # CAP names alpha-haemolytic; NHSN only "not S. pneumoniae"


def test_an_unknown_list_is_named_with_the_choices():
    with pytest.raises(CharterProblem, match="short, ecdc, surveillance_2020"):
        standing("bacillus", "long")
