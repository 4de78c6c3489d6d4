"""A FHIR bulk export as the folder of files that a server leaves, taken as one file."""

from __future__ import annotations

import gzip
from pathlib import Path

import pytest

from cubital.domain.errors import FileProblem
from cubital.workspace.opening import open_workspace
from cubital.workspace.taking import TakeReport, take_file
from fhir_help import culture, patient, specimen, write_lines


def export(place: Path) -> Path:
    place.mkdir()
    write_lines(place / "Observation.ndjson", [culture()])
    write_lines(place / "Specimen.ndjson", [specimen()])
    lines = write_lines(place / "Patient", [patient()])
    (place / "Patient.ndjson.gz").write_bytes(gzip.compress(lines.read_bytes()))
    lines.unlink()
    (place / "manifest.txt").write_text("no lines of resources", encoding="utf-8")
    return place


def take(folder: Path, file: Path) -> TakeReport:
    with open_workspace(folder / "w") as workspace:
        return take_file(workspace, file=file, facility="Marrowby", timezone="America/Chicago", accept=True)


def test_a_folder_of_lines_is_one_export(tmp_path):
    before = sorted((export(tmp_path / "march")).iterdir())
    taken = take(tmp_path, tmp_path / "march")
    assert (taken.rows, taken.sets, taken.file_name) == (3, 1, "march.zip")
    assert sorted((tmp_path / "march").iterdir()) == before


def test_the_same_folder_again_is_known(tmp_path):
    take(tmp_path, export(tmp_path / "march"))
    assert take(tmp_path, tmp_path / "march").already_taken


def test_a_folder_without_an_export_is_refused(tmp_path):
    (tmp_path / "march").mkdir()
    (tmp_path / "march" / "night.csv").write_text("a,b", encoding="utf-8")
    with pytest.raises(FileProblem, match="this is a folder"):
        take(tmp_path, tmp_path / "march")
