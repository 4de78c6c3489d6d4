"""Whose a set was on its day, private letters, disputes, corrections, and what is kept of people."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from people_files import CSV_STAFF, HOSPITAL, ZONE, Drawn, write_draws, write_staff

from cubital.domain.charter import SetClass
from cubital.domain.errors import FileProblem, RequestProblem
from cubital.workspace.batches import list_changes
from cubital.workspace.opening import open_workspace
from cubital.workspace.people import (
    Purpose,
    dispute_sets,
    list_openings,
    open_people,
    people_answer,
    take_back_disputes,
)
from cubital.workspace.people_gathering import Window, gather_people
from cubital.workspace.people_letters import (
    corrections_due,
    expire_individual,
    make_correction,
    make_letter,
    person_history,
)
from cubital.workspace.staff import import_roster, names_of
from cubital.workspace.staff_lists import read_staff_list
from cubital.workspace.taking import take_file

DRAWS = (
    Drawn("JM", "2025-05-10", 10, 1),  # two people may sign so: nobody's
    Drawn("JM", "2025-07-10", 40, 3),  # one has left: the other's, by initials
    Drawn("R.OKO", "2025-06-10", 35, 0),
    Drawn("7731", "2025-06-11", 60, 1),
    Drawn("7702", "2025-07-31", 4, 1),  # the day before this badge was given out
    Drawn("7702", "2025-08-01", 20, 2),
    Drawn("LAB", "2025-08-02", 5, 1),
    Drawn("", "2025-08-03", 5, 0),
    Drawn("X.YZZ", "2025-08-04", 6, 0),  # on no list
)


@pytest.fixture(scope="module")
def desk(tmp_path_factory):
    folder = tmp_path_factory.mktemp("people")
    with open_workspace(folder / "w") as workspace:
        take_file(workspace, file=write_draws(folder / "lab.csv", DRAWS), facility=HOSPITAL, timezone=ZONE, accept=True)
        import_roster(workspace, file=write_staff(folder / "staff.csv"), facility=HOSPITAL)
        yield workspace


@pytest.fixture(scope="module")
def names(desk):
    rows = read_staff_list(write_staff(desk.folder.parent / "again.csv"))
    return {name: key for key, name in names_of(desk, rows).items()}


@pytest.fixture
def by_name(desk, names):
    found = {one.count.key: one for one in gather_people(desk).people}
    return {name: found[key] for name, key in names.items() if key in found}


def test_shared_initials_are_the_remaining_persons_from_the_day_after_the_other_left(by_name):
    assert "Jana Moravec" not in by_name
    moss = by_name["Jonas Moss"]
    assert (moss.count.draws, moss.count.contaminated, moss.by_initials) == (40, 3, 40)


def test_a_badge_counts_only_from_the_day_it_was_given_out(by_name):
    hask = by_name["Pia Hask"]
    assert (hask.count.draws, hask.count.contaminated, hask.by_badge) == (20, 2, 20)


def test_what_names_nobody_is_nobodys(desk, by_name):
    reading = gather_people(desk).reading
    known = sum(one.count.draws for one in by_name.values())
    assert known == 40 + 35 + 60 + 20
    partners = sum(draw.count for draw in DRAWS)
    assert reading.unattributed == (1 + 1 + 1, partners + 10 + 4 + 5 + 5 + 6)


def test_no_name_no_badge_and_no_initials_are_written_to_the_records(desk):
    written = b"".join(path.read_bytes() for path in desk.folder.glob("records*"))
    for text in (b"Moravec", b"moravec", b"Moss", b"Okoro", b"okoro", b"r oko", b"Venn", b"7731"):
        assert text not in written


def test_a_later_list_finds_the_same_people_again(desk, names, tmp_path):
    report = import_roster(desk, file=write_staff(tmp_path / "staff.csv"), facility=HOSPITAL)
    assert (report.people, report.new, report.shared_initials, report.without_badge) == (5, 0, 1, 3)
    again = names_of(desk, read_staff_list(write_staff(tmp_path / "staff.csv")))
    assert {name: key for key, name in again.items()} == names


def test_the_answer_has_keys_and_no_names(desk):
    answer = people_answer(desk)
    assert answer.table
    assert all(str(row[1]).startswith("P") for row in answer.table.rows)
    assert "Moss" not in repr(answer)


def test_an_opening_is_recorded_with_its_purpose_and_counts_only(desk):
    open_people(desk, purpose=Purpose.REPLY, by="page")
    last = list_openings(desk)[0]
    assert (last.purpose, last.by, last.people) == (Purpose.REPLY, "page", 4)
    assert list_changes(desk)[0].detail == {"by": "page", "people": 4}


def test_disputed_sets_count_for_nobody_until_taken_back(desk, names):
    key = names["Jonas Moss"]
    theirs = gather_people(desk, persons=[key]).draws_of(key).sets
    hits = [one.accession for one in theirs if one.set_class is SetClass.CONTAMINATED][:2]
    before = gather_people(desk).reading.unattributed
    answer = dispute_sets(desk, key=key, accessions=hits)
    assert answer.sentence.startswith("Without the 2 disputed sets: 37 of 38 clean, where it was 37 of 40.")
    assert gather_people(desk).reading.unattributed == (before[0] + 2, before[1] + 2)
    assert take_back_disputes(desk, key=key) == 2
    assert gather_people(desk).draws_of(key).count.draws == 40


def test_a_set_of_somebody_else_cannot_be_disputed_away(desk, names):
    with pytest.raises(RequestProblem, match="not counted as drawn by"):
        dispute_sets(desk, key=names["Jonas Moss"], accessions=["9999"])


def test_older_months_are_locked(desk):
    with pytest.raises(RequestProblem, match="locked after 24 months"):
        gather_people(desk, Window(from_month="2023-08", to_month="2025-08"))


@pytest.fixture
def own(tmp_path):
    """A workspace of its own, for what changes it."""
    with open_workspace(tmp_path / "own") as workspace:
        take_file(workspace, file=write_draws(tmp_path / "a.csv", DRAWS), facility=HOSPITAL, timezone=ZONE, accept=True)
        import_roster(workspace, file=write_staff(tmp_path / "staff.csv"), facility=HOSPITAL)
        yield workspace


def key_with(workspace, *, draws):
    return next(one.count.key for one in gather_people(workspace).people if one.count.draws == draws)


def test_an_amended_result_after_the_letter_brings_a_correction(own, tmp_path):
    key = key_with(own, draws=40)
    sent = make_letter(own, key=key, out=tmp_path / "letter.pdf")
    assert corrections_due(own) == ()
    hit = next(
        one.accession for one in gather_people(own, persons=[key]).draws_of(key).sets
        if one.set_class is SetClass.CONTAMINATED
    )  # fmt: skip
    amended = write_draws(tmp_path / "b.csv", DRAWS, amend={hit: "ESCHERICHIA COLI"})
    take_file(own, file=amended, facility=HOSPITAL, timezone=ZONE, accept=True)
    (due,) = corrections_due(own)
    assert (due.key, due.told.contaminated, len(due.changes)) == (key, 3, 1)
    assert (due.changes[0].was, due.changes[0].now) == (SetClass.CONTAMINATED, SetClass.PATHOGEN)
    done = make_correction(own, key=key, out=tmp_path / "correction.pdf")
    assert (done.kind, done.contaminated, done.changes) == ("correction", 2, 1)
    assert (tmp_path / "correction.pdf").read_bytes().startswith(b"%PDF")
    assert corrections_due(own) == ()
    assert [one.contaminated for one in person_history(own, key)] == [sent.contaminated, 2]  # nothing overwritten


def test_a_correction_where_the_letter_still_holds_is_refused(own, tmp_path):
    key = key_with(own, draws=60)
    make_letter(own, key=key, out=tmp_path / "letter.pdf")
    with pytest.raises(RequestProblem, match="still holds"):
        make_correction(own, key=key, out=tmp_path / "correction.pdf")


def test_records_of_letters_are_deleted_on_their_day(own, tmp_path):
    key = key_with(own, draws=60)
    sent = make_letter(own, key=key, out=tmp_path / "letter.pdf")
    assert expire_individual(own, today=sent.expires_on - timedelta(days=1)) == 0
    assert expire_individual(own, today=sent.expires_on) == 1
    assert person_history(own, key) == ()
    assert sent.expires_on > date.today() + timedelta(days=700)  # noqa: DTZ011 - 24 months by the policy


@pytest.mark.parametrize(
    ("line", "said"),
    [
        (",AB,,nurse,ED,,", "row 2, column 'name'"),
        ("A Bee,LAB,,nurse,ED,,", "row 2, column 'initials': a log-in that many use"),
        ("A Bee,,AGENCY,nurse,ED,,", "row 2, column 'badge': a log-in that many use"),
        ("A Bee,AB,,nurse,ED,3/4/2025,", "expected a day such as 2025-06-30"),
        ("A Bee,AB,,nurse,ED,2025-06-30,2025-06-01", "the day in 'to' is before"),
        ("A Bee,AB,77,nurse,ED,,\nC Dee,CD,77,nurse,ED,,", "rows 2 and 3: two people have one badge"),
    ],
)
def test_a_wrong_staff_list_is_refused_row_by_row_and_names_nobody(desk, tmp_path, line, said):
    file = write_staff(tmp_path / "staff.csv", f"{CSV_STAFF.splitlines()[0]}\n{line}\n")
    with pytest.raises(FileProblem) as refusal:
        import_roster(desk, file=file, facility=HOSPITAL)
    assert said in str(refusal.value)
    assert "Bee" not in str(refusal.value)


@pytest.mark.parametrize("text", ["", "name,role\nA Bee,nurse\n", "name,initials\n"])
def test_what_is_no_staff_list_is_refused(desk, tmp_path, text):
    with pytest.raises(FileProblem):
        import_roster(desk, file=write_staff(tmp_path / "staff.csv", text), facility=HOSPITAL)


def test_a_workbook_with_real_dates_is_read_too(tmp_path):
    import xlsxwriter

    with xlsxwriter.Workbook(str(tmp_path / "staff.xlsx")) as book:
        sheet = book.add_worksheet()
        sheet.write_row(0, 0, ["Name", "Initials", "Badge", "Role", "From"])
        sheet.write_row(1, 0, ["Ada Bee", "AB / A.BEE", 7731, "nurse"])
        sheet.write_datetime(1, 4, date(2025, 6, 30), book.add_format({"num_format": "yyyy-mm-dd"}))
    (one,) = read_staff_list(tmp_path / "staff.xlsx")
    assert (one.badge, one.writings, one.from_day) == ("7731", ("a bee", "ab", "ada bee"), date(2025, 6, 30))
