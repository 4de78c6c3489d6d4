"""Exports as archives of one file per kind of resource, and archives that mean harm."""

from __future__ import annotations

import gzip
import io
import zipfile
from pathlib import Path

import pytest

from cubital.domain.errors import FileProblem
from cubital.intake.fhir import members, streams
from fhir_help import culture, patient, specimen, write_lines
from intake_help import read_file


def _archive(path: Path, files: dict[str, bytes], compression: int = zipfile.ZIP_DEFLATED) -> Path:
    with zipfile.ZipFile(path, "w", compression) as archive:
        for name, content in files.items():
            archive.writestr(name, content)
    return path


def _lines(folder: Path, *resources: dict[str, object]) -> bytes:
    return write_lines(folder / "one.ndjson", resources).read_bytes()


def test_one_file_for_each_kind_of_resource_is_one_export(tmp_path: Path) -> None:
    files = {
        "export/Observation.ndjson": _lines(tmp_path, culture()),
        "export/Patient.ndjson.gz": gzip.compress(_lines(tmp_path, patient())),
        "export/Specimen.ndjson": _lines(tmp_path, specimen()),
        "__MACOSX/export/._Specimen.ndjson": b"\x00\x05\x16\x07",
        "export/readme.txt": b"not read",
    }
    with read_file(_archive(tmp_path / "export.zip", files)) as read:
        assert (read.sets, read.intake.reconciliation.rows) == (1, 3)
        assert read.set_of("A1")["age_group"] == "65_to_79"


@pytest.mark.parametrize(
    "name", ["../evil.ndjson", "/etc/evil.ndjson", "a/../../evil.ndjson", "C:evil.ndjson", "..\\evil.ndjson"]
)
def test_a_name_that_leads_out_of_the_folder_is_refused_and_nothing_written(tmp_path: Path, name: str) -> None:
    place = tmp_path / "inside" / "deeper"
    place.mkdir(parents=True)
    archive = _archive(place / "x.zip", {name: b"{}", "Patient.ndjson": _lines(tmp_path, patient())})
    before = sorted(tmp_path.rglob("*"))
    with pytest.raises(FileProblem, match="leads out of its folder"), read_file(archive):
        pass
    assert sorted(tmp_path.rglob("*")) == before


def test_a_locked_archive_is_refused(tmp_path: Path) -> None:
    plain = _archive(tmp_path / "x.zip", {"Patient.ndjson": b"{}"}, zipfile.ZIP_STORED)
    content = bytearray(plain.read_bytes())
    for mark in (b"PK\x03\x04", b"PK\x01\x02"):
        content[content.index(mark) + (6 if mark == b"PK\x03\x04" else 8)] |= 1
    plain.write_bytes(content)
    with pytest.raises(FileProblem, match="protected by a password"), read_file(plain):
        pass


def test_a_damaged_archive_is_refused(tmp_path: Path) -> None:
    path = _archive(tmp_path / "x.zip", {"Patient.ndjson": _lines(tmp_path, *[patient()] * 500)})
    content = bytearray(path.read_bytes())
    content[60:70] = b"\xff" * 10
    path.write_bytes(content)
    with pytest.raises(FileProblem, match="damaged or was cut short"), read_file(path):
        pass


def test_an_archive_that_unpacks_to_an_absurd_size_is_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(members, "MAX_UNPACKED_BYTES", 1_000_000)
    with (
        pytest.raises(FileProblem, match="unpacks to"),
        read_file(_archive(tmp_path / "x.zip", {"Patient.ndjson": b" " * 2_000_000})),
    ):
        pass


def test_a_gzipped_file_that_swells_inside_an_archive_is_refused(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(members, "MAX_UNPACKED_BYTES", 1_000_000)
    swollen = gzip.compress(b"\n" * 30_000_000)
    with (
        pytest.raises(FileProblem, match="unpacks to"),
        read_file(_archive(tmp_path / "x.zip", {"Patient.ndjson.gz": swollen})),
    ):
        pass


def test_more_files_than_any_export_has_are_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(members, "MAX_MEMBERS", 3)
    files = {f"{number}.ndjson": b"{}" for number in range(4)}
    with pytest.raises(FileProblem, match="holds 4 files"), read_file(_archive(tmp_path / "x.zip", files)):
        pass


def test_a_line_longer_than_memory_allows_is_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(streams, "MAX_DOCUMENT_BYTES", 10_000)
    path = tmp_path / "x.ndjson"
    path.write_bytes(b'{"resourceType": "Patient", "id": "' + b"9" * 20_000 + b'"}\n')
    with pytest.raises(FileProblem, match="cannot be held in memory"), read_file(path):
        pass


def test_a_field_of_ten_megabytes_does_no_harm(tmp_path: Path) -> None:
    lines = [patient(), specimen(), culture(words="No growth " + "x" * 10_000_000)]
    with read_file(write_lines(tmp_path / "x.ndjson", lines)) as read:
        assert read.sets == 1


def test_null_signs_and_right_to_left_marks_in_texts_do_no_harm(tmp_path: Path) -> None:
    lines = [patient(), specimen(accession="A1"), culture(words="\u202eE. coli\u202c\x00\ufeff")]
    with read_file(write_lines(tmp_path / "x.ndjson", lines)) as read:
        assert (read.sets, read.intake.reconciliation.rows) == (1, 3)


@pytest.mark.parametrize("content", [b"{" * 100_000, b"[" * 100_000, b'{"resourceType":' * 5_000])
def test_deep_nesting_and_odd_json_end_in_a_sentence(tmp_path: Path, content: bytes) -> None:
    path = tmp_path / "x.json"
    path.write_bytes(content)
    with pytest.raises(FileProblem), read_file(path):
        pass


def test_an_archive_in_an_archive_is_not_opened(tmp_path: Path) -> None:
    inner = io.BytesIO()
    with zipfile.ZipFile(inner, "w") as archive:
        archive.writestr("Patient.ndjson", "{}")
    with (
        pytest.raises(FileProblem, match="zip archive, not a table"),
        read_file(_archive(tmp_path / "x.zip", {"inner.zip": inner.getvalue()})),
    ):
        pass
