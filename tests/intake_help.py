"""Writes a small file and reads it through the whole intake, for the tests of reading."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from cubital.domain.places import Facility, SourceMemory
from cubital.engine import Session, open_session
from cubital.intake.reading import Intake, read_cultures

MARROWBY = Facility(name="Marrowby General", timezone="America/Chicago")
SECRET = b"only for the tests of this house"


@dataclass(frozen=True)
class Read:
    """An intake with the session that holds its tables."""

    intake: Intake
    session: Session

    @property
    def losses(self) -> dict[str, int]:
        return {tally.reason: tally.count for tally in self.intake.reconciliation.losses}

    @property
    def doubts(self) -> dict[str, int]:
        return {tally.reason: tally.count for tally in self.intake.reconciliation.doubts}

    @property
    def sets(self) -> int:
        return self.intake.reconciliation.sets

    def column(self, name: str, table: str = "new_sets", order: str = "accession") -> list[Any]:
        return [row[0] for row in self.session.rows(f"select {name} from {table} order by {order}")]

    def set_of(self, accession: str) -> dict[str, Any]:
        cursor = self.session.raw.execute("select * from new_sets where accession = ?", [accession])
        names = [column[0] for column in cursor.description]
        rows = cursor.fetchall()
        assert len(rows) == 1, f"{len(rows)} sets carry accession {accession}"
        return dict(zip(names, rows[0], strict=True))

    def rows_with_doubt(self, reason: str) -> list[int]:
        return [row[0] for row in self.session.rows("select row from row_doubts where reason = ? order by 1", [reason])]

    def fates(self) -> list[tuple[int, str]]:
        return self.session.rows("select row, if(fate = 'set', 'set', reason) from row_fates order by sheet, row")


@dataclass(frozen=True)
class Options:
    facility: Facility = MARROWBY
    accept: bool = True
    answers: Mapping[str, str] = field(default_factory=dict)
    columns: Mapping[str, str] = field(default_factory=dict)


@contextmanager
def read_file(path: Path, options: Options | None = None) -> Iterator[Read]:
    """Reads ``path`` as a culture file; the tables live as long as the block."""
    chosen = options or Options()
    with open_session(ordered=True) as session:
        intake = read_cultures(
            session,
            path,
            facility=chosen.facility,
            secret=SECRET,
            memory=SourceMemory(columns=chosen.columns, answers=chosen.answers),
            accept=chosen.accept,
            progress=lambda _sentence, _share: None,
        )
        yield Read(intake, session)


@contextmanager
def read_text(folder: Path, text: str | bytes, options: Options | None = None) -> Iterator[Read]:
    """Writes ``text`` to a CSV file in ``folder`` and reads it."""
    path = folder / "laboratory.csv"
    path.write_bytes(text if isinstance(text, bytes) else text.encode())
    with read_file(path, options) as read:
        yield read
