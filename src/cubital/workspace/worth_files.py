"""What leaves of "is it worth it?": the business case as PDF, and finance's workbook with live formulas."""

from __future__ import annotations

from datetime import UTC, date, datetime
from pathlib import Path
from typing import TYPE_CHECKING

from cubital.domain.errors import RequestProblem
from cubital.domain.words import _
from cubital.papers.business_case import BusinessCase, print_business_case
from cubital.papers.out_files import write_whole
from cubital.workspace.worth_answers import Worth, worth_asked

if TYPE_CHECKING:
    from cubital.answers.worth_reading import WorthReading
    from cubital.workspace.opening import Workspace

WORKBOOK = ".xlsx"


def write_business_case(
    workspace: Workspace, *, worth: Worth, out: Path, paper: str = "a4", today: date | None = None
) -> None:
    """Writes the paper to ``out``; ``paper`` is ``a4`` or ``letter``.

    Counts of the stored cultures behind it go through the guard. ``RequestProblem`` for a refusal, which has no
    business case, and where the counts may not leave.
    """
    from cubital.workspace.printing import paper_size

    size, reading = paper_size(paper), _reading_of(worth, out)
    receipt = _leave(workspace, worth)
    case = BusinessCase(answer=worth.answer, reading=reading, receipt=receipt, made_on=_day(today))
    write_whole(out, print_business_case(case, paper=size))


def write_finance_workbook(workspace: Workspace, *, worth: Worth, out: Path, today: date | None = None) -> None:
    """Writes the workbook to ``out``, named ``.xlsx``; errors as for ``write_business_case``."""
    from cubital.papers.finance_workbook import FinancePaper, build_finance_workbook

    if out.suffix.casefold() != WORKBOOK:
        raise RequestProblem(
            _("'{suffix}' is no workbook.").format(suffix=out.suffix), where=out.name, fix=_("Name the file .xlsx.")
        )
    reading = _reading_of(worth, out)
    receipt = _leave(workspace, worth)
    paper = FinancePaper(answer=worth.answer, reading=reading, receipt=receipt, made_on=_day(today))
    write_whole(out, build_finance_workbook(paper))


def _reading_of(worth: Worth, out: Path) -> WorthReading:
    if worth.reading is None:
        raise RequestProblem(
            worth.answer.sentence, where=out.name, fix=_("There is no business case without an answer.")
        )
    return worth.reading


def _leave(workspace: Workspace, worth: Worth) -> str:
    """Lets the counts behind it leave, keeps the receipt, and gives its line."""
    from cubital.workspace.receipts import keep_receipt, receipt_words
    from cubital.workspace.worth_counts import let_counts_leave

    if worth.counted is not None:
        let_counts_leave(workspace, counted=worth.counted)
    return receipt_words(keep_receipt(workspace, question="worth", asked=worth_asked(worth), answer=worth.answer))


def _day(today: date | None) -> date:
    return today or datetime.now(UTC).date()
