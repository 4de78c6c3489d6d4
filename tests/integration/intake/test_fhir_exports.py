"""FHIR exports become sets: references followed, codings read, statuses obeyed, nothing invented, all accounted for."""

from __future__ import annotations

import gzip
from pathlib import Path

import pytest

from cubital.domain.errors import FileProblem
from fhir_help import LOINC, SNOMED, culture, organism, patient, point, specimen, write_bundle, write_lines
from intake_help import read_file

BASE = [patient(), specimen()]


def test_a_culture_with_its_specimen_and_patient_is_one_set(tmp_path: Path) -> None:
    with read_file(write_lines(tmp_path / "x.ndjson", [*BASE, culture()])) as read:
        assert (read.sets, read.losses) == (1, {"read_beside_results": 2})
        found = read.set_of("A1")
        assert (found["age_group"], str(found["collected_local"])) == ("65_to_79", "2026-03-04 08:15:00")
        assert str(found["received_at"]) == "2026-03-04 15:00:00"


def test_every_resource_of_the_file_is_accounted_for(tmp_path: Path) -> None:
    odd = [{"resourceType": "MedicationRequest", "id": "m"}, {"id": "no type"}]
    with read_file(write_lines(tmp_path / "x.ndjson", [*BASE, culture(), *odd])) as read:
        account = read.intake.reconciliation
        assert account.rows == 5 == account.sets + sum(tally.count for tally in account.losses)


def test_a_result_may_stand_before_what_it_points_at(tmp_path: Path) -> None:
    with read_file(write_lines(tmp_path / "x.ndjson", [culture(), *reversed(BASE)])) as read:
        assert read.set_of("A1")["patient_key"] is not None


def test_a_bundle_with_addresses_resolves_relative_and_absolute_references(tmp_path: Path) -> None:
    base = "https://lab.example/fhir/"
    entries = [
        {"fullUrl": f"{base}Patient/p1", "resource": patient()},
        {"fullUrl": f"{base}Specimen/s1", "resource": specimen()},
        {"fullUrl": f"{base}Observation/o1", "resource": culture(specimen=point(f"{base}Specimen/s1/_history/3"))},
    ]
    with read_file(write_bundle(tmp_path / "x.json", entries)) as read:
        assert read.set_of("A1")["age_group"] == "65_to_79"


def test_addresses_made_up_for_one_bundle_resolve(tmp_path: Path) -> None:
    entries = [
        {"fullUrl": "urn:uuid:1", "resource": specimen(subject=point("urn:uuid:2"))},
        {"fullUrl": "urn:uuid:2", "resource": patient()},
        {"fullUrl": "urn:uuid:3", "resource": culture(specimen=point("urn:uuid:1"), subject=point("urn:uuid:2"))},
    ]
    with read_file(write_bundle(tmp_path / "x.json", entries)) as read:
        assert read.set_of("A1")["age_group"] == "65_to_79"


def test_two_servers_with_the_same_ids_are_not_mixed(tmp_path: Path) -> None:
    entries = []
    for host, number, accession in (("one", "7001", "A1"), ("two", "9009", "B1")):
        for each in (patient(number), specimen(accession=accession), culture()):
            entries.append({"fullUrl": f"https://{host}.example/{each['resourceType']}/{each['id']}", "resource": each})
    with read_file(write_bundle(tmp_path / "x.json", entries)) as read:
        assert read.column("accession") == ["A1", "B1"]
        assert len(set(read.column("patient_key"))) == 2


def test_contained_resources_are_found(tmp_path: Path) -> None:
    inside = culture(contained=[{**specimen(), "id": "in"}], specimen=point("#in"))
    with read_file(write_lines(tmp_path / "x.ndjson", [patient(), inside])) as read:
        assert read.set_of("A1")["time_quality"] == "exact"


def test_the_standard_code_counts_wherever_it_stands_among_the_codings(tmp_path: Path) -> None:
    two = {
        "coding": [{"system": "urn:local", "code": "X9", "display": "Mikro 9"}, {"system": LOINC, "code": "17934-1"}]
    }
    with read_file(write_lines(tmp_path / "x.ndjson", [*BASE, culture(code=two)])) as read:
        assert read.column("kind", "new_bottles", "kind") == ["anaerobic"]


def test_an_organism_known_only_by_its_code_is_read(tmp_path: Path) -> None:
    coded = {"coding": [{"system": "urn:local", "code": "QX7"}, {"system": SNOMED, "code": "3092008"}]}
    with read_file(write_lines(tmp_path / "x.ndjson", [*BASE, culture(valueCodeableConcept=coded)])) as read:
        assert read.column("organism_key", "new_isolates", "organism_key") == ["staphylococcus-aureus"]


