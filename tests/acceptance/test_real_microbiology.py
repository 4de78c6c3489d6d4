"""Real hospital microbiology: the open MIMIC-IV demo (v2.2, PhysioNet, ODbL 1.0, doi 10.13026/dp1f-ex47).

One hundred patients linked to intensive care, dates shifted per patient: no rate here is a benchmark and no
calendar month means anything. The counts were taken from the file by hand with a general-purpose library.
"""

from __future__ import annotations

import csv

import pandas
import pytest
from acceptance_shell import Shell

NEW_YORK = ("--timezone", "America/New_York", "--yes")


@pytest.fixture(scope="module")
def hospital(open_data, tmp_path_factory):
    folder = open_data("mimic-iv-demo") / "hosp"
    shell = Shell(tmp_path_factory.mktemp("real") / "workspace")
    report = shell.json("take", folder / "microbiologyevents.csv.gz", "--facility", "Real", *NEW_YORK)
    shell.json("movements", folder / "transfers.csv.gz", "--facility", "Real", "--yes")
    out = tmp_path_factory.mktemp("real export") / "sets.csv"
    shell.ok("export", "sets", out)
    with out.open(encoding="utf-8-sig", newline="") as handle:
        return report, list(csv.DictReader(handle)), folder


def test_only_routine_blood_cultures_come_in(hospital):
    report, _, _ = hospital
    losses = {loss["reason"]: loss["count"] for loss in report["losses"]}
    assert (report["rows"], report["sets"]) == (2899, 482)
    assert report["rows"] == report["sets"] + sum(losses.values())


def test_nine_cancelled_cultures_are_losses_and_never_valid_sets(hospital):
    report, sets, _ = hospital
    losses = {loss["reason"]: loss["count"] for loss in report["losses"]}
    assert losses["cancelled"] == 9
    assert report["added"] == 491  # kept in the store, with their status
    assert len(sets) == 482


def test_growth_and_collection_times_are_as_in_the_file(hospital):
    _, sets, _ = hospital
    assert sum(bool(row["organisms"]) for row in sets) == 23
    assert sum(row["time_quality"] == "exact" for row in sets) == 478


def test_accessions_are_those_that_pandas_finds(hospital):
    _, sets, folder = hospital
    frame = pandas.read_csv(folder / "microbiologyevents.csv.gz", dtype=str)
    wanted = frame[(frame.spec_type_desc == "BLOOD CULTURE") & (frame.test_name == "Blood Culture, Routine")]
    cancelled = set(wanted.micro_specimen_id[wanted.org_name == "CANCELLED"])
    assert {row["accession"] for row in sets} == set(wanted.micro_specimen_id) - cancelled


def test_the_collecting_unit_comes_from_the_movements(hospital):
    _, sets, _ = hospital
    with_unit = [row for row in sets if row["unit_name"] != "unit not known"]
    assert len(with_unit) > 400
    assert any(row["unit_name"] == "Emergency Department" for row in with_unit)
