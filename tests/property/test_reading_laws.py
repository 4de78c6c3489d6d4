"""Laws of the organism reading, looked for with random texts."""

from __future__ import annotations

import string

from hypothesis import given
from hypothesis import strategies as st

from cubital.domain.cultures import Match
from cubital.intake.results import ResultKind, read_result, tidy_result
from cubital.reference.commensals import Standing, commensal_lists, standing
from cubital.reference.organisms import Rank, organisms
from cubital.reference.phrases import Meaning, phrases, plain_words
from cubital.reference.spellings import laboratory_spellings

SPECIES = sorted(key for key, one in organisms().items() if one.rank in (Rank.SPECIES, Rank.SUBSPECIES))


def is_commensal(key: str) -> bool:
    return any(standing(key, name) is Standing.COMMENSAL for name in commensal_lists())


PATHOGENS = [key for key in SPECIES if not is_commensal(key)]
PROTECTED = ["bacillus-anthracis", "corynebacterium-diphtheriae"]
WORDS = sorted({*laboratory_spellings(), *plain_words(), *(organisms()[key].name for key in SPECIES)})
MARKS = [".", ",", ";", "(", ")", "/", "+"]
scraps = st.text(string.ascii_letters + "0123456789 .", max_size=8)
pieces = st.one_of(st.sampled_from(WORDS), st.sampled_from(sorted(phrases())), st.sampled_from(MARKS), scraps)
texts = st.lists(pieces, max_size=7).map(" ".join)


@st.composite
def edited_names(draw, keys):
    """A species name with one letter lost, doubled, swapped, changed or put in, or cut by a space."""
    name = organisms()[draw(st.sampled_from(keys))].name.lower()
    place = draw(st.integers(0, len(name) - 1))
    letter = draw(st.sampled_from(string.ascii_lowercase + " "))
    edits = [
        name[:place] + name[place + 1 :],
        name[:place] + letter + name[place:],
        name[:place] + letter + name[place + 1 :],
        name[:place] + name[place : place + 2][::-1] + name[place + 2 :],
    ]
    return name, draw(st.sampled_from(edits))


def growing(text: str) -> set[str]:
    return {one.organism_key for one in read_result(text).organisms if not one.negated}


@given(texts)
def test_any_text_is_read_and_nothing_that_grows_is_hidden(text):
    reading = read_result(text)
    grows = [one for one in reading.organisms if not one.negated]
    assert (reading.kind in (ResultKind.GROWTH, ResultKind.STAIN, ResultKind.UNMATCHED)) == bool(grows)
    assert all(one.organism_key in organisms() or one.match is Match.UNMATCHED for one in reading.organisms)


@given(st.text(max_size=60))
def test_no_text_at_all_breaks_the_reader(text):
    assert read_result(text).kind in ResultKind


@given(texts, st.sampled_from(["upper", "lower", "title"]), st.integers(1, 3))
def test_case_and_spacing_change_nothing(text, case, spaces):
    other = getattr(text, case)().replace(" ", " " * spaces)
    one, two = read_result(text), read_result(f"  {other} ")
    assert one.kind is two.kind
    assert [(o.organism_key, o.negated, o.match) for o in one.organisms] == [
        (o.organism_key, o.negated, o.match) for o in two.organisms
    ]


@given(texts)
def test_tidying_twice_is_tidying_once(text):
    assert tidy_result(tidy_result(text)) == tidy_result(text)


@given(texts, st.sampled_from(SPECIES))
def test_a_denied_clause_never_removes_growth(text, key):
    named = growing(text) - {""}
    assert named <= growing(f"{text}. No {organisms()[key].name} isolated.")


@given(st.sampled_from(SPECIES), st.sampled_from(SPECIES))
def test_a_denied_species_does_not_grow_and_the_other_does(one, other):
    text = f"No {organisms()[one].name} isolated. {organisms()[other].name} in 1 of 2 bottles"
    assert growing(text) == {other}


@given(edited_names(PATHOGENS))
def test_a_misspelled_pathogen_never_reads_as_a_commensal_of_another_genus(names):
    name, edited = names
    for key in growing(edited):
        assert not is_commensal(key) or organisms()[key].genus == name.split(maxsplit=1)[0], f"{edited!r} read as {key}"


@given(edited_names(PROTECTED))
def test_no_misspelling_of_anthracis_or_diphtheriae_reads_as_a_commensal(names):
    _name, edited = names
    assert not any(is_commensal(key) for key in growing(edited)), edited


@given(edited_names(SPECIES))
def test_a_guess_says_that_it_is_one(names):
    _name, edited = names
    for one in read_result(edited).organisms:
        if one.match is Match.PROPOSED:
            assert 88 <= one.score < 100
            assert organisms()[one.organism_key].rank is not Rank.PHRASE


@given(texts)
def test_phrases_without_names_never_name_an_organism(text):
    silent = [phrase for phrase, meaning in phrases().items() if meaning in (Meaning.NO_GROWTH, Meaning.CANCELLED)]
    assert all(growing(phrase) == set() for phrase in silent[:: max(1, len(text))])
