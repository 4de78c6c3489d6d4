"""Preliminary, final, corrected, cancelled and rejected rows; bottles, organisms and antibiotics of one set."""

from __future__ import annotations

import pytest

from intake_help import read_text

BOTTLES = "ACC_NO,MRN,LOC,COLL_DT,RECV_DT,BOTTLE,STATUS,RESULT\n"
SETS = "ACC_NO,MRN,COLL_DT,STATUS,ORGANISM\n"
ANTIBIOTICS = "ACC_NO,MRN,COLL_DT,ISOLATE_NUM,ORGANISM,ANTIBIOTIC,INTERP\n"


def bottle(accession, kind, status, result, *, patient=70001, unit="ED", hour=10, received=11):
    return f"{accession},{patient},{unit},2025-11-01 {hour}:00,2025-11-01 {received}:00,{kind},{status},{result}\n"


def organisms(read):
    return read.session.rows(
        "select accession, organism_key from new_isolates join new_sets using (row_set) where not negated order by all"
    )


def test_a_corrected_row_replaces_the_final_one(tmp_path):
    text = (
        BOTTLES + bottle(1, "AER", "C", "E.coli") + bottle(1, "AER", "F", "CNS") + bottle(1, "AER", "P", "GPC CLUSTERS")
    )
    with read_text(tmp_path, text) as read:
        assert organisms(read) == [("1", "escherichia-coli")]
        assert read.losses == {"superseded": 2}
        assert read.fates() == [(2, "set"), (3, "superseded"), (4, "superseded")]


def test_a_set_still_preliminary_says_so(tmp_path):
    with read_text(tmp_path, BOTTLES + bottle(1, "AER", "P", "NO GROWTH AT 1 DAY")) as read:
        assert read.set_of("1")["status"] == "preliminary"
        assert read.sets == 1


def test_one_preliminary_bottle_is_kept_beside_a_final_one(tmp_path):
    text = BOTTLES + bottle(1, "AER", "F", "CNS") + bottle(1, "ANA", "P", "NO GROWTH AT 1 DAY")
    with read_text(tmp_path, text) as read:
        assert read.column("kind", "new_bottles", "kind") == ["aerobic", "anaerobic"]
        assert read.losses == {"further_bottle": 1}


def test_a_preliminary_row_for_the_set_gives_way_to_final_bottles(tmp_path):
    text = BOTTLES + bottle(1, "", "P", "GPC CLUSTERS") + bottle(1, "AER", "F", "CNS") + bottle(1, "ANA", "F", "NG 5D")
    with read_text(tmp_path, text) as read:
        assert organisms(read) == [("1", "staphylococcus-coagulase-negative")]
        assert read.losses == {"superseded": 1, "further_bottle": 1}


@pytest.mark.parametrize(("status", "result"), [("X", "NG 5D"), ("F", "CANCELLED"), ("cancelled", "")])
def test_a_set_with_every_row_cancelled_is_cancelled(tmp_path, status, result):
    text = (
        BOTTLES + bottle(1, "AER", status, result) + bottle(1, "ANA", status, result) + bottle(2, "AER", "F", "NG 5D")
    )
    with read_text(tmp_path, text) as read:
        assert read.set_of("1")["status"] == "cancelled"
        assert (read.sets, read.losses) == (1, {"cancelled": 2})
        assert organisms(read) == []


def test_a_cancelled_bottle_leaves_the_other_one_valid(tmp_path):
    text = BOTTLES + bottle(1, "AER", "X", "") + bottle(1, "ANA", "F", "CNS")
    with read_text(tmp_path, text) as read:
        assert read.set_of("1")["status"] == "final"
        assert read.fates() == [(2, "cancelled"), (3, "set")]
        assert read.column("kind", "new_bottles", "kind") == ["anaerobic"]


def test_a_cancellation_replaces_what_was_preliminary(tmp_path):
    text = BOTTLES + bottle(1, "AER", "P", "NO GROWTH AT 1 DAY") + bottle(1, "AER", "X", "CANCELLED")
    with read_text(tmp_path, text) as read:
        assert read.set_of("1")["status"] == "cancelled"
        assert read.sets == 0


def test_a_reason_of_rejection_rejects(tmp_path):
    text = "ACC_NO,COLL_DT,RESULT,REJECT_REASON\n1,2025-11-01 10:00,,UNLABELLED\n2,2025-11-01 10:00,NG 5D,\n"
    with read_text(tmp_path, text) as read:
        assert (read.set_of("1")["status"], read.set_of("1")["reject_reason"]) == ("rejected", "UNLABELLED")
        assert (read.sets, read.losses) == (1, {"rejected": 1})


def test_a_stain_gives_way_to_what_grew_in_the_bottle(tmp_path):
    text = BOTTLES + bottle(1, "AER", "F", "GPC CLUSTERS") + bottle(1, "AER", "F", "CNS")
    with read_text(tmp_path, text) as read:
        assert organisms(read) == [("1", "staphylococcus-coagulase-negative")]


def test_two_organisms_of_one_bottle_are_two_isolates(tmp_path):
    text = BOTTLES + bottle(1, "AER", "F", "CNS") + bottle(1, "AER", "F", "E.coli")
    with read_text(tmp_path, text) as read:
        assert [key for _accession, key in organisms(read)] == ["escherichia-coli", "staphylococcus-coagulase-negative"]
        assert read.losses == {"further_isolate": 1}


