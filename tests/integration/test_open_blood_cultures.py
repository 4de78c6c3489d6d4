"""Every organism that an openly licensed hospital extract names for a blood culture is read.

Source: MIMIC-IV Clinical Database Demo 2.2 (physionet.org/content/mimic-iv-demo), table of microbiology events.
"""

from __future__ import annotations

import csv
import gzip

import pytest

from cubital.intake.results import ResultKind, read_result


@pytest.fixture(scope="module")
def blood_results(open_data):
    path = open_data("mimic-iv-demo") / "hosp" / "microbiologyevents.csv.gz"
    with gzip.open(path, "rt", encoding="utf-8", newline="") as lines:
        rows = [row for row in csv.DictReader(lines) if row["spec_type_desc"] == "BLOOD CULTURE"]
    return {row["org_name"] for row in rows} - {""}


def test_every_name_of_a_blood_culture_is_read_without_a_guess(blood_results):
    assert len(blood_results) >= 14
    for text in blood_results - {"CANCELLED"}:
        reading = read_result(text)
        assert reading.kind in (ResultKind.GROWTH, ResultKind.STAIN), text
        assert all(one.organism_key and one.score == 100 for one in reading.organisms), text


def test_cancelled_in_the_organism_column_is_no_organism(blood_results):
    assert "CANCELLED" in blood_results
    assert read_result("CANCELLED").kind is ResultKind.CANCELLED


def test_the_skin_organisms_of_the_extract_are_found(blood_results):
    keys = {one.organism_key for text in blood_results for one in read_result(text).organisms}
    assert {"staphylococcus-coagulase-negative", "micrococcus-stomatococcus", "streptococcus-viridans-group"} <= keys