def test_the_written_name_stands_where_the_code_names_another_organism(tmp_path: Path) -> None:
    both = {"text": "Escherichia coli", "coding": [{"system": SNOMED, "code": "3092008"}]}
    with read_file(write_lines(tmp_path / "x.ndjson", [*BASE, culture(valueCodeableConcept=both)])) as read:
        assert read.column("organism_key", "new_isolates", "organism_key") == ["escherichia-coli"]


@pytest.mark.parametrize(("letter", "grew"), [("POS", 1), ("NEG", 0)])
def test_an_interpretation_speaks_where_no_value_does(tmp_path: Path, letter: str, grew: int) -> None:
    bare = culture(valueCodeableConcept={}, interpretation=[{"coding": [{"code": letter}]}])
    with read_file(write_lines(tmp_path / "x.ndjson", [*BASE, bare])) as read:
        assert len(read.column("raw_text", "new_isolates", "raw_text")) == grew
        assert "result_missing" not in read.doubts


def test_organisms_grouped_by_a_culture_are_its_isolates_and_the_group_is_none(tmp_path: Path) -> None:
    group = culture(words="Positive", hasMember=[point("Observation/o2"), point("Observation/o3")])
    members = [organism("o2", "Staphylococcus aureus"), organism("o3", "Escherichia coli")]
    with read_file(write_lines(tmp_path / "x.ndjson", [*BASE, group, *members])) as read:
        assert read.column("organism_key", "new_isolates", "organism_key") == [
            "escherichia-coli", "staphylococcus-aureus",
        ]  # fmt: skip
        assert read.losses["heads_other_results"] == 1


def test_a_member_takes_specimen_and_patient_from_its_group(tmp_path: Path) -> None:
    group = culture(valueCodeableConcept={}, hasMember=[point("Observation/o2")])
    bare = organism("o2", "Staphylococcus aureus", specimen=None)
    with read_file(write_lines(tmp_path / "x.ndjson", [*BASE, group, bare])) as read:
        assert read.sets == 1
        assert read.column("organism_key", "new_isolates", "organism_key") == ["staphylococcus-aureus"]


def test_organisms_in_components_are_isolates(tmp_path: Path) -> None:
    parts = [{"code": {"text": "Organism"}, "valueCodeableConcept": {"text": name}} for name in ("CNS", "E. coli")]
    with read_file(write_lines(tmp_path / "x.ndjson", [*BASE, culture(words="Positive", component=parts)])) as read:
        assert len(read.column("organism_key", "new_isolates", "organism_key")) == 2
        assert read.intake.reconciliation.rows == 4  # the organisms of one resource are two lines


def test_susceptibilities_are_accounted_for_and_never_isolates(tmp_path: Path) -> None:
    panel = culture("o3", "", code={"text": "Oxacillin [Susceptibility]"}, derivedFrom=[point("Observation/o1")])
    local = culture("o4", "S", code={"text": "OXA"}, interpretation=[{"coding": [{"code": "S"}]}])
    with read_file(write_lines(tmp_path / "x.ndjson", [*BASE, culture(words="CNS"), panel, local])) as read:
        assert read.losses["further_antibiotic"] == 2
        assert len(read.column("raw_text", "new_isolates", "raw_text")) == 1


def test_other_tests_and_other_specimens_are_losses(tmp_path: Path) -> None:
    sodium = culture("o2", "", code={"text": "Sodium"}, valueQuantity={"value": 140})
    urine = [specimen("s2", "U1", type={"text": "Urine"}), culture("o3", "E. coli", specimen=point("Specimen/s2"))]
    with read_file(write_lines(tmp_path / "x.ndjson", [*BASE, culture(), sodium, *urine])) as read:
        assert read.sets == 1
        assert (read.losses["other_test"], read.losses["other_specimen"]) == (1, 1)


def test_an_export_of_chemistry_only_ends_in_no_sets_with_a_reason_for_every_resource(tmp_path: Path) -> None:
    sodium = [culture(f"o{n}", "", code={"text": "Sodium"}, valueQuantity={"value": 140}) for n in range(5)]
    with read_file(write_lines(tmp_path / "x.ndjson", [*BASE, *sodium])) as read:
        assert (read.sets, read.losses) == (0, {"other_test": 5, "read_beside_results": 2})


def test_the_effective_time_stands_in_for_the_specimens_and_the_time_of_issue_never(tmp_path: Path) -> None:
    bare = specimen(collection={})
    timed = culture(effectiveDateTime="2026-03-04T07:30:00-06:00", issued="2026-03-06T10:00:00-06:00")
    with read_file(write_lines(tmp_path / "x.ndjson", [patient(), bare, timed])) as read:
        assert str(read.set_of("A1")["collected_local"]) == "2026-03-04 07:30:00"
    issued = culture(issued="2026-03-06T10:00:00-06:00")
    with read_file(write_lines(tmp_path / "y.ndjson", [patient(), bare, issued])) as read:
        assert read.set_of("A1")["collected_at"] is None
        assert read.doubts["no_collection_time"] == 1


