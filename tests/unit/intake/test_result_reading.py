"""What a result cell says: kinds, organisms, denials, misspellings. Texts are of the kind laboratories write."""

from __future__ import annotations

import string

import pytest

from cubital.domain.cultures import Match
from cubital.intake.results import ResultKind, read_result, tidy_result
from cubital.reference.commensals import Standing, standing

CONS = "staphylococcus-coagulase-negative"


def grown(text: str) -> list[str]:
    """Keys of what grew; empty keys for unread names."""
    return [one.organism_key for one in read_result(text).organisms if not one.negated]


def denied(text: str) -> list[str]:
    return [one.organism_key for one in read_result(text).organisms if one.negated]


# The result texts of the two files of the messy month (Vellorin Health Network, invented).
MESSY_MONTH = {
    "STAPH EPIDERMITIS": "staphylococcus-epidermidis",
    "CNS": CONS,
    "COAG NEG STAPH": CONS,
    "Coag. neg. staphylococcus": CONS,
    "DIPTHEROIDS": "diphtheroids",
    "Micrococus luteus": "micrococcus-luteus",
    "E.coli": "escherichia-coli",
    "Escherichia coli": "escherichia-coli",
    "STAPH HOMINIS": "staphylococcus-hominis",
    "Viridans strep": "streptococcus-viridans-group",
    "No Staphylococcus aureus isolated. Corynebacterium sp.": "corynebacterium",
    "Bacillus sp (not anthracis)": "bacillus",
    "Bacteroides fragilis": "bacteroides-fragilis",
}


@pytest.mark.parametrize(("text", "key"), MESSY_MONTH.items())
def test_the_messy_month_is_read(text, key):
    assert grown(text) == [key]
    assert read_result(text).kind is ResultKind.GROWTH


@pytest.mark.parametrize(
    ("text", "key"),
    [
        ("MRSA", "staphylococcus-aureus"),
        ("VRE", "enterococcus"),
        ("GBS", "streptococcus-agalactiae"),
        ("strep viridans", "streptococcus-viridans-group"),
        ("Staph epi", "staphylococcus-epidermidis"),
        ("Staph. aureus", "staphylococcus-aureus"),
        ("diphtheroids", "diphtheroids"),
        ("Staphylococcus species, coagulase-negative", CONS),
        ("STAPH AUREUS COAG +", "staphylococcus-aureus"),
        ("staph coag -", CONS),
        ("β-haemolytic strep, group A", "streptococcus-pyogenes"),
        ("Staph capitis subsp. urealyticus", "staphylococcus-capitis-urealyticus"),
        ("S. schleiferi ssp. coagulans", "staphylococcus-schleiferi-coagulans"),
        ("Propionibacterium acnes", "cutibacterium-acnes"),
        ("Cutibacterium (Propionibacterium) acnes", "cutibacterium-acnes"),
        ("CORYNEBACTERIUM SPECIES (DIPHTHEROIDS)", "corynebacterium"),
        ("Haemophilus influenzae", "haemophilus-influenzae"),
        ("hemophilus influenzae", "haemophilus-influenzae"),
        ("1 of 2 bottles: Staphylococcus capitis after 18 hours, possible contaminant", "staphylococcus-capitis"),
        ("MIXED BACTERIAL FLORA", "mixed-flora"),
        ("POSITIVE", "growth-unnamed"),
        ("POSITIVE FOR METHICILLIN RESISTANT STAPH AUREUS", "staphylococcus-aureus"),
        ("estafilococo coagulasa negativo", CONS),
    ],
)
def test_spellings_and_noise_lead_to_one_organism(text, key):
    assert grown(text) == [key]


@pytest.mark.parametrize(
    ("kind", "texts"),
    [
        (ResultKind.NO_GROWTH, ["NG 5D", "No growth", "NO GROWTH AT 5 DAYS", "NO GROWTH.  ", "sterile", "Negative"]),
        (ResultKind.NO_GROWTH, ["NBG", "no organisms isolated", "NGTD", "No growth to date", "no grwoth"]),
        (ResultKind.NO_GROWTH, ["No aerobic or anaerobic growth after 5 days", "None isolated", "sin crecimiento"]),
        (ResultKind.PENDING, ["Pending", "in progress", "Result to follow"]),
        (ResultKind.CANCELLED, ["CANCELLED", "Test not performed", "duplicate order"]),
        (ResultKind.REJECTED, ["Specimen rejected - unlabelled", "QNS", "wrong patient"]),
        (ResultKind.EMPTY, ["", "   ", "-", "N/A", "..."]),
        (ResultKind.STAIN, ["GPC CLUSTERS", "Gram (+) cocci in clusters", "GNR", "gram negative rods seen"]),
        (ResultKind.UNMATCHED, ["see comment", "Foobarella mystica", "2/2", "PARAINFLUENZA VIRUS TYPE 3", "none"]),
    ],
)  # fmt: skip
def test_a_text_without_a_name_has_its_kind(kind, texts):
    assert {text: read_result(text).kind for text in texts} == dict.fromkeys(texts, kind)


