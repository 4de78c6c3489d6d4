"""A result whose standard code and whose words name two organisms is kept with a doubt that says so."""

from __future__ import annotations

import pytest

from fhir_help import SNOMED, organism, patient, specimen, write_lines
from intake_help import read_file

HEAD = "MSH|^~\\&|LIS|M|Q|M|20251103||ORU^R01^ORU_R01|C1|P|2.5.1\rPID|1||77^^^M^MR||Doe^J||19490214|F\r"
ORDER = "OBR|1||A1|600-7^Blood culture^LN|||202511031030" + "|" * 18 + "F\r"
COLI = "112283007"  # SNOMED CT: Escherichia coli


def hl7(folder, words):
    path = folder / "feed.hl7"
    segment = f"OBX|1|CWE|17928-3^Aerobe culture^LN||{COLI}^{words}^SCT||||||F\r"
    path.write_text(HEAD + ORDER + segment + "SPM|1|||BLDV\r", encoding="utf-8", newline="")
    return path


def fhir(folder, words):
    value = {"text": words, "coding": [{"system": SNOMED, "code": COLI}]}
    resources = [patient(), specimen(), organism("o1", words, valueCodeableConcept=value)]
    return write_lines(folder / "export.ndjson", resources)


@pytest.mark.parametrize(
    ("write", "followed", "named"),
    [(hl7, "escherichia-coli", "Klebsiella pneumoniae"), (fhir, "klebsiella-pneumoniae", "Escherichia coli")],
)
def test_code_and_words_in_disagreement_are_a_doubt_that_names_the_other(tmp_path, write, followed, named):
    with read_file(write(tmp_path, "Klebsiella pneumoniae")) as found:
        assert found.doubts["code_differs"] == 1
        assert found.session.rows("select organism_key from new_isolates") == [(followed,)]
        assert found.session.rows("select detail from row_doubts where reason = 'code_differs'") == [(named,)]


@pytest.mark.parametrize("write", [hl7, fhir])
@pytest.mark.parametrize("words", ["Escherichia coli", "E. coli", "Escherichia", "Escherichia coli ESBL", ""])
def test_words_that_agree_or_say_less_are_no_doubt(tmp_path, write, words):
    with read_file(write(tmp_path, words)) as found:
        assert "code_differs" not in found.doubts
