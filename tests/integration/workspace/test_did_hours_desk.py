"""Phlebotomists who come by day, in a workspace with a list of people: the hour-matched table beside the answer."""

from __future__ import annotations

import csv
from datetime import date, timedelta

import pytest
from people_files import HOSPITAL, ZONE

from cubital.domain.answer import build_answer_dict
from cubital.domain.diary import ChangeKind
from cubital.workspace.asking import ask_again
from cubital.workspace.diary import note_entry
from cubital.workspace.did_answers import DidAsk, did_answer, hours_around
from cubital.workspace.opening import open_workspace
from cubital.workspace.receipts import keep_receipt
from cubital.workspace.staff import import_roster
from cubital.workspace.taking import take_file

FIRST, ON = date(2025, 1, 1), date(2025, 7, 1)
STAFF = "name,initials,badge,role,unit,from,to\nRosa Okoro,,7701,nurse,ED,,\nUlla Venn,,7731,phlebotomist,ED,,\n"


def write_draws(path):
    """One nurse's set at 03:00 and one at 15:00 every day; since July a phlebotomist draws the one at 15:00."""
    with path.open("w", newline="", encoding="utf-8") as handle:
        out = csv.writer(handle)
        out.writerow(["ACC_NO", "MRN", "DOB", "LOC", "COLL_DT", "RECV_DT", "COLLECTOR", "STATUS", "RESULT"])
        for at in range(365):
            day = FIRST + timedelta(days=at)
            for hour in (3, 15):
                who = "7731" if hour == 15 and day >= ON else "7701"
                result = "STAPH EPIDERMIDIS" if at % 20 == 0 and who == "7701" else "NO GROWTH AT 5 DAYS"
                out.writerow([
                    f"{at}{hour:02d}0", 90000 + 2 * at + (hour == 15), "1957-04-09", "ED", f"{day} {hour:02d}:10",
                    f"{day} {hour:02d}:50", who, "F", result,
                ])  # fmt: skip
                out.writerow([
                    f"{at}{hour:02d}1", 90000 + 2 * at + (hour == 15), "1957-04-09", "ED", f"{day} {hour:02d}:12",
                    f"{day} {hour:02d}:50", who, "F", "NO GROWTH AT 5 DAYS",
                ])  # fmt: skip
    return path


@pytest.fixture(scope="module")
def desk(tmp_path_factory):
    folder = tmp_path_factory.mktemp("did hours")
    with open_workspace(folder / "desk") as workspace:
        take_file(workspace, file=write_draws(folder / "ed.csv"), facility=HOSPITAL, timezone=ZONE, accept=True)
        yield workspace, folder


def test_without_a_list_of_people_it_is_said_why_there_is_none(desk):
    workspace, _folder = desk
    found = did_answer(workspace, DidAsk(on=ON, facility=HOSPITAL, unit="ED", words="collector shift"))
    assert found.hours.table is None
    assert "nobody who drew here is in the list of people" in found.hours.words


def test_the_same_hours_stand_beside_the_answer_and_name_nobody(desk):
    workspace, folder = desk
    (folder / "staff.csv").write_text(STAFF, encoding="utf-8")
    import_roster(workspace, file=folder / "staff.csv", facility=HOSPITAL)
    found = did_answer(workspace, DidAsk(on=ON, facility=HOSPITAL, unit="ED", words="collector shift"))
    assert "Sets of phlebotomist were drawn 15:00–16:00 (100 % of them)" in found.hours.words
    # By hand: 181 days before and 184 since, two sets each at 15:00; nurses' first set of every 20th day grew.
    assert found.hours.table.rows == (("nurse", "before", 362, 10, 2.8), ("phlebotomist", "since", 368, 0, 0.0))
    assert "7731" not in str(found.hours)
    assert hours_around(workspace, facility=HOSPITAL, unit="ED", on=ON).table == found.hours.table


def test_a_change_in_a_place_without_peers_is_its_own_series_or_a_description(desk):
    workspace, _folder = desk
    found = did_answer(workspace, DidAsk(on=ON, facility=HOSPITAL, unit="ED")).answer
    assert found.verdict.value == "estimate"
    assert found.figure("naive_ratio").value < 1
    assert "Before and after cannot show a cause" in found.sentence


def test_an_entry_of_the_diary_is_taken_with_its_words(desk):
    workspace, _folder = desk
    entry = note_entry(
        workspace, kind=ChangeKind.STAFFING, on=ON, words="collector shift", facility=HOSPITAL, unit="ED"
    )
    said = did_answer(workspace, DidAsk(number=entry.number)).answer.sentence
    assert "“collector shift” on 1 July 2025" in said


def test_a_receipt_asks_the_same_again(desk):
    workspace, _folder = desk
    asked = {"on": "2025-07-01", "facility": HOSPITAL, "unit": "ED", "words": "collector shift"}
    answer = did_answer(
        workspace, DidAsk(on=ON, facility=HOSPITAL, unit="ED", words="collector shift")
    ).answer  # fmt: skip
    code = keep_receipt(workspace, question="did", asked=asked, answer=answer)
    assert code
    assert build_answer_dict(ask_again(workspace, question="did", asked=asked)) == build_answer_dict(answer)
