"""The diary of dated changes: kept by place, found under later names, corrected and withdrawn, never written over."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cubital.domain.diary import ChangeKind
from cubital.domain.errors import FileProblem, RequestProblem
from cubital.workspace import records
from cubital.workspace.batches import list_changes
from cubital.workspace.charters import sign_charter
from cubital.workspace.diary import (
    correct_entry,
    entry_history,
    find_entry,
    list_entries,
    note_entry,
    withdraw_entry,
)
from cubital.workspace.diary_import import import_diary, preview_diary
from cubital.workspace.opening import open_workspace
from cubital.workspace.pins import at_pin, pin_now
from cubital.workspace.taking import take_file
from cubital.workspace.units import name_unit, rename_unit

HEADER = "ACC_NO,MRN,DOB,LOC,COLL_DT,RECV_DT,BOTTLE,COLLECTOR,STATUS,RESULT"
MARROWBY, THISTLECOMBE = "Marrowby General", "Thistlecombe Community"
KIT = {"kind": ChangeKind.KIT, "on": date(2025, 6, 2), "words": "Collection kit in use"}
TABLE = (
    "day,until,kind,facility,unit,what\n"
    "2025-06-02,,kit,Marrowby General,ED,Collection kit in use\n"
    "2025-06-02,,staffing,Marrowby General,ED,Phlebotomists from 07:00 to 19:00\n"
    "2025-03-04,2025-03-06,training,,,Three training days\n"
)


def laboratory_file(folder, name, units):
    rows = [
        f"{place}{copy},{place},1957-04-09,{unit},2025-05-0{1 + copy} 10:00,2025-05-0{1 + copy} 11:00,AER,AB,F,NG 5D"
        for place, unit in enumerate(units, start=1)
        for copy in range(2)
    ]
    path = folder / name
    path.write_text("\n".join([HEADER, *rows]) + "\n")
    return path


@pytest.fixture(scope="module")
def network(tmp_path_factory):
    """Two hospitals; nothing in the diary."""
    folder = tmp_path_factory.mktemp("diary")
    workspace = open_workspace(folder / "workspace")
    for facility, units in ((MARROWBY, ("ED", "5 WEST", "ICU")), (THISTLECOMBE, ("A&E", "Medical"))):
        file = laboratory_file(folder, f"{facility.split()[0]}.csv", units)
        take_file(workspace, file=file, facility=facility, timezone="America/Chicago", accept=True)
    return workspace


@pytest.fixture
def workspace(network):
    """The network with an empty diary and no rename."""
    for table in (records.DiaryEntry, records.UnitRename, records.UnitName):
        table.objects.using(network.alias).all().delete()
    return network


def kept(workspace):
    return [entry for entry in list_entries(workspace) if entry.number]


def test_an_entry_reaches_its_unit_its_hospital_or_everyone(workspace):
    note_entry(workspace, **KIT, facility="marrowby general", unit="ed", noted_by="practice educator")
    note_entry(workspace, kind=ChangeKind.ANALYSER, on=date(2025, 7, 1), words="New analyser", facility=MARROWBY)
    note_entry(workspace, kind=ChangeKind.TRAINING, on=date(2025, 1, 7), words="Refresher for everyone")

    def numbers(**place):
        return [entry.number for entry in list_entries(workspace, **place) if entry.number]

    assert numbers() == [3, 1, 2]
    assert numbers(facility=MARROWBY, unit="ED") == [3, 1, 2]
    assert numbers(facility=MARROWBY, unit="ICU") == [3, 2]
    assert numbers(facility=MARROWBY) == [3, 2]
    assert numbers(facility=THISTLECOMBE) == [3]
    first = find_entry(workspace, 1)
    assert (first.facility, first.unit, first.place) == (MARROWBY, "ed", "Marrowby General, ED")
    assert first.noted_by == "practice educator"
    assert find_entry(workspace, 3).place == "everywhere"


def test_a_renamed_unit_keeps_its_diary_and_the_rename_is_an_entry(workspace):
    note_entry(workspace, kind=ChangeKind.KIT, on=date(2025, 9, 1), words="Kit", facility=MARROWBY, unit="5 WEST")
    rename_unit(workspace, facility=MARROWBY, old="5 WEST", new="5W-MED ONC", on=date(2025, 10, 15))
    for name in ("5 WEST", "5w-med onc"):
        found = list_entries(workspace, facility=MARROWBY, unit=name)
        assert [(entry.number, entry.kind, entry.unit) for entry in found] == [
            (1, ChangeKind.KIT, "5w-med onc"),
            (0, ChangeKind.RENAME, "5w-med onc"),
        ]
    assert found[1].words == "5 West became 5W-MED ONC"
    name_unit(workspace, facility=MARROWBY, unit="5 WEST", name="Five West")
    assert find_entry(workspace, 1).place == "Marrowby General, Five West"
    assert list_entries(workspace, facility=MARROWBY, unit="Five West") == list_entries(
        workspace, facility=MARROWBY, unit="5 WEST"
    )


def test_a_signed_charter_is_known_without_a_diary(workspace):
    sign_charter(workspace, version=1, name="A. Educator", role="practice educator", on=date(2026, 1, 12))
    entry = next(entry for entry in list_entries(workspace) if entry.kind is ChangeKind.LIST)
    assert (entry.number, entry.on, entry.facility) == (0, date(2026, 1, 12), None)


def test_a_correction_keeps_what_it_corrects_with_day_and_reason(workspace):
    note_entry(workspace, **KIT, facility=MARROWBY, unit="ED")
    new = correct_entry(
        workspace, number=1, why="it began a week later", facility=MARROWBY, unit="ED",
        **{**KIT, "on": date(2025, 6, 9)},
    )  # fmt: skip
    assert (new.number, new.on) == (2, date(2025, 6, 9))
    assert [entry.number for entry in kept(workspace)] == [2]
    for number in (1, 2):
        old, now = entry_history(workspace, number)
        assert (old.entry.number, old.entry.on, old.why, old.replaced_by) == (
            1, date(2025, 6, 2), "it began a week later", 2,
        )  # fmt: skip
        assert old.ended_at.date() == datetime.now(UTC).date()
        assert (now.entry.number, now.ended_at, now.replaced_by) == (2, None, None)
    last = list_changes(workspace)[0]
    assert last.action == "correct_diary"
    with pytest.raises(RequestProblem, match="entry 1 was corrected by entry 2"):
        withdraw_entry(workspace, number=1, why="twice")


def test_a_withdrawn_entry_counts_no_more_and_stays_readable(workspace):
    note_entry(workspace, **KIT, facility=MARROWBY)
    line = withdraw_entry(workspace, number=1, why="the kit was never delivered")
    assert kept(workspace) == []
    assert line.why == "the kit was never delivered"
    assert line.entry.words == "Collection kit in use"
    with pytest.raises(RequestProblem, match=r"entry 1 was withdrawn on .*: the kit was never delivered"):
        correct_entry(workspace, number=1, why="again", **KIT)
    assert note_entry(workspace, **KIT, facility=MARROWBY).number == 2


def test_the_diary_can_be_read_as_it_stood_before_a_correction(workspace):
    note_entry(workspace, **KIT, facility=MARROWBY)
    then = at_pin(workspace, pin_now(workspace))
    correct_entry(workspace, number=1, why="wrong place", **KIT, facility=THISTLECOMBE)
    assert [entry.facility for entry in kept(then)] == [MARROWBY]
    assert [entry.facility for entry in kept(workspace)] == [THISTLECOMBE]


def test_what_can_not_be_right_is_refused_in_words_and_nothing_is_kept(workspace):
    today = date.today()  # noqa: DTZ011
    cases = (
        ({"until": date(2025, 6, 1)}, "it ends on 2025-06-01, before it begins on 2025-06-02"),
        ({"words": "  "}, "does not say what changed"),
        ({"words": "x" * 201}, "more than 200 letters"),
        ({"on": date(1989, 12, 31)}, "before 1990-01-01"),
        ({"on": today + timedelta(days=367)}, "more than a year ahead"),
        ({"words": "Kit for Nurse Okonkwo"}, "names a person"),
        ({"words": "Trained by A. Ferro"}, "names a person"),
        ({"words": "patient 7000123 moved"}, "patient's number"),
        ({"kind": ChangeKind.RENAME}, "noted under Units"),
        ({"unit": "ED", "facility": None}, "a unit needs its facility"),
        ({"unit": "ED 2", "facility": MARROWBY}, "there is no unit 'ED 2' at Marrowby General"),
        ({"facility": "Marowby"}, "there is no facility 'Marowby'"),
    )
    for change, words in cases:
        with pytest.raises(RequestProblem, match=words):
            note_entry(workspace, **{**KIT, **change})
    assert kept(workspace) == []
    for words in (
        "Charge nurse manager starts",
        "Nurse Educator at Marrowby",
        "Lot 20931 in use",
        "Kit, 3 units, 2025",
    ):
        note_entry(workspace, **{**KIT, "words": words})


def test_everything_wrong_with_an_entry_is_said_at_once(workspace):
    with pytest.raises(RequestProblem) as problem:
        note_entry(workspace, **{**KIT, "words": "", "until": date(2024, 1, 1)}, facility="Nowhere")
    for words in ("does not say", "it ends on 2024-01-01", "no facility 'Nowhere'"):
        assert words in problem.value.sentence()


def test_the_same_change_twice_is_refused_also_under_another_name(workspace):
    note_entry(workspace, **{**KIT, "words": "Kit"}, facility=MARROWBY, unit="5 WEST")
    rename_unit(workspace, facility=MARROWBY, old="5 WEST", new="5W-MED ONC", on=date(2025, 10, 15))
    with pytest.raises(RequestProblem, match="in the diary already, as entry 1"):
        note_entry(workspace, **{**KIT, "words": " KIT "}, facility=MARROWBY, unit="5W-Med Onc")
    note_entry(workspace, **{**KIT, "words": "Kit"}, facility=MARROWBY, unit="ED")
    with pytest.raises(RequestProblem, match="as entry 2"):
        correct_entry(workspace, number=1, why="wrong unit", **{**KIT, "words": "Kit"}, facility=MARROWBY, unit="ED")
    with pytest.raises(RequestProblem, match="says exactly this already"):
        correct_entry(workspace, number=1, why="no change", **{**KIT, "words": "kit"}, facility=MARROWBY, unit="5 WEST")


def test_nothing_ends_without_a_reason_and_no_number_is_guessed(workspace):
    note_entry(workspace, **KIT)
    with pytest.raises(RequestProblem, match="without a reason"):
        withdraw_entry(workspace, number=1, why=" ")
    with pytest.raises(RequestProblem, match="there is no entry 9"):
        entry_history(workspace, 9)
    assert [entry.number for entry in kept(workspace)] == [1]


def test_a_table_is_taken_whole_and_the_second_time_adds_nothing(workspace, tmp_path):
    file = tmp_path / "diary.csv"
    file.write_text(TABLE + "2025-06-02,,kit,Marrowby General,ED,collection  kit in use\n")
    plan = preview_diary(workspace, file)
    assert ([draft.row for draft in plan.new], plan.known) == ([2, 3, 4], 1)
    assert kept(workspace) == []
    first = import_diary(workspace, file, noted_by="practice educator")
    assert (first.rows, len(first.added), first.known) == (4, 3, 1)
    again = import_diary(workspace, file)
    assert (again.rows, again.added, again.known) == (4, (), 4)
    assert [entry.words for entry in kept(workspace)] == [
        "Three training days", "Collection kit in use", "Phlebotomists from 07:00 to 19:00",
    ]  # fmt: skip
    assert find_entry(workspace, 3).until == date(2025, 3, 6)


def test_pasted_text_and_a_workbook_say_the_same_as_the_file(workspace, tmp_path):
    import openpyxl

    book = openpyxl.Workbook()
    for line in TABLE.splitlines():
        book.active.append([cell or None for cell in line.split(",")])
    book.active["A2"] = datetime(2025, 6, 2)  # noqa: DTZ001 a day as a spreadsheet holds it
    book.save(tmp_path / "diary.xlsx")
    from_book = preview_diary(workspace, tmp_path / "diary.xlsx")
    assert (
        from_book.new == preview_diary(workspace, TABLE.replace(",", "\t")).new == preview_diary(workspace, TABLE).new
    )


def test_one_wrong_row_keeps_every_row_out_and_every_problem_is_named(workspace):
    wrong = TABLE + (
        "02/06/2025,,kit,Marrowby General,ED,Ambiguous day\n"
        "2025-06-02,,magic,Marrowby General,ED,Unknown kind\n"
        "2025-06-02,2025-06-01,kit,Marrowby General,ED,Ends before it begins\n"
        "2025-06-02,,kit,Nowhere,,Unknown place\n"
        "2025-06-02,,kit,,ED,No facility\n"
        "2025-06-02,,kit,,,\n"
    )
    with pytest.raises(FileProblem) as problem:
        import_diary(workspace, wrong)
    said = problem.value.sentence()
    for words in (
        "row 5, column 'day': got '02/06/2025'", "row 6: 'magic' is no kind of change", "row 7: it ends on 2025-06-01",
        "row 8: there is no facility 'Nowhere'", "row 9: a unit needs its facility", "row 10, column 'what': is empty",
    ):  # fmt: skip
        assert words in said
    assert kept(workspace) == []


KINDS = [kind.value for kind in ChangeKind if kind is not ChangeKind.RENAME]
PLACES = ["Marrowby General,ED", "Marrowby General,", "Thistlecombe Community,A&E", ","]
ROWS = st.tuples(
    st.dates(date(2024, 1, 1), date(2024, 1, 4)), st.sampled_from(KINDS), st.sampled_from(PLACES), st.sampled_from("ab")
).map(lambda row: f"{row[0]},{row[1]},{row[2]},{row[3]}")


@settings(max_examples=12)  # every example writes to a real workspace
@given(st.lists(ROWS, min_size=1, max_size=6), st.lists(ROWS, min_size=1, max_size=6))
def test_taking_tables_twice_or_in_another_order_is_taking_them_once(network, first, second):
    records.DiaryEntry.objects.using(network.alias).all().delete()
    tables = ["day,kind,facility,unit,what\n" + "\n".join(rows) for rows in (first, second)]
    for table in (*tables, *tables):
        import_diary(network, table)
    there = {(e.on, e.kind.value, e.place, e.words) for e in kept(network)}
    assert len(kept(network)) == len(there) == len(set(first) | set(second))
    records.DiaryEntry.objects.using(network.alias).all().delete()
    import_diary(network, tables[1] + "\n" + "\n".join(first))
    assert {(e.on, e.kind.value, e.place, e.words) for e in kept(network)} == there
