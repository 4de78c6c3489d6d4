"""The month's answer from files taken into a workspace: places, restatements, renames, and counts alone."""

from __future__ import annotations

from datetime import date

import pytest
from openpyxl import Workbook

from cubital.domain.answer import Verdict
from cubital.domain.errors import FileProblem, RequestProblem
from cubital.workspace.months import month_answer, signal_answer
from cubital.workspace.opening import open_workspace
from cubital.workspace.policy_rules import policy_limits, policy_signal
from cubital.workspace.taking import take_file
from cubital.workspace.units import rename_unit

HEADER = "ACC_NO,MRN,DOB,LOC,COLL_DT,RECV_DT,BOTTLE,COLLECTOR,STATUS,RESULT"


def rows_of(accession, patient, unit, day, result, *, minute=0):
    """One set as two bottles; the result stands in the aerobic one."""
    times = f"{day} 10:{minute:02d},{day} 11:00"
    bottles = (("AER", result), ("ANA", "No growth at 5 days"))
    return [f"{accession},{patient},1957-04-09,{unit},{times},{kind},R.OKO,F,{text}" for kind, text in bottles]


def write_file(folder, name, *sets):
    path = folder / name
    path.write_text("\n".join([HEADER, *(row for one in sets for row in one)]) + "\n")
    return path


NOVEMBER = (
    rows_of(5001, 70001, "ED", "2025-11-03", "STAPH EPIDERMITIS"),
    rows_of(5002, 70001, "ED", "2025-11-03", "No growth at 5 days", minute=20),
    rows_of(5003, 70002, "5 WEST", "2025-11-04", "No growth at 5 days"),
    rows_of(5004, 70002, "5 WEST", "2025-11-04", "No growth at 5 days", minute=20),
)
OCTOBER = (
    rows_of(4001, 70009, "5 WEST", "2025-10-04", "No growth at 5 days"),
    rows_of(4002, 70009, "5 WEST", "2025-10-04", "No growth at 5 days", minute=20),
)


def take(workspace, path, facility="Marrowby General"):
    return take_file(workspace, file=path, facility=facility, timezone="America/Chicago", accept=True)


def two_months(folder):
    with open_workspace(folder / "workspace") as opened:
        take(opened, write_file(folder, "november.csv", *OCTOBER, *NOVEMBER))


@pytest.fixture
def workspace(built_once, tmp_path):
    with open_workspace(built_once(two_months, tmp_path) / "workspace") as opened:
        yield opened


@pytest.fixture
def two_hospitals(workspace, tmp_path):
    sets = (rows_of(5001, 70001, "ED", "2025-11-05", "No growth at 5 days"),)
    take(workspace, write_file(tmp_path, "thistlecombe.csv", *sets), facility="Thistlecombe Community")
    return workspace


def test_a_month_is_answered_for_the_only_hospital_as_that_hospital(workspace):
    answer = month_answer(workspace, month="2025-11")
    assert answer.verdict is Verdict.TOO_FEW
    assert answer.question.startswith("How was November 2025 at Marrowby General:")
    rate = answer.figure("contamination")
    assert (rate.numerator, rate.denominator) == (1, 4)
    assert answer.table is not None
    assert [row[:3] for row in answer.table.rows] == [("2025-10", 2, 0), ("2025-11", 4, 1)]


def test_the_receipt_names_batch_charter_policy_and_code(workspace):
    receipt = month_answer(workspace, month="2025-11").receipt
    assert receipt is not None
    assert receipt.data.startswith("batch 1 (")
    assert receipt.charter.startswith("charter 1 '")
    assert receipt.policy.startswith("policy 1 '")
    assert receipt.code


def test_the_network_the_hospital_and_the_unit_are_counted_apart(two_hospitals):
    def denominator(**place):
        return month_answer(two_hospitals, month="2025-11", **place).figure("contamination").denominator

    assert denominator() == 5
    assert denominator(facility="marrowby  general") == 4
    assert denominator(facility="Marrowby General", unit="ED") == 2
    assert denominator(unit="5 west") == 2