@pytest.mark.parametrize(
    ("text", "grows", "denies"),
    [
        ("No Staphylococcus aureus isolated. Corynebacterium sp.", ["corynebacterium"], ["staphylococcus-aureus"]),
        ("Bacillus sp (not anthracis)", ["bacillus"], ["bacillus-anthracis"]),
        ("Bacillus sp, not anthracis, and Corynebacterium", ["bacillus", "corynebacterium"], ["bacillus-anthracis"]),
        ("no MRSA isolated; coag-neg staph in 1/4 bottles", [CONS], ["staphylococcus-aureus"]),
        ("MRSA: not detected; Staph epi", ["staphylococcus-epidermidis"], ["staphylococcus-aureus"]),
        ("Not detected: MRSA, VRE. CNS", [CONS], ["staphylococcus-aureus", "enterococcus"]),
        ("YEAST, PRESUMPTIVELY NOT C. ALBICANS", ["yeast"], ["candida-albicans"]),
        ("HAEMOPHILUS SPECIES NOT INFLUENZAE", ["haemophilus"], ["haemophilus-influenzae"]),
        ("No S.aureus or S.lugdunensis isolated; CNS", [CONS], ["staphylococcus-aureus", "staphylococcus-lugdunensis"]),
        ("No growth except Staphylococcus epidermidis", ["staphylococcus-epidermidis"], []),
        ("non-aureus staphylococcus", ["staphylococcus"], []),
        ("Staphylococcus epidermidis, not further identified", ["staphylococcus-epidermidis"], []),
        ("Staph. aureus not isolated", [], ["staphylococcus-aureus"]),
        ("MRSA negative", [], ["staphylococcus-aureus"]),
        ("MRSA screen negative. Staph epi", ["staphylococcus-epidermidis"], ["staphylococcus-aureus"]),
        ("No Corynebacterium sp. or Bacillus sp. isolated", [], ["corynebacterium", "bacillus"]),
    ],
)
def test_denied_organisms_do_not_grow(text, grows, denies):
    assert (grown(text), denied(text)) == (grows, denies)


@pytest.mark.parametrize(
    ("text", "keys"),
    [
        ("Staphylococcus epidermidis and E. coli", ["staphylococcus-epidermidis", "escherichia-coli"]),
        ("CNS + Klebsiella pneumoniae", [CONS, "klebsiella-pneumoniae"]),
        ("1) E. coli 2) Enterococcus faecalis", ["escherichia-coli", "enterococcus-faecalis"]),
        ("Staphylococcus capitis and hominis", ["staphylococcus-capitis", "staphylococcus-hominis"]),
        ("Staph epi, Foobarella mystica", ["staphylococcus-epidermidis", ""]),
        ("CNS\nCNS", [CONS]),
        ("Enterococcus faecalis, E. coli", ["enterococcus-faecalis", "escherichia-coli"]),
        ("Mycobacterium avium; M. bovis", ["mycobacterium-avium", "mycobacterium-bovis"]),
    ],
)
def test_several_organisms_in_one_cell_are_all_read(text, keys):
    assert grown(text) == keys


@pytest.mark.parametrize(
    "text",
    [
        "Bacillus fragilis",
        "Enterobacter faecalis",
        "Enterococcus cloacae",
        "Aerococcus prevotii",
        "Mcrococcus",
        "C. hominis",
        "Bacilus antrxcs",
        "Bacilus fragilis",
    ],
)
def test_a_guess_across_genera_is_never_taken(text):
    reading = read_result(text)
    assert reading.kind is ResultKind.UNMATCHED
    assert [(one.organism_key, one.match) for one in reading.organisms] == [("", Match.UNMATCHED)]
    assert reading.organisms[0].raw_text == text


def test_bacteroides_is_not_corrected_to_bacillus():
    for text in ("Bacteroides", "Bacteriodes", "Bacteroides sp.", "Bacteriodes fragilis"):
        assert grown(text)[0].startswith("bacteroides"), text


@pytest.mark.parametrize("text", ["Bacillus antracis", "Bacillus anthraxis", "BACILLUS ANTHRACES", "B. anthracis"])
def test_anthracis_is_never_lost_in_its_genus(text):
    assert grown(text) == ["bacillus-anthracis"]


def one_letter_edits(name: str) -> set[str]:
    letters = string.ascii_lowercase + " .-"
    places = range(len(name) + 1)
    put_in = {name[:place] + letter + name[place:] for place in places for letter in letters}
    changed = {name[:place] + letter + name[place + 1 :] for place in places for letter in letters}
    swapped = {name[:place] + name[place : place + 2][::-1] + name[place + 2 :] for place in places}
    return put_in | changed | swapped | {name[:place] + name[place + 1 :] for place in places}


@pytest.mark.parametrize("name", ["bacillus anthracis", "corynebacterium diphtheriae"])
def test_no_one_letter_misspelling_of_a_feared_name_is_a_commensal(name):
    edits = one_letter_edits(name)
    assert len(edits) > 1000
    keys = {
        edit: [key for key in grown(edit) if standing(key, "surveillance_2020") is Standing.COMMENSAL] for edit in edits
    }
    assert {edit: found for edit, found in keys.items() if found} == {}