def test_a_result_without_a_specimen_is_named_and_makes_no_set(tmp_path: Path) -> None:
    with read_file(write_lines(tmp_path / "x.ndjson", [patient(), culture(specimen=None)])) as read:
        assert (read.sets, read.losses["no_accession"]) == (0, 1)
        assert any("no Specimen" in note for note in read.intake.notes)


def test_the_offset_settles_the_hour_that_the_clock_repeats(tmp_path: Path) -> None:
    late = specimen(collection={"collectedDateTime": "2025-11-02T01:30:00-06:00"}, receivedTime=None)
    with read_file(write_lines(tmp_path / "x.ndjson", [patient(), late, culture()])) as read:
        found = read.set_of("A1")
        assert (str(found["collected_at"]), found["time_quality"]) == ("2025-11-02 07:30:00", "exact")


def test_bottles_parted_from_one_draw_are_one_set(tmp_path: Path) -> None:
    bottles = [
        specimen(f"b{n}", f"A1-{n}", parent=[point("Specimen/s1")], collection={},
                 container=[{"type": {"text": kind}, "specimenQuantity": {"value": 8.5, "unit": "mL"}}])
        for n, kind in ((1, "Aerobic bottle"), (2, "Anaerobic bottle"))
    ]  # fmt: skip
    results = [culture(f"o{n}", specimen=point(f"Specimen/b{n}")) for n in (1, 2)]
    with read_file(write_lines(tmp_path / "x.ndjson", [*BASE, *bottles, *results])) as read:
        assert read.column("accession") == ["A1"]
        assert read.column("kind", "new_bottles", "kind") == ["aerobic", "anaerobic"]
        assert read.column("fill_ml", "new_bottles", "kind") == [8.5, 8.5]


def test_the_amount_of_a_draw_of_two_bottles_is_no_bottles_own(tmp_path: Path) -> None:
    drawn = specimen(collection={"collectedDateTime": "2026-03-04", "quantity": {"value": 20, "unit": "mL"}})
    coded = {"coding": [{"system": LOINC, "code": "17928-3"}]}
    with read_file(write_lines(tmp_path / "x.ndjson", [patient(), drawn, culture(code=coded)])) as read:
        assert read.column("fill_ml", "new_bottles", "kind") == [None]
        assert read.doubts["date_only"] == 1


def test_the_ward_is_where_the_patient_lay_at_collection(tmp_path: Path) -> None:
    places = [
        {"resourceType": "Location", "id": "icu", "name": "ICU"},
        {"resourceType": "Location", "id": "med", "name": "3 NORTH"},
        {"resourceType": "Location", "id": "bed", "name": "Bed 4", "partOf": point("Location/icu"),
         "physicalType": {"coding": [{"code": "bd"}]}},
    ]  # fmt: skip
    stays = [
        {"location": point("Location/bed"), "period": {"start": "2026-03-01", "end": "2026-03-04T12:00:00-06:00"}},
        {"location": point("Location/med"), "period": {"start": "2026-03-04T12:00:00-06:00"}},
    ]
    visit = {"resourceType": "Encounter", "id": "e1", "status": "finished", "class": {"code": "IMP"}, "location": stays}
    lines = [*BASE, *places, visit, culture(encounter=point("Encounter/e1"))]
    with read_file(write_lines(tmp_path / "x.ndjson", lines)) as read:
        assert read.set_of("A1")["unit_key"] == "icu"


def test_the_collector_is_followed_through_a_role(tmp_path: Path) -> None:
    people = [
        {"resourceType": "PractitionerRole", "id": "r1", "practitioner": point("Practitioner/n1")},
        {"resourceType": "Practitioner", "id": "n1", "identifier": [{"value": "70511"}]},
    ]
    drawn = specimen(collection={"collector": point("PractitionerRole/r1"), "collectedDateTime": "2026-03-04T08:15Z"})
    with read_file(write_lines(tmp_path / "x.ndjson", [patient(), drawn, *people, culture()])) as read:
        found = read.set_of("A1")
        assert (found["collector_key"], found["attribution"]) == ("70511", "A")


@pytest.mark.parametrize(
    ("status", "sets", "loss"), [("entered-in-error", 0, "cancelled"), ("cancelled", 0, "cancelled"), ("final", 1, "")]
)
def test_statuses_of_a_result_are_obeyed(tmp_path: Path, status: str, sets: int, loss: str) -> None:
    with read_file(write_lines(tmp_path / "x.ndjson", [*BASE, culture(status=status)])) as read:
        assert read.sets == sets
        assert not loss or read.losses[loss] == 1


