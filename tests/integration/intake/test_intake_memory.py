"""A file much larger than the memory it may use is read all the same, in stretches and over the disk."""

from __future__ import annotations

import pytest

from cubital.domain.places import SourceMemory
from cubital.engine import open_session
from cubital.intake.reading import read_cultures
from intake_help import MARROWBY, SECRET

SETS = 60_000
LITTLE, PLENTY = "90MB", "1GB"


def read(path, *, memory, rows_at_once):
    """The account, and numbers that any difference between two tables would change."""
    with open_session(memory=memory, threads=2) as session:
        intake = read_cultures(
            session,
            path,
            facility=MARROWBY,
            secret=SECRET,
            memory=SourceMemory(columns={}, answers={}, organisms={}),
            accept=True,
            progress=lambda _sentence, _share: None,
            rows_at_once=rows_at_once,
        )
        sums = [
            session.one(f"select count(*), sum(hash(t)::hugeint) from {table} t")
            for table in ("new_sets", "new_bottles", "new_isolates", "row_fates", "row_doubts")
        ]
        return intake.reconciliation, sums


@pytest.fixture(scope="module")
def large_file(tmp_path_factory):
    """Two bottles a set. The second bottles of all sets follow the first ones, so no stretch holds whole sets."""
    path = tmp_path_factory.mktemp("large") / "laboratory.csv"
    with path.open("w") as stream:
        stream.write("ACC_NO,MRN,COLL_DT,RECV_DT,BOTTLE,COLLECTOR,RESULT\n")
        for bottle in ("AER", "ANA"):
            stream.writelines(
                f"25-{number:09d}-{'x' * 40},M{number // 3:08d}-{'y' * 40},"
                f"2025-{1 + number % 12:02d}-03 10:{number % 60:02d},"
                f"2025-{1 + number % 12:02d}-03 11:{number % 60:02d},"
                f"{bottle},N{number % 97},"
                f"{'E.coli' if number % 11 == 0 else 'NG 5D'}\n"
                for number in range(SETS)
            )
    return path


def test_little_memory_is_made_up_for_by_the_disk(large_file):
    plenty = read(large_file, memory=PLENTY, rows_at_once=1_000_000)
    assert plenty[0].sets == SETS
    assert plenty[0].rows == 2 * SETS
    assert read(large_file, memory=LITTLE, rows_at_once=10_000) == plenty
