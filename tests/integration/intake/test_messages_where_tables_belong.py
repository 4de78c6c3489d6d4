"""Messages given where a small table is wanted: refused by their kind, and not a word of them is repeated."""

from __future__ import annotations

import zipfile
from pathlib import Path

import pytest

from cubital.domain.errors import FileProblem
from cubital.intake.weighing import read_weigh_sheet
from cubital.workspace.count_files import read_counts

MESSAGE = b"MSH|^~\\&|LIS|M|Q|M|20251103||ORU^R01^ORU_R01|C1|P|2.5.1\rPID|1||77^^^M^MR||Doe^Jane||19490214|F\r"
RESOURCE = b'{"resourceType":"Patient","id":"p1","name":[{"family":"Doe"}]}\n'


def write(folder: Path, name: str) -> Path:
    path = folder / name
    if name.endswith(".zip"):
        with zipfile.ZipFile(path, "w") as archive:
            archive.writestr("Patient.ndjson", RESOURCE)
    else:
        path.write_bytes(MESSAGE if name.endswith(".hl7") else RESOURCE)
    return path


@pytest.mark.parametrize("read", [read_weigh_sheet, read_counts])
@pytest.mark.parametrize("name", ["feed.hl7", "export.ndjson", "export.zip"])
def test_messages_are_no_table_kept_by_hand(tmp_path, read, name):
    with pytest.raises(FileProblem, match="not a table kept by hand") as caught:
        read(write(tmp_path, name))
    assert "command take" in caught.value.fix
    assert "Doe" not in str(caught.value)
    assert caught.value.where == name