def test_an_unfit_specimen_without_a_result_is_rejected_with_its_reason(tmp_path: Path) -> None:
    unfit = specimen(status="unsatisfactory", condition=[{"text": "Clotted"}])
    bare = culture(status="cancelled", valueCodeableConcept=None)
    with read_file(write_lines(tmp_path / "x.ndjson", [patient(), unfit, bare])) as read:
        assert (read.sets, read.losses["rejected"]) == (0, 1)
        assert read.set_of("A1")["reject_reason"] == "Clotted"


def test_a_growth_reported_from_an_unfit_specimen_still_counts(tmp_path: Path) -> None:
    unfit = specimen(status="unsatisfactory")
    with read_file(write_lines(tmp_path / "x.ndjson", [patient(), unfit, culture(words="E. coli")])) as read:
        assert read.sets == 1


def test_a_corrected_result_of_the_same_resource_replaces_the_earlier_one(tmp_path: Path) -> None:
    first = culture(words="CNS", meta={"lastUpdated": "2026-03-05T10:00:00Z"})
    second = culture(words="E. coli", status="corrected", meta={"lastUpdated": "2026-03-06T10:00:00+01:00"})
    for order in ([first, second], [second, first]):
        with read_file(write_lines(tmp_path / "x.ndjson", [*BASE, *order])) as read:
            assert read.losses["superseded"] == 1
            assert read.column("organism_key", "new_isolates", "organism_key") == ["escherichia-coli"]


def test_the_same_resource_twice_is_a_repeated_row(tmp_path: Path) -> None:
    with read_file(write_lines(tmp_path / "x.ndjson", [*BASE, culture(), culture()])) as read:
        assert (read.sets, read.losses["repeated_row"]) == (1, 1)


def test_a_report_without_its_results_is_read_by_its_conclusion(tmp_path: Path) -> None:
    report = {
        "resourceType": "DiagnosticReport", "id": "d1", "status": "final", "code": {"text": "Blood culture"},
        "subject": point("Patient/p1"), "specimen": [point("Specimen/s1")], "conclusion": "Growth of E. coli",
    }  # fmt: skip
    with read_file(write_lines(tmp_path / "x.ndjson", [*BASE, report])) as read:
        assert read.sets == 1
        assert read.column("organism_key", "new_isolates", "organism_key") == ["escherichia-coli"]
    with read_file(
        write_lines(tmp_path / "y.ndjson", [*BASE, culture(), {**report, "result": [point("Observation/o1")]}])
    ) as read:
        assert (read.sets, read.losses["heads_other_results"]) == (1, 1)


def test_a_page_of_a_search_says_that_others_follow(tmp_path: Path) -> None:
    entries = [{"resource": each} for each in (*BASE, culture())]
    link = [{"relation": "next", "url": "https://lab.example/next"}]
    with read_file(write_bundle(tmp_path / "x.json", entries, type="searchset", link=link)) as read:
        assert read.sets == 1
        assert any("one page of a search" in note for note in read.intake.notes)


def test_bundles_in_a_batch_response_are_opened(tmp_path: Path) -> None:
    inner = {
        "resourceType": "Bundle",
        "type": "searchset",
        "entry": [{"resource": each} for each in (*BASE, culture())],
    }
    entries = [{"resource": inner, "response": {"status": "200"}}, {"response": {"status": "404"}}]
    with read_file(write_bundle(tmp_path / "x.json", entries, type="batch-response")) as read:
        assert (read.sets, read.intake.reconciliation.rows) == (1, 4)


def test_a_gzipped_export_is_read(tmp_path: Path) -> None:
    plain = write_lines(tmp_path / "x.ndjson", [*BASE, culture()])
    packed = tmp_path / "x.ndjson.gz"
    packed.write_bytes(gzip.compress(plain.read_bytes()))
    with read_file(packed) as read:
        assert read.sets == 1


def test_a_damaged_line_is_a_loss_and_the_rest_is_read(tmp_path: Path) -> None:
    path = write_lines(tmp_path / "x.ndjson", [*BASE, culture()])
    path.write_bytes(path.read_bytes() + b'{"resourceType": "Observation", "id": "o9", "sta')
    with read_file(path) as read:
        assert (read.sets, read.losses["unreadable_message"]) == (1, 1)
        assert (4, "unreadable_message") in read.fates()


def test_a_bundle_cut_short_is_refused(tmp_path: Path) -> None:
    path = write_bundle(tmp_path / "x.json", [{"resource": each} for each in (*BASE, culture())])
    path.write_bytes(path.read_bytes()[:-40])
    with pytest.raises(FileProblem, match="no complete JSON"), read_file(path):
        pass
