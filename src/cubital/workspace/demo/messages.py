"""March of the invented network once more, as messages and exports of resources instead of tables."""

from __future__ import annotations

import zipfile
from collections.abc import Sequence
from pathlib import Path
from tempfile import TemporaryDirectory

from cubital.workspace.demo.fhir_export import split_by_type, write_fhir_export
from cubital.workspace.demo.hl7_feed import write_hl7_feed
from cubital.workspace.demo.layouts import Report
from cubital.workspace.demo.world import HOSPITALS, Hospital

FOLDER = "as-messages"
SUFFIXES = {"M": "hl7", "T": "ndjson", "O": "zip"}
WRITTEN = (1980, 1, 1, 0, 0, 0)  # the same archive whenever it is written


def message_file_name(hospital: Hospital) -> str:
    """Marrowby sends HL7 v2, Thistlecombe FHIR line by line, Orrin Quay the archive of a FHIR bulk export."""
    return f"{hospital.name.lower().replace(' ', '-')}-2026-03.{SUFFIXES[hospital.key]}"


def message_file_names() -> tuple[str, ...]:
    """The names of all of them in the order of the hospitals."""
    return tuple(message_file_name(hospital) for hospital in HOSPITALS)


def write_messages(folder: Path, hospital: Hospital, reports: Sequence[Report]) -> Path:
    """Writes the reports of one hospital in its own way into ``folder``, which must exist."""
    path = folder / message_file_name(hospital)
    if hospital.key == "M":
        return write_hl7_feed(path, reports)
    if hospital.key == "T":
        return write_fhir_export(path, reports)
    with TemporaryDirectory() as scratch, zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:
        whole = write_fhir_export(Path(scratch) / "whole", reports)
        for part in split_by_type(whole, Path(scratch)):
            archive.writestr(zipfile.ZipInfo(part.name, WRITTEN), part.read_bytes(), zipfile.ZIP_DEFLATED)
    return path