@pytest.mark.parametrize(
    ("text", "key"),
    [
        ("Micro-coccus luteus", "micrococcus-luteus"),
        ("Staphylococcus epider midis", "staphylococcus-epidermidis"),
        ("Lacto bacillus iners", "lactobacillus-iners"),
        ("haemophil s haemolyticus", "haemophilus-haemolyticus"),
    ],
)
def test_a_name_broken_in_two_is_one_name(text, key):
    assert grown(text) == [key]
    assert "broken word" in " ".join(read_result(text).notes)


def test_what_only_resembles_anthracis_is_left_to_a_person():
    assert grown("Bacillus antrax") == [""]


def test_a_misspelling_within_one_genus_is_proposed_and_said():
    (one,) = read_result("Micrococus luteus").organisms
    assert one.match is Match.PROPOSED
    assert 88 <= one.score < 100
    assert "nearest one of the same genus" in " ".join(read_result("Micrococus luteus").notes)


@pytest.mark.parametrize("text", ["Corynebacterium foobarense", "Corynebacterum foobarense"])
def test_an_unknown_species_reads_as_its_genus_and_is_said(text):
    reading = read_result(text)
    assert [one.organism_key for one in reading.organisms] == ["corynebacterium"]
    assert "not in the tables" in reading.notes[0]


@pytest.mark.parametrize(
    ("text", "key"),
    [
        ("Klebsiela pneumonia", "klebsiella-pneumoniae"),
        ("Actinotignum schaalia", "actinotignum-schaalii"),
        ("Micobacterium tuberculosis", "mycobacterium-tuberculosis"),
        ("Corynebacterum diptheriae", "corynebacterium-diphtheriae"),
    ],
)
def test_genus_and_species_may_both_be_misspelled(text, key):
    assert grown(text) == [key]
    assert read_result(text).organisms[0].match is Match.PROPOSED


def test_a_remark_after_a_genus_is_no_species():
    reading = read_result("Micrococcus phoned 14:30 xkz")
    assert ([one.organism_key for one in reading.organisms], reading.notes) == (["micrococcus"], ())
    assert grown("Micrococcus xkz") == ["micrococcus"]


def test_an_exact_name_and_a_spelling_are_told_apart():
    assert read_result("ESCHERICHIA COLI").organisms[0].match is Match.EXACT
    assert read_result("E. coli").organisms[0].match is Match.SYNONYM


def test_a_stain_beside_its_name_is_dropped_and_another_one_kept():
    assert grown("GPC clusters - Staphylococcus epidermidis") == ["staphylococcus-epidermidis"]
    assert grown("Gram negative rods. Staph epi") == ["gram-negative-bacilli", "staphylococcus-epidermidis"]


def test_growth_beside_no_growth_is_growth_and_is_said():
    reading = read_result("Staphylococcus epidermidis aerobic. No growth anaerobic.")
    assert reading.kind is ResultKind.GROWTH
    assert "also says no growth" in " ".join(reading.notes)


@pytest.mark.parametrize(
    ("text", "keys"),
    [
        ("Gram negative curved bacillus", ["gram-negative-bacilli"]),
        ("Bacillus, gram negative", ["gram-negative-bacilli"]),
        ("small GRAM NEGATIVE (slender) bacillus", ["gram-negative-bacilli"]),
        ("Curved bacillus", [""]),
        ("GNR and Bacillus", ["gram-negative-bacilli", "bacillus"]),
        ("Gram positive bacillus", ["gram-positive-bacilli"]),
        ("Gram positive rods: Bacillus", ["bacillus"]),
    ],
)
def test_a_rod_is_not_the_genus_bacillus(text, keys):
    assert grown(text) == keys


def test_words_left_beside_no_growth_are_said():
    assert read_result("No growth. Xyzzia foo seen").notes == ("Some words of the text were not read.",)
    assert read_result("No growth after 5 days").notes == ()
    assert read_result("No growth. Xyzzia sp.").kind is ResultKind.UNMATCHED


def test_notes_follow_the_language_of_the_reader(monkeypatch):
    monkeypatch.setattr("cubital.intake.results.note_words", lambda note: f"[{note}]")
    assert read_result("No growth to date").notes == ("[so_far]",)


def test_the_raw_text_of_an_organism_is_its_own_words():
    first, second = read_result("Grew  Staph   epi  and E. coli").organisms
    assert (first.raw_text, second.raw_text) == ("Staph epi", "E. coli")


def test_only_denials_say_so():
    assert "only says what did not grow" in read_result("No MRSA isolated").notes[0]
    assert read_result("Not S. aureus").kind is ResultKind.UNMATCHED  # something grew, and it has no name


def test_tidy_text_is_the_same_for_any_case_and_spacing():
    assert tidy_result("  STAPH   Epi.\n") == tidy_result("staph epi") == "staph epi"
