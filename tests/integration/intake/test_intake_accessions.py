"""What an accession number names, and rows of one bottle that contradict each other."""

from __future__ import annotations

import pytest

from cubital.domain.errors import QuestionsOpen
from intake_help import Options, read_text

HEADER = "ACC_NO,MRN,COLL_DT,BOTTLE,STATUS,RESULT\n"


def bottles(number, *, hour=9, endings=("-A", "-B"), result="CNS"):
    kinds = zip(endings, ("AER", "ANA"), strict=True)
    return "".join(f"{number}{end},7{number},2025-11-01 {hour:02d}:00,{kind},F,{result}\n" for end, kind in kinds)


@pytest.mark.parametrize("endings", [("-A", "-B"), ("1", "2"), (".1", ".2")])
def test_numbers_of_single_bottles_are_joined_to_sets(tmp_path, endings):
    text = HEADER + "".join(bottles(f"25{n}", hour=n, endings=endings) for n in range(10, 16))
    with read_text(tmp_path, text) as read:
        assert read.column("accession") == [f"25{n}" for n in range(10, 16)]
        assert read.losses == {"further_bottle": 6}
        assert any("single bottles" in note for note in read.intake.notes)


def test_joining_bottles_is_asked_unless_accepted(tmp_path):
    text = HEADER + "".join(bottles(f"25{n}", hour=n) for n in range(10, 16))
    with pytest.raises(QuestionsOpen) as caught, read_text(tmp_path, text, Options(accept=False)):
        pass
    assert [(q.key, q.choices) for q in caught.value.questions] == [("accession_names", ("set", "bottle"))]
    with read_text(tmp_path, text, Options(accept=False, answers={"accession_names": "set"})) as read:
        assert read.sets == 12


def test_running_numbers_of_sets_are_not_taken_for_bottles(tmp_path):
    rows = "".join(
        f"{5000 + n},{70000 + n},2025-11-01 10:{n:02d},{'AER' if n % 2 else 'ANA'},F,CNS\n" for n in range(30)
    )
    with read_text(tmp_path, HEADER + rows) as read:
        assert read.sets == 30


def test_an_order_of_two_draws_is_two_sets(tmp_path):
    rows = ""
    for n in range(10, 14):
        rows += bottles(f"25{n}", hour=9, endings=("", "")) + bottles(f"25{n}", hour=10, endings=("", ""))
    with read_text(tmp_path, HEADER + rows) as read:
        assert read.sets == 8
        assert read.column("accession")[:2] == ["2510", "2510 (2)"]
        assert read.doubts == {}


def test_the_later_row_of_a_bottle_holds_and_it_is_said(tmp_path):
    text = HEADER + "1,7,2025-11-01 10:00,AER,F,CNS\n1,7,2025-11-01 10:00,AER,F,NG 5D\n"
    with read_text(tmp_path, text) as read:
        assert read.session.one("select grew from new_bottles") == (False,)
        assert read.session.one("select count(*) from new_isolates") == (0,)
        assert (read.losses, read.doubts) == ({"superseded": 1}, {"results_differ": 1})


def test_without_bottles_growth_in_any_row_counts(tmp_path):
    text = "ACC_NO,COLL_DT,RESULT\n1,2025-11-01 10:00,CNS\n1,2025-11-01 10:00,NG 5D\n"
    with read_text(tmp_path, text) as read:
        assert read.session.one("select count(*) from new_isolates") == (1,)
