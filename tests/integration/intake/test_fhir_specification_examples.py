"""The blood culture examples of the FHIR R4 specification, which is CC0 (hl7.org/fhir/R4).

Observation f206 has neither a specimen nor an effective time, only a time of issue, and its standard code stands
second; DiagnosticReport f202 names its test by SNOMED CT and points at an observation that its bundle does not hold.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from intake_help import read_file

EXAMPLES = Path(__file__).parents[4] / "shared" / "data" / "fhir-r4"


def _example(name: str) -> Path:
    path = EXAMPLES / name
    if not path.exists():
        pytest.skip(f"the FHIR specification example {name} is not on this machine")
    return path


def test_an_observation_without_a_specimen_makes_no_set_and_its_time_of_issue_no_collection_time() -> None:
    with read_file(_example("observation-f206.json")) as read:
        assert (read.sets, read.losses) == (0, {"no_accession": 1})
        assert any("no Specimen" in note for note in read.intake.notes)
        assert read.session.rows("select detail from row_fates") == [("Observation/f206",)]


def test_a_report_whose_result_is_elsewhere_is_seen_as_a_blood_culture_without_a_number() -> None:
    with read_file(_example("bundle-diagnosticreport-f202-bloodculture.json")) as read:
        assert (read.sets, read.losses) == (0, {"no_accession": 1, "read_beside_results": 1})


def test_the_same_observation_with_a_specimen_is_a_set_with_its_organism(tmp_path: Path) -> None:
    """What the example lacks is all that it lacks: its two codings and its organism are read."""
    import json

    observation = json.loads(_example("observation-f206.json").read_text())
    observation["specimen"] = {"reference": "Specimen/s"}
    specimen = {"resourceType": "Specimen", "id": "s", "accessionIdentifier": {"value": "A1"}}
    path = tmp_path / "x.ndjson"
    path.write_text(f"{json.dumps(observation)}\n{json.dumps(specimen)}\n")
    with read_file(path) as read:
        assert read.column("organism_key", "new_isolates", "organism_key") == ["staphylococcus-aureus"]
        assert (read.set_of("A1")["time_quality"], read.doubts["no_collection_time"]) == ("missing", 1)
