"""HL7 v2 results through the whole intake: what becomes a set, what is a loss and why, what replaces what."""

from __future__ import annotations

from contextlib import AbstractContextManager
from datetime import datetime
from pathlib import Path

import pytest

from cubital.domain.errors import FileProblem, QuestionsOpen
from cubital.domain.places import SourceMemory
from cubital.engine import open_session
from cubital.intake.inspection import Grain, inspect_file
from cubital.intake.movements import read_movements
from intake_help import MARROWBY, SECRET, Options, Read, read_file

CULTURE = "600-7^Bacteria identified in Blood by Culture^LN"
AEROBIC, ANAEROBIC = "17928-3^Aerobe culture^LN", "17934-1^Anaerobe culture^LN"
SPECIMEN = "SPM|1|||BLDV^Venous blood^HL70487"


def header(control: str = "C1", kind: str = "ORU^R01^ORU_R01", version: str = "2.5.1") -> str:
    return f"MSH|^~\\&|LIS|M|Q|M|20251103||{kind}|{control}|P|{version}"


def obr(accession: str = "A1", test: str = CULTURE, status: str = "F", collected: str = "202511031030") -> str:
    fields = ["OBR", "1", "", accession, test, "", "", collected, "", "", "4711", *[""] * 14, status]
    return "|".join(fields)


def obx(value: str, test: str = CULTURE, *, kind: str = "ST", sub: str = "", status: str = "F") -> str:
    return f"OBX|1|{kind}|{test}|{sub}|{value}||||||{status}"


def patient(number: str = "77") -> str:
    return f"PID|1||{number}^^^M^MR||Doe^J||19490214|F"


def result(*segments: str, control: str = "C1", of: str = "77") -> str:
    return "\r".join([header(control), patient(of), "PV1|1|I|5 WEST^12^A", *segments, ""])


def read(folder: Path, *messages: str | bytes, answers: dict[str, str] | None = None) -> AbstractContextManager[Read]:
    path = folder / "feed.hl7"
    path.write_bytes(b"".join(m if isinstance(m, bytes) else m.encode() for m in messages))
    return read_file(path, Options(answers=answers or {}))


def grown(found: Read) -> list[tuple[str, str]]:
    return found.session.rows(
        "select accession, organism_key from new_isolates join new_sets using (row_set) where not negated order by 1, 2"
    )


def test_a_culture_of_two_bottles_is_one_set(tmp_path):
    organism = obx("60875001^Staphylococcus epidermidis^SCT", AEROBIC, kind="CWE")
    with read(tmp_path, result(obr(), organism, obx("NO GROWTH 5 DAYS", ANAEROBIC), SPECIMEN)) as found:
        assert found.sets == 1
        assert found.losses == {"further_bottle": 1}
        assert found.session.rows("select kind, grew from new_bottles order by 1") == [
            ("aerobic", True),
            ("anaerobic", False),
        ]
        one = found.set_of("A1")
        assert (one["unit_key"], one["collector_key"], one["age_group"]) == ("5 west", "4711", "65_to_79")
        assert one["collected_at"] == datetime(2025, 11, 3, 16, 30)  # noqa: DTZ001 the tables hold UTC without a zone


def test_specimen_times_site_method_and_fill_come_from_the_specimen_segment(tmp_path):
    specimen = "SPM|1|||BLD^Blood^HL70487|||VENIP^^HL70488|LACF^^HL70163||||8.5^mL|||||202511030900|202511030945"
    with read(tmp_path, result(obr(collected="20251103"), obx("NO GROWTH", AEROBIC), specimen)) as found:
        one = found.set_of("A1")
        assert one["collected_local"] == datetime(2025, 11, 3, 9, 0)  # noqa: DTZ001
        assert one["received_at"] == datetime(2025, 11, 3, 15, 45)  # noqa: DTZ001
        assert (one["site"], one["method"]) == ("Left antecubital fossa", "venepuncture")
        assert found.session.one("select fill_ml from new_bottles") == (8.5,)


def test_old_senders_say_the_specimen_in_the_order(tmp_path):
    order = "OBR|1|P1|A1|BCX^CULTURE^L|||202511031030|||^Okoro^J||||202511031100|BLDV&Venous^^^LH||||||||||F"
    with read(tmp_path, "\r".join([header(version="2.3"), patient(), order, obx("NO GROWTH", "BCX^CULTURE^L")])) as one:
        assert (one.sets, one.set_of("A1")["site"], one.set_of("A1")["collector_key"]) == (1, "Left hand", "j okoro")