def test_antibiotic_rows_do_not_multiply_isolates(tmp_path):
    rows = [f"1,7,2025-11-01 10:00,1,E.coli,{drug},S\n" for drug in ("AMP", "GEN", "CIP")]
    rows += [f"1,7,2025-11-01 10:00,2,CNS,{drug},R\n" for drug in ("OXA", "VAN")]
    with read_text(tmp_path, ANTIBIOTICS + "".join(rows)) as read:
        assert len(organisms(read)) == 2
        assert read.losses == {"further_antibiotic": 3, "further_isolate": 1}


def test_a_correction_of_one_isolate_leaves_the_other(tmp_path):
    text = (
        "ACC_NO,COLL_DT,STATUS,ISOLATE_NUM,ORGANISM\n"
        "1,2025-11-01 10:00,F,1,CNS\n1,2025-11-01 10:00,F,2,E.coli\n1,2025-11-01 10:00,C,1,Staphylococcus aureus\n"
    )
    with read_text(tmp_path, text) as read:
        assert [key for _accession, key in organisms(read)] == ["escherichia-coli", "staphylococcus-aureus"]


def test_the_same_row_again_is_counted_as_such(tmp_path):
    text = BOTTLES + bottle(1, "AER", "F", "NG 5D") * 2
    with read_text(tmp_path, text) as read:
        assert read.losses == {"repeated_row": 1}


def test_one_number_for_two_patients_is_two_sets(tmp_path):
    later = bottle(1, "AER", "F", "CNS", patient=8, hour=12, received=13)
    with read_text(tmp_path, BOTTLES + later + bottle(1, "AER", "F", "NG 5D", patient=7)) as read:
        assert read.column("accession") == ["1", "1 (2)"]
        assert str(read.set_of("1")["collected_local"]) == "2025-11-01 10:00:00", "the earlier draw keeps the number"
        assert read.sets == 2
        assert read.rows_with_doubt("accession_of_two_patients") == [2, 3]


def test_rows_that_disagree_about_the_draw_are_said(tmp_path):
    text = BOTTLES + bottle(1, "AER", "F", "CNS", unit="ED") + bottle(1, "ANA", "F", "NG 5D", unit="ICU", hour="09")
    with read_text(tmp_path, text) as read:
        assert str(read.set_of("1")["collected_local"]) == "2025-11-01 09:00:00"
        assert read.doubts == {"times_differ": 1, "units_differ": 1}


def test_a_correction_of_the_draw_wins(tmp_path):
    text = (
        BOTTLES
        + bottle(1, "AER", "C", "CNS", unit="ED", hour="08")
        + bottle(1, "ANA", "F", "NG 5D", unit="ICU", hour="09")
    )
    with read_text(tmp_path, text) as read:
        one = read.set_of("1")
    assert (one["unit_key"], str(one["collected_local"])) == ("ed", "2025-11-01 08:00:00")


def test_a_result_column_per_bottle_is_read(tmp_path):
    text = (
        "Accession,Collected,Aerobic bottle,Anaerobic bottle\n1,2025-11-01 10:00,CNS,NG 5D\n2,2025-11-01 10:00,NG 5D,\n"
    )
    with read_text(tmp_path, text) as read:
        found = read.session.rows(
            "select accession, kind, grew from new_bottles join new_sets using (row_set) order by 1, 2"
        )
        assert found == [("1", "aerobic", True), ("1", "anaerobic", False), ("2", "aerobic", False)]
        assert (read.sets, read.losses) == (2, {})


def test_numbered_organism_columns_are_all_read(tmp_path):
    text = "Accession,Collected,ORG1,ORG2,ORG3\n1,2025-11-01 10:00,CNS,E.coli,\n2,2025-11-01 10:00,,,\n"
    with read_text(tmp_path, text) as read:
        assert [key for _accession, key in organisms(read)] == ["escherichia-coli", "staphylococcus-coagulase-negative"]
        assert read.sets == 2


def test_organism_and_result_columns_work_together(tmp_path):
    text = (
        "Accession,Collected,Result,Organism\n"
        "1,2025-11-01 10:00,POSITIVE,CNS\n2,2025-11-01 10:00,NO GROWTH,\n3,2025-11-01 10:00,CANCELLED,\n"
    )
    with read_text(tmp_path, text) as read:
        assert organisms(read) == [("1", "staphylococcus-coagulase-negative")]
        assert read.set_of("3")["status"] == "cancelled"


def test_rows_that_are_no_specimens_are_named(tmp_path):
    text = BOTTLES + bottle(1, "AER", "F", "NG 5D") + ",,,,,,,\n" + BOTTLES + bottle("", "AER", "F", "NG 5D")
    text += "Total 2,,,,,,,\n" + bottle(2, "AER", "F", "NG 5D, see note")
    with read_text(tmp_path, text) as read:
        assert [fate for _row, fate in read.fates()] == [
            "set", "blank_row", "header_again", "no_accession", "note_row", "too_many_cells",
        ]  # fmt: skip


def test_a_title_above_the_header_is_no_row(tmp_path):
    text = "Blood cultures of November;;\n\nAccession;Collected;Organism\n1;2025-11-01 10:00;CNS\n"
    with read_text(tmp_path, text) as read:
        assert read.fates() == [(4, "set")]


def test_status_words_not_known_are_final_and_said(tmp_path):
    with read_text(
        tmp_path, SETS + "1,7,2025-11-01 10:00,Z9,CNS\n2,8,2025-11-01 10:00,F,\n3,9,2025-11-01 10:00,F,\n"
    ) as read:
        assert read.set_of("1")["status"] == "final"
        assert read.rows_with_doubt("status_unread") == [2]
