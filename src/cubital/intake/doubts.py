"""What was kept but is doubtful, row by row."""

from __future__ import annotations

from collections.abc import Sequence

from cubital.engine import Session
from cubital.intake.codes import ResultTexts
from cubital.intake.parsing import FieldMap, MomentPlans
from cubital.intake.staging import StagedSheet


def find_doubts(
    session: Session, fields: FieldMap, moments: MomentPlans, *, texts: ResultTexts, sheets: Sequence[StagedSheet]
) -> None:
    """Creates ``row_doubts(row, sheet, reason, detail)``."""
    session.do("create or replace table row_doubts (row bigint, sheet varchar, reason varchar, detail varchar)")
