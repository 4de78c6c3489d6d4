"""Messages of later nights about sets that are stored: what is withdrawn, what is corrected, and what stays.

Result status D, W and C: HL7 v2 table 0085. That a message speaks of the bottles it names and of no other is common
practice, no source: laboratories send the report of a bottle when that bottle is done.
"""

from __future__ import annotations

from pathlib import Path
from typing import NamedTuple

import pytest

from cubital.workspace.opening import open_workspace
from cubital.workspace.snapshots import open_snapshot
from cubital.workspace.taking import TakeReport, take_file

AEROBIC, ANAEROBIC = "17928-3^Aerobe culture^LN", "17934-1^Anaerobe culture^LN"
EPIDERMIDIS, COLI = "60875001^Staphylococcus epidermidis^SCT", "112283007^Escherichia coli^SCT"
GREW, NOTHING_GREW = True, False


class Stored(NamedTuple):
    """The one stored set after the last night, and the report of that night."""

    status: str
    bottles: list[tuple[int, bool | None]]
    organisms: list[tuple[int | None, str]]
    report: TakeReport


def obx(value: str, test: str, *, status: str = "F", kind: str = "CWE", sub: str = "") -> str:
    return f"OBX|1|{kind}|{test}|{sub}|{value}||||||{status}"


def night(*observations: str, order: str = "F") -> str:
    request = ["OBR", "1", "", "A1", "600-7^Blood culture^LN", "", "", "202511031030", *[""] * 17, order]
    header = "MSH|^~\\&|LIS|M|Q|M|20251103||ORU^R01^ORU_R01|C1|P|2.5.1"
    patient = "PID|1||77^^^M^MR||Doe^J||19490214|F"
    return "\r".join([header, patient, "PV1|1|I|5 WEST", "|".join(request), *observations, "SPM|1|||BLDV", ""])


def after(folder: Path, *nights: str) -> Stored:
    with open_workspace(folder / "w") as workspace:
        for number, messages in enumerate(nights):
            file = folder / f"night-{number}.hl7"
            file.write_text(messages, encoding="utf-8", newline="")
            report = take_file(workspace, file=file, facility="Marrowby", timezone="America/Chicago", accept=True)
        with open_snapshot(workspace) as session:
            ((status,),) = session.rows("select status from sets")
            bottles = session.rows("select bottle, grew from bottles order by bottle")
            grown = session.rows("select bottle, organism_key from isolates where not negated order by all")
    return Stored(status, bottles, grown, report)


BOTH = night(obx(EPIDERMIDIS, AEROBIC), obx(COLI, ANAEROBIC))
FIRST_ALONE = ([(1, GREW)], [(1, "staphylococcus-epidermidis")])


@pytest.mark.parametrize("letter", ["D", "W"])
def test_results_withdrawn_a_night_later_are_no_growth_any_more(tmp_path, letter):
    gone = (obx(EPIDERMIDIS, AEROBIC, status=letter), obx(COLI, ANAEROBIC, status=letter))
    stored = after(tmp_path, BOTH, night(*gone, order="C"))
    assert (stored.status, stored.organisms) == ("cancelled", [])
    assert [grew for _bottle, grew in stored.bottles] == [None, None]
    assert (stored.report.sets, stored.report.changed) == (0, 1)


@pytest.mark.parametrize("letter", ["D", "W"])
def test_one_withdrawn_bottle_takes_no_other_along(tmp_path, letter):
    stored = after(tmp_path, BOTH, night(obx(COLI, ANAEROBIC, status=letter), order="C"))
    assert (stored.status, stored.bottles, stored.organisms) == ("final", *FIRST_ALONE)


def test_a_withdrawn_bottle_beside_the_others_said_again(tmp_path):
    said = (obx(EPIDERMIDIS, AEROBIC), obx(COLI, ANAEROBIC, status="W"))
    stored = after(tmp_path, BOTH, night(*said, order="C"))
    assert (stored.status, stored.bottles, stored.organisms) == ("final", *FIRST_ALONE)


def test_bottles_reported_on_different_nights_come_together(tmp_path):
    nothing = obx("NO GROWTH 5 DAYS", ANAEROBIC, kind="ST")
    stored = after(tmp_path, night(obx(EPIDERMIDIS, AEROBIC)), night(nothing))
    assert stored.bottles == [(1, GREW), (2, NOTHING_GREW)]
    assert stored.organisms == [(1, "staphylococcus-epidermidis")]


def test_a_corrected_bottle_leaves_the_other_as_it_was(tmp_path):
    nothing = obx("NO GROWTH 5 DAYS", ANAEROBIC, kind="ST", status="C")
    stored = after(tmp_path, BOTH, night(nothing, order="C"))
    assert stored.bottles == [(1, GREW), (2, NOTHING_GREW)]
    assert stored.organisms == [(1, "staphylococcus-epidermidis")]


def test_an_order_called_off_takes_every_bottle_along(tmp_path):
    stored = after(tmp_path, BOTH, night(order="X"))
    assert (stored.status, stored.organisms) == ("cancelled", [])


def test_a_withdrawn_bottle_can_come_again(tmp_path):
    withdrawn = night(obx(COLI, ANAEROBIC, status="W"), order="C")
    stored = after(tmp_path, BOTH, withdrawn, night(obx(COLI, ANAEROBIC, status="C"), order="C"))
    assert stored.organisms == [(1, "staphylococcus-epidermidis"), (2, "escherichia-coli")]


def test_the_first_night_once_more_brings_nothing_back(tmp_path):
    """The very file of the first night, as a watched folder may see it twice."""
    stored = after(tmp_path, BOTH, night(obx(COLI, ANAEROBIC, status="W"), order="C"), BOTH)
    assert (stored.bottles, stored.organisms) == FIRST_ALONE
    assert stored.report.already_taken


def test_a_result_of_the_whole_set_replaces_what_every_bottle_said(tmp_path):
    """An observation without a bottle speaks of all of them."""
    whole = obx("NO GROWTH 5 DAYS", "600-7^Blood culture^LN", kind="ST", status="C")
    stored = after(tmp_path, BOTH, night(whole, order="C"))
    assert stored.organisms == []
