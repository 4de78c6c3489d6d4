"""Exports of the messy month, read back with pandas and openpyxl; expected counts are worked by hand in the story."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import openpyxl
import pandas
import pytest

from cubital.domain.errors import RequestProblem
from cubital.workspace.batches import get_batch
from cubital.workspace.exports import export_fates, export_sets
from cubital.workspace.opening import open_workspace
from cubital.workspace.taking import take_file

FILES = Path(__file__).parents[2] / "acceptance" / "files"
TODAY = date(2025, 12, 1)


@pytest.fixture(scope="module")
def workspace(tmp_path_factory):
    """Two hospitals' files of one messy month, taken. Read only."""
    with open_workspace(tmp_path_factory.mktemp("exports") / "workspace") as opened:
        for file, facility in (("marrowby.csv", "Marrowby General"), ("thistlecombe.csv", "Thistlecombe Community")):
            take_file(opened, file=FILES / file, facility=facility, timezone="America/Chicago", accept=True)
        yield opened


@pytest.fixture
def sets(workspace, tmp_path):
    export_sets(workspace, out=tmp_path / "sets.xlsx", today=TODAY)
    return pandas.read_excel(tmp_path / "sets.xlsx", sheet_name="sets", dtype=str, engine="openpyxl")


def accessions(table, **wanted):
    for name, value in wanted.items():
        table = table[table[name] == value]
    return sorted(f"{row.facility[0]}{row.accession}" for row in table.itertuples())


def test_every_valid_set_of_both_files_has_one_row(sets):
    assert len(sets) == 19
    assert len(set(zip(sets["facility"], sets["accession"], strict=True))) == 19


def test_the_classes_are_those_of_the_story(sets):
    assert accessions(sets, **{"class": "contaminated"}) == ["M5001", "M5007", "T5002", "T5003"]
    assert accessions(sets, **{"class": "adjudicate"}) == ["M5003", "M5004", "M5009"]
    assert accessions(sets, **{"class": "solitary_commensal"}) == ["M5005", "T5007"]


def test_a_series_is_tied_by_a_number_and_not_by_a_patient(sets):
    pair = sets[(sets["facility"] == "Marrowby General") & sets["accession"].isin(["5001", "5002"])]
    assert pair["series"].nunique() == 1
    assert set(pair["companions"]) == {"5001", "5002"}
    assert not sets.isin(["70001", "70002", "80002", "1957-04-09"]).any().any()


def test_no_waiting_time_is_negative_where_the_clock_went_back(sets):
    minutes = sets.set_index(["facility", "accession"])["minutes_to_receipt"].astype(float)
    assert minutes["Marrowby General", "5006"] == 30
    assert minutes["Marrowby General", "5007"] == 43
    assert minutes.dropna().min() >= 0


def test_scope_limits_the_rows_and_is_written_down(workspace, tmp_path):
    count = export_sets(
        workspace, out=tmp_path / "ed.csv", from_month="2025-11", to_month="2025-11", facility="marrowby general",
        unit="ed", today=TODAY,
    )  # fmt: skip
    table = pandas.read_csv(tmp_path / "ed.csv", dtype=str)
    assert count == len(table) == 5
    assert set(table["month"]) == {"2025-11"}
    about = dict(pandas.read_csv(tmp_path / "ed.about.csv", dtype=str).itertuples(index=False))
    assert (about["facility"], about["from month"], about["rows"]) == ("Marrowby General", "2025-11", "5")


def test_the_about_sheet_is_the_receipt(workspace, tmp_path):
    export_sets(workspace, out=tmp_path / "sets.xlsx", today=TODAY)
    sheet = openpyxl.load_workbook(tmp_path / "sets.xlsx")["about"]
    about = {row[0].value: row[1].value for row in sheet.iter_rows(min_row=2)}
    assert about["data"].startswith("batch 2 (sets ")
    assert "fingerprint" in about["charter"]
    assert about["written on"] == "2025-12-01"


def test_every_row_of_a_file_has_a_fate_and_they_add_up(workspace, tmp_path):
    counted = get_batch(workspace, 1).reconciliation
    assert export_fates(workspace, batch=1, out=tmp_path / "rows.xlsx", today=TODAY) == counted.rows == 21
    rows = pandas.read_excel(tmp_path / "rows.xlsx", sheet_name="rows", dtype=str, engine="openpyxl")
    assert (rows["fate"] == "set").sum() == counted.sets == 11
    for loss in counted.losses:
        assert (rows["reason"] == loss.reason).sum() == loss.count
    assert rows[rows["fate"] == "loss"]["reason_words"].notna().all()


def test_doubts_come_along_with_their_words(workspace, tmp_path):
    export_fates(workspace, batch=1, out=tmp_path / "rows.csv", today=TODAY)
    doubts = pandas.read_csv(tmp_path / "rows.doubts.csv", dtype=str)
    assert len(doubts) > 0
    assert doubts["doubt_words"].notna().all()


def test_unknown_places_batches_and_names_end_in_sentences(workspace, tmp_path):
    with pytest.raises(RequestProblem, match="no facility 'Nowhere'"):
        export_sets(workspace, out=tmp_path / "a.csv", facility="Nowhere")
    with pytest.raises(RequestProblem, match="no unit 'Moon'"):
        export_sets(workspace, out=tmp_path / "a.csv", unit="Moon")
    with pytest.raises(RequestProblem, match="no batch 99"):
        export_fates(workspace, batch=99, out=tmp_path / "a.csv")
    with pytest.raises(RequestProblem, match=r"\.xlsx or \.csv"):
        export_sets(workspace, out=tmp_path / "a.pdf")
    assert list(tmp_path.iterdir()) == []


def test_a_workspace_without_a_file_says_so(tmp_path):
    with open_workspace(tmp_path / "empty") as empty, pytest.raises(RequestProblem, match="no file has been taken"):
        export_sets(empty, out=tmp_path / "a.csv")