@pytest.mark.parametrize(("written", "minute"), [("202511020130-0500", 30), ("202511020130-0600", 90)])
def test_an_offset_settles_the_hour_that_the_clock_repeats(tmp_path, written, minute):
    with read(tmp_path, result(obr(collected=written), obx("NO GROWTH"))) as found:
        one = found.set_of("A1")
        assert one["collected_at"] == datetime(2025, 11, 2, 6 + minute // 60, minute % 60)  # noqa: DTZ001
        assert (one["time_quality"], found.doubts) == ("exact", {})


def test_an_offset_of_another_place_becomes_the_wall_clock_here(tmp_path):
    with read(tmp_path, result(obr(collected="20251103183000+0100"), obx("NO GROWTH"))) as found:
        assert found.set_of("A1")["collected_local"] == datetime(2025, 11, 3, 11, 30)  # noqa: DTZ001


def test_without_an_offset_the_repeated_hour_stays_a_doubt(tmp_path):
    with read(tmp_path, result(obr(collected="202511020130"), obx("NO GROWTH"))) as found:
        assert found.doubts == {"ambiguous_hour": 1}


def test_a_time_that_is_no_time_is_named(tmp_path):
    with read(tmp_path, result(obr(collected="202511"), obx("NO GROWTH"))) as found:
        assert found.doubts == {"time_unreadable": 1}


def test_the_final_message_replaces_the_preliminary_one(tmp_path):
    early = result(obr(status="P"), obx("GPC IN CLUSTERS", status="P"), control="C1")
    late = result(obr(), obx("Staphylococcus aureus"), control="C2")
    with read(tmp_path, early, late) as found:
        assert found.fates() == [(1, "superseded"), (2, "set")]
        assert grown(found) == [("A1", "staphylococcus-aureus")]


def test_a_later_message_of_equal_standing_replaces_the_earlier_one(tmp_path):
    first = result(obr(status="C"), obx("Micrococcus luteus", sub="1", status="C"))
    second = result(obr(status="C"), obx("Staphylococcus aureus", sub="1", status="C"))
    with read(tmp_path, first, second) as found:
        assert grown(found) == [("A1", "staphylococcus-aureus")]


def test_organisms_of_one_message_stand_side_by_side(tmp_path):
    with read(tmp_path, result(obr(), obx("E. coli"), obx("Klebsiella pneumoniae"))) as found:
        assert [key for _accession, key in grown(found)] == ["escherichia-coli", "klebsiella-pneumoniae"]


@pytest.mark.parametrize("subs", [("1", "2"), ("", "")])
def test_a_correction_keeps_what_it_does_not_change(tmp_path, subs):
    one, two = subs
    final = result(obr(), obx("E. coli", sub=one), obx("Micrococcus luteus", sub=two))
    again = result(obr(status="C"), obx("E. coli", sub=one), obx("Staphylococcus aureus", sub=two, status="C"))
    with read(tmp_path, final, again) as found:
        assert [key for _accession, key in grown(found)] == ["escherichia-coli", "staphylococcus-aureus"]


@pytest.mark.parametrize("letter", ["D", "W"])
def test_a_deleted_result_is_undone(tmp_path, letter):
    final = result(obr(), obx("E. coli", sub="1"), obx("Micrococcus luteus", sub="2"))
    gone = result(obr(status="C"), obx("Micrococcus luteus", sub="2", status=letter))
    with read(tmp_path, final, gone) as found:
        assert grown(found) == [("A1", "escherichia-coli")]
        assert found.sets == 1


def test_a_set_of_the_wrong_patient_is_cancelled_and_counted_for_the_right_one(tmp_path):
    wrong = result(obr(), obx("E. coli"), of="77")
    undone = result(obr(status="C"), obx("E. coli", status="W"), of="77")
    right = result(obr(), obx("E. coli"), of="78")
    with read(tmp_path, wrong, undone, right) as found:
        assert found.sets == 1
        assert sorted(found.column("status")) == ["cancelled", "final"]


def test_a_result_sent_again_after_its_withdrawal_counts(tmp_path):
    final = result(obr(), obx("E. coli"))
    undone = result(obr(), obx("E. coli", status="D"))
    with read(tmp_path, final, undone, final) as found:
        assert (found.sets, grown(found)) == (1, [("A1", "escherichia-coli")])


@pytest.mark.parametrize(
    ("value", "status"), [("Cancelled: duplicate", "cancelled"), ("REJECTED unlabelled", "rejected")]
)
def test_cancelled_and_rejected_orders_are_kept_and_not_counted(tmp_path, value, status):
    with read(tmp_path, result(obr(status="X"), obx(value, status="X"))) as found:
        assert (found.sets, found.losses, found.column("status")) == (0, {status: 1}, [status])


def test_a_reason_of_rejection_is_kept_in_words(tmp_path):
    refused = "SPM|1|||BLD|||||||||||||||||RM^^HL70490"
    with read(tmp_path, result(obr(status="X"), refused)) as found:
        assert found.column("reject_reason") == ["Labelling"]
        assert found.losses == {"rejected": 1}


def test_susceptibilities_are_accounted_for_and_not_counted(tmp_path):
    child = "|".join(
        ["OBR", "2", "", "A1-S", "29576-6^Susceptibility panel^LN", *[""] * 20, "F", "600-7", "", "", "^A1"]
    )
    drug = "OBX|1|ST|18993-6^Oxacillin [Susceptibility]^LN|1|R||||||F"
    with read(tmp_path, result(obr(), obx("E. coli"), drug, child, drug)) as found:
        assert (found.sets, found.losses) == (1, {"further_antibiotic": 2})


def test_a_culture_that_hangs_on_another_order_belongs_to_its_set(tmp_path):
    child = "|".join(
        ["OBR", "2", "", "A1-I", "11475-1^Microorganism identified^LN", *[""] * 20, "F", "", "", "", "^A1"]
    )
    with read(tmp_path, result(obr(), obx("GPC IN CLUSTERS"), child, obx("Staphylococcus aureus"), SPECIMEN)) as found:
        assert (found.sets, grown(found)) == (1, [("A1", "staphylococcus-aureus")])


def test_a_report_in_several_lines_is_one_result(tmp_path):
    lines = [obx(text, kind="TX") for text in ("POSITIVE", "Staphylococcus aureus", "called to ward")]
    with read(tmp_path, result(obr(), *lines)) as found:
        assert (found.intake.reconciliation.rows, grown(found)) == (1, [("A1", "staphylococcus-aureus")])


def test_an_organism_in_the_name_of_the_observation_counts_where_it_was_isolated(tmp_path):
    there = obx("Isolated", "X1^Staphylococcus aureus^L")
    with read(tmp_path, result(obr(), there, obx("Not isolated", "X2^Salmonella^L"))) as found:
        assert grown(found) == [("A1", "staphylococcus-aureus")]


def test_a_code_outweighs_words_that_say_something_else(tmp_path):
    with read(tmp_path, result(obr(), obx("112283007^GNR seen^SCT", kind="CE"))) as found:
        assert grown(found) == [("A1", "escherichia-coli")]


@pytest.mark.parametrize(
    ("message", "reason"),
    [
        ("\r".join([header(kind="ADT^A01"), patient()]), "not_a_result_message"),
        ("\r".join([header(), patient()]), "no_result_in_message"),
        (result(obr(test="2823-3^Potassium^LN"), obx("4.1", "2823-3^Potassium^LN")), "other_test"),
        (result(obr(test="BX1^^L"), obx("4.1", "BX1^^L"), "SPM|1|||UR^Urine"), "other_specimen"),
        (result(obr(test="630-4^Urine culture^LN"), obx("No growth", "630-4^Urine culture^LN")), "other_test"),
        (result(obr(test="6463-4^Culture^LN"), obx("No growth", "6463-4^Culture^LN")), "no_specimen_named"),
        (result(obr(), obx("No growth"), "SPM|1|||CTP^Catheter tip^HL70487"), "other_specimen"),
        (result(obr(test="664-3^Gram stain^LN"), obx("GPC", "664-3^Gram^LN")), "stain_row"),
        (result(obr(status="O")), "not_collected_yet"),
        (result("|".join(["OBR", "1", "", "", CULTURE, *[""] * 20, "F"]), obx("No growth")), "no_accession"),
        (header() + "\r", "unreadable_message"),
        ("MSH|^~\\&|cut", "unreadable_message"),
    ],
)
def test_every_other_message_is_a_loss_with_its_reason(tmp_path, message, reason):
    good = result(obr("GOOD"), obx("No growth"))
    with read(tmp_path, good, message + "\r", good.replace("GOOD", "FINE")) as found:
        assert found.fates() == [(1, "set"), (2, reason), (3, "set")]


def test_losses_say_which_message_and_which_test(tmp_path):
    with read(tmp_path, result(obr(test="2823-3^Potassium^LN"), obx("4.1", "2823-3"), control="MSG-9")) as found:
        assert found.session.rows("select detail from row_fates") == [("MSG-9 · 2823-3 Potassium",)]


def test_an_unknown_code_is_asked_where_nothing_else_is_a_culture(tmp_path):
    message = result(obr(test="MB7"), obx("No growth", "MB7"))
    with pytest.raises(QuestionsOpen) as asked, read(tmp_path, message):
        pass
    assert [question.key for question in asked.value.questions] == ["test_code.MB7"]
    with read(tmp_path, message, answers={"test_code.MB7": "blood-culture"}) as found:
        assert found.sets == 1
    with read(tmp_path, message, answers={"test_code.MB7": "other"}) as found:
        assert found.losses == {"other_test": 1}


def test_an_unknown_code_beside_cultures_is_named_and_not_guessed(tmp_path):
    with read(tmp_path, result(obr(), obx("No growth")), result(obr("A2", "MB7"), obx("No growth", "MB7"))) as found:
        assert found.losses == {"unknown_test_code": 1}
        assert any("MB7 (1)" in note for note in found.intake.notes)


def test_own_codes_of_bottles_specimens_and_organisms_follow_the_site_map(tmp_path):
    answers = {
        "bottle_code.Q1": "anaerobic",
        "specimen_code.77": "blood",
        "organism_code.SEPI": "staphylococcus-epidermidis",
    }
    message = result(obr(test="6463-4^Culture^LN"), obx("SEPI^^L", "Q1^^L", kind="CE"), "SPM|1|||77^^L")
    with read(tmp_path, message, answers=answers) as found:
        assert grown(found) == [("A1", "staphylococcus-epidermidis")]
        assert found.column("kind", "new_bottles", "kind") == ["anaerobic"]


def test_numbers_of_messages_stand_where_rows_do(tmp_path):
    feed = [result(obr(f"A{n}"), obx("No growth", AEROBIC), obx("No growth", ANAEROBIC)) for n in (1, 2)]
    with read(tmp_path, *feed) as found:
        assert sorted(found.fates()) == [(1, "further_bottle"), (1, "set"), (2, "further_bottle"), (2, "set")]


def test_a_batch_that_lost_a_message_says_so(tmp_path):
    body = result(obr(), obx("No growth"))
    with read(tmp_path, f"FHS|^~\\&\rBHS|^~\\&\r{body}BTS|2\rFTS|1\r") as found:
        assert [note for note in found.intake.notes if "Batch 1" in note and "2" in note]


def test_a_huge_field_null_bytes_and_marks_of_direction_stop_nothing(tmp_path):
    huge = result(obr("BIG"), obx("E. coli " + "x" * 10_000_000))
    odd = result(obr("A\u200f2"), obx("No \x00growth"), of="\u202e78")
    with read(tmp_path, huge, odd, result(obr("A3"), obx("No growth"))) as found:
        assert found.sets == 3
        assert found.column("accession") == ["A2", "A3", "BIG"]


def test_a_file_in_two_byte_letters_is_read(tmp_path):
    path = tmp_path / "wide.hl7"
    path.write_bytes(result(obr(), obx("No growth")).encode("utf-16"))
    with read_file(path) as found:
        assert found.sets == 1


def test_the_page_is_told_that_these_are_messages(tmp_path):
    path = tmp_path / "feed.hl7"
    path.write_text(result(obr(), obx("No growth")), newline="")
    seen = inspect_file(path, memory=SourceMemory())
    assert (seen.kind, seen.grain, seen.rows) == ("messages", Grain.MESSAGE, 1)
    assert "77" not in seen.sample[0]


def test_messages_are_no_ward_movements(tmp_path):
    path = tmp_path / "feed.hl7"
    path.write_text(result(obr(), obx("No growth")), newline="")
    with open_session(ordered=True) as session, pytest.raises(FileProblem, match="not a table of ward movements"):
        read_movements(session, path, facility=MARROWBY, secret=SECRET, memory=SourceMemory(), accept=True)