def test_an_unknown_month_names_the_months_there_are(workspace, two_hospitals):
    with pytest.raises(
        RequestProblem, match=r"no sets in January 2024\. Months with sets run from October 2025 to Nov"
    ):
        month_answer(two_hospitals, month="2024-01")
    with pytest.raises(
        RequestProblem, match=r"ED has no sets in October 2025\. The only month with sets is November 2025"
    ):
        month_answer(workspace, month="2025-10", facility="Marrowby General", unit="ED")
    with pytest.raises(RequestProblem, match="'undated'"):
        month_answer(workspace, month="undated")


def test_an_unknown_unit_names_the_units_there_are(two_hospitals):
    with pytest.raises(
        RequestProblem, match=r"no unit 'ICU' in this workspace\. Known are: 5 West \(Marrowby General\)"
    ):
        month_answer(two_hospitals, month="2025-11", unit="ICU")


def test_a_unit_of_two_hospitals_asks_which_one(two_hospitals):
    with pytest.raises(RequestProblem, match="more than one facility: Marrowby General, Thistlecombe Community"):
        month_answer(two_hospitals, month="2025-11", unit="ED")


def test_before_any_file_the_answer_says_what_to_do_first(tmp_path):
    with open_workspace(tmp_path / "empty") as opened, pytest.raises(RequestProblem, match="no file has been taken in"):
        month_answer(opened, month="2025-11")


def test_a_corrected_result_restates_the_month_and_keeps_the_old_figure(workspace, tmp_path):
    before = month_answer(workspace, month="2025-11")
    assert not any(words.startswith("Restated") for words in before.cautions)
    corrected = rows_of(5003, 70002, "5 WEST", "2025-11-04", "Micrococcus luteus")
    report = take(workspace, write_file(tmp_path, "corrected.csv", corrected))
    assert report.changed == 1
    after = month_answer(workspace, month="2025-11")
    assert after.figure("contamination").numerator == 2
    (caution,) = [words for words in after.cautions if words.startswith("Restated")]
    assert caution.startswith("Restated: was 1 of 4 until ")
    assert caution.endswith("(batch 2).")


def test_a_later_file_for_another_month_restates_nothing(workspace, tmp_path):
    december = rows_of(6001, 70030, "ED", "2025-12-03", "No growth at 5 days")
    take(workspace, write_file(tmp_path, "december.csv", december))
    answer = month_answer(workspace, month="2025-11")
    assert not any(words.startswith("Restated") for words in answer.cautions)


def test_a_month_of_files_in_which_a_unit_drew_nothing_stands_with_zero(workspace, tmp_path):
    later = [rows_of(6001, 70030, "5 WEST", "2025-12-03", "No growth at 5 days")]
    later += [rows_of(7001, 70031, "ED", "2026-01-03", "No growth at 5 days")]
    take(workspace, write_file(tmp_path, "later.csv", *later))
    table = month_answer(workspace, month="2026-01", facility="Marrowby General", unit="ED").table
    assert table is not None
    assert [row[:3] for row in table.rows] == [("2025-11", 2, 1), ("2025-12", 0, 0), ("2026-01", 1, 0)]


def test_a_renamed_unit_is_one_unit_with_a_mark(workspace, tmp_path):
    renamed = rows_of(5010, 70010, "5W-MED ONC", "2025-11-20", "No growth at 5 days")
    take(workspace, write_file(tmp_path, "renamed.csv", renamed))
    rename_unit(workspace, facility="Marrowby General", old="5 WEST", new="5W-MED ONC", on=date(2025, 11, 15))
    for name in ("5 WEST", "5W-MED ONC"):
        answer = month_answer(workspace, month="2025-11", facility="Marrowby General", unit=name)
        assert answer.figure("contamination").denominator == 3
        assert "5 West became 5W-MED ONC on 15 November 2025." in answer.cautions


def test_the_policy_of_the_workspace_sets_the_rules(workspace):
    from cubital.workspace.policies import current_policy

    policy = current_policy(workspace)
    assert policy_signal(policy).target == 0.03
    assert policy_signal(policy).min_points == 20
    assert policy_limits(policy).late_minutes == 120


COUNTS = "month,sets,contaminated\n2026-02,476,6\n2026-03,498,19\n"


