"""A bulk export that came as a folder of files is read as the one archive that it might have been sent as."""

from __future__ import annotations

import shutil
import zipfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from cubital.domain.scratch import ScratchFolder

ENDINGS = (".ndjson", ".ndjson.gz")
WRITTEN = (1980, 1, 1, 0, 0, 0)  # the same folder is the same archive, whenever it is packed


@contextmanager
def as_one_file(path: Path) -> Iterator[Path]:
    """The file itself; for a folder with ``*.ndjson`` in it an archive of these, which is gone afterwards.

    Folders inside are not looked into. A folder without such files comes back as it is.
    """
    members = export_files(path)
    if not members:
        yield path
        return
    with ScratchFolder() as scratch:
        packed = scratch / f"{path.name}.zip"
        with zipfile.ZipFile(packed, "w", zipfile.ZIP_STORED) as archive:
            for member in members:
                entry = zipfile.ZipInfo(member.name, WRITTEN)
                with member.open("rb") as source, archive.open(entry, "w", force_zip64=True) as copy:
                    shutil.copyfileobj(source, copy, 1 << 20)
        yield packed


def export_files(path: Path) -> list[Path]:
    """The lines of resources in a folder, by name; none for a file."""
    if not path.is_dir():
        return []
    return sorted(one for one in path.iterdir() if one.is_file() and one.name.lower().endswith(ENDINGS))
