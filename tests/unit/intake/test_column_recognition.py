"""Which column is what: headers as laboratories spell them, cells as witnesses, memory above both."""

from __future__ import annotations

import pytest

from cubital.domain.places import SourceMemory
from cubital.intake.columns import recognise_columns
from cubital.intake.headers import label_headers, tidy_header
from cubital.intake.roles import Role, roles_of_header

NOTHING = SourceMemory()


@pytest.mark.parametrize("header", ["ACC_NO", "Acc No.", "accessionNumber", "acc-no", "Accession #", "LABNO"])
def test_accession_headers_are_known_in_any_dress(header):
    assert Role.ACCESSION in roles_of_header(header)


@pytest.mark.parametrize(
    ("header", "role"),
    [
        ("MRN", Role.PATIENT), ("Patient No", Role.PATIENT), ("Nº historia clínica", None), ("DOB", Role.BIRTH),
        ("Fecha de nacimiento", Role.BIRTH), ("LOC", Role.UNIT), ("Ward", Role.UNIT), ("Collecting unit", Role.UNIT),
        ("COLL_DT", Role.COLLECTED), ("Date Collected", Role.COLLECTED_DATE), ("Collection Time", Role.COLLECTED_CLOCK),
        ("RECV_DT", Role.RECEIVED), ("LOAD_DT", Role.LOADED), ("POS_DT", Role.POSITIVE), ("BOTTLE", Role.BOTTLE),
        ("COLL_BY", Role.COLLECTOR), ("PHLEB", Role.COLLECTOR), ("BODY SITE", Role.SITE), ("Organism", Role.ORGANISM),
        ("Result", Role.RESULT), ("Status", Role.STATUS), ("Antibiotic", Role.ANTIBIOTIC), ("Lot", None),
        ("ADMIT_DT", Role.FROM), ("Admission date", Role.FROM), ("LEAVE_DT", Role.TO), ("Discharge time", Role.TO),
    ],
)  # fmt: skip
def test_common_headers_have_their_role(header, role):
    found = roles_of_header(header)
    assert role in found if role else not found


def test_headers_are_tidied_to_words():
    assert tidy_header("  Nº_de Muestra ") == "no de muestra"
    assert tidy_header("CollectedTime") == "collected time"


def test_a_header_that_comes_twice_is_told_apart():
    assert label_headers(["RESULT", "", "Result"]) == ["RESULT (column 1)", "column 2", "Result (column 3)"]


def roles(headers, rows, memory=NOTHING):
    found = recognise_columns(headers, rows, memory=memory)
    return [column.role for column in found.columns]


def test_cells_decide_between_number_and_type_of_specimen():
    rows = [[str(n), "BLOOD", "CNS"] for n in range(5001, 5020)]
    assert roles(["SPECIMEN", "SAMPLE TYPE", "RESULT"], rows) == [Role.ACCESSION, Role.SPECIMEN, Role.RESULT]


def test_cells_decide_between_hour_and_moment():
    hours = roles(["ACC_NO", "COLL_DATE", "COLL_TIME", "RESULT"], [["1", "2025-11-01", "22:10", "CNS"]])
    moments = roles(["ACC_NO", "COLL_TIME", "RESULT"], [["1", "2025-11-01 22:10", "CNS"]])
    assert hours == [Role.ACCESSION, Role.COLLECTED_DATE, Role.COLLECTED_CLOCK, Role.RESULT]
    assert moments == [Role.ACCESSION, Role.COLLECTED, Role.RESULT]


def test_a_time_collected_is_what_its_cells_hold():
    moments = roles(["ACC_NO", "Time collected", "RESULT"], [["1", "2025-11-01 22:10", "CNS"]])
    hours = roles(["ACC_NO", "Date", "Time collected", "RESULT"], [["1", "2025-11-01", "22:10", "CNS"]])
    assert moments == [Role.ACCESSION, Role.COLLECTED, Role.RESULT]
    assert hours[2] is Role.COLLECTED_CLOCK


def test_eight_digit_patient_numbers_are_no_dates():
    rows = [[str(n), str(10_000_000 + n), "CNS"] for n in range(20)]
    assert roles(["ACC_NO", "SUBJECT_ID", "RESULT"], rows)[1] is Role.PATIENT


def test_susceptibility_letters_are_no_status():
    rows = [["1", "CNS", letter] for letter in "SRIS"]
    assert roles(["ACC_NO", "RESULT", "interpretation"], rows)[2] is Role.OTHER


def test_bottles_are_recognised_without_a_header():
    rows = [[str(n), "AER" if n % 2 else "ANA", "CNS"] for n in range(10)]
    found = recognise_columns(["ACC_NO", "X1", "RESULT"], rows, memory=NOTHING)
    assert found.columns[1].role is Role.BOTTLE
    assert [question.key for question in found.proposed] == ["column.bottle"]


def test_memory_stands_above_headers():
    memory = SourceMemory(columns={"nr x": "accession", "result": "other", "wert": "result"})
    assert roles(["Nr X", "RESULT", "Wert"], [["1", "a", "CNS"]], memory) == [Role.ACCESSION, Role.OTHER, Role.RESULT]


def test_two_accession_columns_are_asked():
    rows = [[f"A{n}", f"B{n}", "CNS"] for n in range(10)]
    found = recognise_columns(["Lab No", "Specimen No", "RESULT"], rows, memory=NOTHING)
    assert [(q.key, q.choices) for q in found.questions] == [("column.accession", ("Lab No", "Specimen No"))]


def test_the_same_column_twice_needs_no_question():
    rows = [[str(n), str(n), "CNS"] for n in range(10)]
    assert recognise_columns(["ACC_NO", "ACC_NO", "RESULT"], rows, memory=NOTHING).questions == ()


def test_every_recognition_says_why():
    found = recognise_columns(["ACC_NO", "Lot", "RESULT"], [["1", "2", "CNS"]], memory=NOTHING)
    assert all(column.why for column in found.columns)
    assert found.columns[0].confidence >= 0.9