def test_counts_are_read_from_text_files_workbooks_and_paste(tmp_path):
    (tmp_path / "counts.csv").write_bytes(COUNTS.encode("utf-16"))
    book = Workbook()
    for line in COUNTS.split():
        book.active.append([int(cell) if cell.isdigit() else cell for cell in line.split(",")])
    book.save(tmp_path / "counts.xlsx")
    for source in (tmp_path / "counts.csv", tmp_path / "counts.xlsx", COUNTS):
        answer = signal_answer(source)
        assert answer.figure("month_rate").numerator == 19
        assert answer.figure("baseline_rate").denominator == 476


def test_a_file_that_is_no_table_of_counts_is_refused_by_name(tmp_path):
    with pytest.raises(FileProblem, match=r"missing\.csv: there is no such file"):
        signal_answer(tmp_path / "missing.csv")
    (tmp_path / "large.csv").write_text("x\n" * 1_100_000)
    with pytest.raises(FileProblem, match=r"large.csv: this is too large"):
        signal_answer(tmp_path / "large.csv")
    book = Workbook()
    book.active.append(["month"])
    book.create_sheet("more").append(["month"])
    book.save(tmp_path / "two.xlsx")
    with pytest.raises(FileProblem, match="more than one sheet is filled: Sheet, more"):
        signal_answer(tmp_path / "two.xlsx")
    with pytest.raises(FileProblem, match="no month in it"):
        signal_answer([])


def test_a_month_in_the_past_is_answered_as_it_stood_without_later_months(workspace):
    answer = month_answer(workspace, month="2025-10")
    assert answer.table is not None
    assert [row[0] for row in answer.table.rows] == ["2025-10"]


def test_a_charter_that_replaced_another_is_told_with_its_day(workspace):
    from dataclasses import replace

    from cubital.domain.charter import SolitaryCommensal
    from cubital.workspace.charters import current_charter, save_charter, sign_charter

    sign_charter(workspace, version=1, name="A. Practice", role="practice educator", on=date(2025, 9, 1))
    assert all(one.passed is not False for one in month_answer(workspace, month="2025-11").checks)
    changed = replace(current_charter(workspace).charter, solitary_commensal=SolitaryCommensal.COUNT)
    save_charter(workspace, charter=changed)
    sign_charter(workspace, version=2, name="A. Practice", role="practice educator", on=date(2025, 11, 20))
    (found,) = [one for one in month_answer(workspace, month="2025-11").checks if one.passed is False]
    assert found.words.startswith("The definition changed on 20 November 2025")


def test_a_restatement_from_nothing_has_no_old_figure(workspace, tmp_path):
    """In the old state the unit had no set at all this month: there is no figure to keep."""
    moved = [row.replace("5 WEST", "ICU") for row in rows_of(5003, 70002, "5 WEST", "2025-11-04", "Micrococcus luteus")]
    take(workspace, write_file(tmp_path, "moved.csv", moved))
    answer = month_answer(workspace, month="2025-11", facility="Marrowby General", unit="ICU")
    assert answer.figure("contamination").denominator == 1
    assert not any(words.startswith("Restated") for words in answer.cautions)


def test_a_unit_of_which_only_a_rename_speaks_has_no_month(workspace):
    rename_unit(workspace, facility="Marrowby General", old="ED", new="Emergency", on=date(2026, 1, 1))
    rename_unit(workspace, facility="Marrowby General", old="Emergency", new="Front Door", on=date(2026, 2, 1))
    assert month_answer(workspace, month="2025-11", unit="Emergency").figure("contamination").denominator == 2


def test_a_broken_workbook_of_counts_is_a_sentence(tmp_path):
    import zipfile

    with zipfile.ZipFile(tmp_path / "broken.xlsx", "w") as archive:
        archive.writestr("xl/workbook.xml", "<workbook>")
    with pytest.raises(FileProblem, match=r"broken\.xlsx: the workbook cannot be read"):
        signal_answer(tmp_path / "broken.xlsx")
    book = Workbook()
    book.active.append(["month", "sets", "contaminated"])
    for _row in range(5_001):
        book.active.append(["2026-03", 498, 19])
    book.save(tmp_path / "long.xlsx")
    with pytest.raises(FileProblem, match="too large for a table of counts"):
        signal_answer(tmp_path / "long.xlsx")
