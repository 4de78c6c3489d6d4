"""The open intensive-care demo (MIMIC-IV demo v2.2, PhysioNet, ODbL 1.0, doi 10.13026/dp1f-ex47).

Every expected count is taken from the same file by pandas, an independent reader, or stated in the data set's notes.
"""

from __future__ import annotations

import pandas
import pytest

from cubital.domain.places import Facility, SourceMemory
from cubital.engine import open_session
from cubital.intake.movements import read_movements
from cubital.intake.patient_keys import patient_key
from intake_help import SECRET, Options, read_file

BOSTON = Options(facility=Facility(name="Real", timezone="America/New_York"))


@pytest.fixture(scope="module")
def extract(open_data):
    return open_data("mimic-iv-demo") / "hosp" / "microbiologyevents.csv.gz"


@pytest.fixture(scope="module")
def real(extract):
    with read_file(extract, BOSTON) as read:
        yield read


@pytest.fixture(scope="module")
def routine(extract):
    table = pandas.read_csv(extract, dtype=str)
    return table[(table.spec_type_desc == "BLOOD CULTURE") & (table.test_name == "Blood Culture, Routine")]


def test_specimens_are_those_an_independent_reader_finds(real, routine):
    assert set(real.column("accession")) == set(routine.micro_specimen_id)
    assert len(real.column("accession")) == 491


def test_nine_are_cancelled_and_the_rest_valid(real, routine):
    cancelled = set(routine[routine.org_name == "CANCELLED"].micro_specimen_id)
    found = {row[0] for row in real.session.rows("select accession from new_sets where status = 'cancelled'")}
    assert found == cancelled
    assert (len(cancelled), real.sets) == (9, 482)


def test_twenty_three_grew_something(real, routine):
    grown = set(routine[routine.org_name.notna() & (routine.org_name != "CANCELLED")].micro_specimen_id)
    found = {
        row[0]
        for row in real.session.rows(
            "select distinct accession from new_sets join new_isolates using (row_set) where not negated"
        )
    }
    assert found == grown
    assert len(found) == 23


def test_an_empty_hour_is_a_day_and_never_midnight(real):
    assert real.session.one("select count(collected_at) from new_sets where status = 'final'") == (478,)
    dated = real.session.rows(
        "select collected_at, collected_local, day from new_sets where time_quality = 'date_only'"
    )
    assert len(dated) == 4
    assert all(row[:2] == (None, None) and row[2] is not None for row in dated)


def test_every_row_has_exactly_one_fate(real, extract):
    rows = real.session.rows("select row, count(*) from row_fates group by row order by row")
    assert rows == [(row, 1) for row in range(2, 2901)]
    assert len(pandas.read_csv(extract, dtype=str)) == len(rows) == 2899


def test_rows_of_other_specimens_are_counted_as_such(real, extract):
    table = pandas.read_csv(extract, dtype=str)
    assert real.losses["other_specimen"] == int((table.spec_type_desc != "BLOOD CULTURE").sum())


def test_collection_hours_equal_those_of_the_file(real, routine):
    expected = routine.dropna(subset=["charttime"]).drop_duplicates("micro_specimen_id").set_index("micro_specimen_id")
    found = dict(real.session.rows("select accession, strftime(collected_local, '%Y-%m-%d %H:%M:%S') from new_sets"))
    assert {key: found[key] for key in expected.index} == expected.charttime.to_dict()


def test_movements_are_the_stays_in_a_unit(open_data):
    path = open_data("mimic-iv-demo") / "hosp" / "transfers.csv.gz"
    table = pandas.read_csv(path, dtype=str)
    with open_session(ordered=True) as session:
        account = read_movements(
            session, path, facility=BOSTON.facility, secret=SECRET, memory=SourceMemory(), accept=True
        ).reconciliation
        keys = {row[0] for row in session.rows("select distinct patient_key from new_movements")}
    assert (account.rows, account.sets) == (len(table), int(table.careunit.notna().sum()))
    stayed = table[table.careunit.notna()].subject_id.unique()
    assert keys == {patient_key(SECRET, facility="Real", number=number) for number in stayed}
