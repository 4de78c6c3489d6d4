"""March of the invented network comes as messages: taken at the command line, read as a month, accounted for."""

from __future__ import annotations

from pathlib import Path

import pytest

from cubital.workspace.demo import write_practice_files
from cubital.workspace.demo.messages import FOLDER

SENT = (
    ("marrowby-2026-03.hl7", "Marrowby"),
    ("thistlecombe-2026-03.ndjson", "Thistlecombe"),
    ("orrin-quay-2026-03.zip", "Orrin Quay"),
)


@pytest.fixture(scope="module")
def practice(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("practice") / "files"
    write_practice_files(folder)
    return folder


@pytest.mark.parametrize(("name", "hospital"), SENT)
def test_march_as_messages_gives_the_month_that_its_table_gives(shell, practice, name, hospital):
    place = ("--facility", hospital, "--timezone", "America/Chicago")
    taken = shell.json("take", practice / FOLDER / name, *place, "--yes")
    assert taken["rows"] == taken["sets"] + sum(loss["count"] for loss in taken["losses"])
    assert all(loss["words"] != loss["reason"] for loss in taken["losses"])
    sentence = shell.json("month", "2026-03")["sentence"]
    table = next(practice.glob(name.rpartition(".")[0] + ".*"))
    other = type(shell)(shell.folder.with_name("of the table"))
    other.json("take", table, "--facility", hospital, "--timezone", "America/Chicago", "--yes")
    assert sentence == other.json("month", "2026-03")["sentence"]


def test_the_messages_after_the_table_change_nothing(shell, practice):
    words = ("--facility", "Marrowby", "--timezone", "America/Chicago", "--yes")
    table = shell.json("take", practice / "marrowby-2026-03.csv", *words)
    messages = shell.json("take", practice / FOLDER / "marrowby-2026-03.hl7", *words)
    assert messages["sets"] == table["sets"] > 1_000
    assert (messages["added"], messages["changed"]) == (0, 0)
