"""A change in the diary stands on every answer over months of its place, and on none of another place."""

from __future__ import annotations

from datetime import date

import pytest

from cubital.answers.month_text import next_month
from cubital.domain.diary import ChangeKind
from cubital.workspace.diary import note_entry
from cubital.workspace.guarded_months import month_answer_for_others
from cubital.workspace.months import month_answer
from cubital.workspace.opening import open_workspace
from cubital.workspace.places_answers import merged_answer
from cubital.workspace.signals import Question, ask_place
from cubital.workspace.taking import take_file

HEADER = "ACC_NO,MRN,DOB,LOC,COLL_DT,RECV_DT,BOTTLE,COLLECTOR,STATUS,RESULT"
MONTHS = ["2024-12"]
while len(MONTHS) < 14:
    MONTHS.append(next_month(MONTHS[-1]))
LAST = MONTHS[-1]
MARKED = [("A", "2025-06", "2 June 2025 (Marrowby, ED): Collection kit in use")]


def write_year(folder, name, first):
    """Fourteen months of sixty pairs each at two units, every twelfth pair contaminated."""
    rows, number = [], first
    for month in MONTHS:
        for place in range(60):
            number += 1
            result = "STAPH EPIDERMIDIS" if place % 12 == 0 else "NG 5D"
            unit, day = ("ED", "ICU")[place % 12 == 7], f"{month}-{1 + place % 27:02d}"
            rows.append(f"{number}0,{number},1957-04-09,{unit},{day} 10:00,{day} 11:00,AER,AB,F,{result}")
            rows.append(f"{number}1,{number},1957-04-09,{unit},{day} 10:20,{day} 11:00,AER,AB,F,NG 5D")
    path = folder / name
    path.write_text("\n".join([HEADER, *rows]) + "\n")
    return path


@pytest.fixture(scope="module")
def network(tmp_path_factory):
    folder = tmp_path_factory.mktemp("charts")
    workspace = open_workspace(folder / "workspace")
    for place, facility in enumerate(("Marrowby", "Thistlecombe")):
        file = write_year(folder, f"{facility}.csv", 10_000 * (1 + place))
        take_file(workspace, file=file, facility=facility, timezone="America/Chicago", accept=True)
    note_entry(
        workspace, kind=ChangeKind.KIT, on=date(2025, 6, 2), words="Collection kit in use", facility="Marrowby",
        unit="ED",
    )  # fmt: skip
    return workspace


def marks(answer):
    return [(mark.letter, mark.month, mark.words) for mark in answer.marks]


@pytest.mark.parametrize(
    "question", [Question.REAL, Question.CHART, Question.SINCE, Question.BETTER, Question.PHASES]
)  # fmt: skip
def test_every_question_over_months_carries_the_change_of_its_unit(network, question):
    assert marks(ask_place(network, question=question, facility="Marrowby", unit="ED")) == MARKED
    assert marks(ask_place(network, question=question, facility="Marrowby", unit="ICU")) == []
    assert marks(ask_place(network, question=question, facility="Thistlecombe", unit="ED")) == []


def test_a_unit_named_alone_or_by_its_hospital_is_the_same_place(network):
    assert marks(month_answer(network, month=LAST, facility="marrowby", unit="ed")) == MARKED
    assert marks(month_answer(network, month=LAST, facility="Marrowby")) == MARKED
    assert marks(month_answer(network, month=LAST)) == MARKED
    assert marks(month_answer(network, month=LAST, facility="Thistlecombe")) == []


def test_merged_histories_carry_it_too(network):
    answer = merged_answer(network, at="2025-09")
    assert marks(answer) == MARKED
    letters = [
        row["letter"] for layer in answer.picture["layer"] for row in layer.get("data", {}).get("values", [])
        if "letter" in row
    ]  # fmt: skip
    assert set(letters) == {"A"}


def test_the_page_for_others_carries_it_where_it_has_a_chart(network):
    answer = month_answer_for_others(network, month=LAST, facility="Marrowby", unit="ED")
    assert answer.picture
    assert marks(answer) == MARKED
