"""Tables that leave the workspace: every set with its class, every row of a file with its fate. No patient in them."""

from __future__ import annotations

from datetime import UTC, date, datetime
from pathlib import Path

import cubital
from cubital.domain.charter import Charter
from cubital.domain.words import _, grouped_words
from cubital.judge.api import Scope, judged_sets
from cubital.judge.counts import JudgedSet
from cubital.papers.charter_words import definition_words
from cubital.papers.fates_table import build_doubts_table, build_fates_table
from cubital.papers.sets_table import build_sets_table
from cubital.papers.table_files import Export, check_name, write_export
from cubital.reference.commensals import commensal_lists
from cubital.workspace.asked_places import find_place
from cubital.workspace.batches import BatchReport, get_batch, row_doubts, row_fates
from cubital.workspace.charters import CharterVersion, current_charter
from cubital.workspace.opening import Workspace
from cubital.workspace.snapshots import open_snapshot, snapshot_words

AboutLines = tuple[tuple[str, str], ...]


def export_sets(
    workspace: Workspace,
    *,
    out: Path,
    from_month: str | None = None,
    to_month: str | None = None,
    facility: str | None = None,
    unit: str | None = None,
    today: date | None = None,
) -> int:
    """Writes every valid set in scope with its class and reason under the charter in force; gives their number.

    ``out`` ends in ``.xlsx`` (sheets sets, codebook, about) or ``.csv`` (with ``.codebook.csv`` and ``.about.csv``
    beside it). ``RequestProblem`` for an unknown place or month, or another suffix; ``MachineProblem`` where the file
    cannot be written. ``today`` is the day named in the file.
    """
    from cubital.workspace.left_answers import sets_as_answer, workspace_receipt
    from cubital.workspace.receipts import keep_receipt

    check_name(out)
    scope = find_place(workspace, facility=facility, unit=unit).scope(from_month=from_month, to_month=to_month)
    charter = current_charter(workspace)
    rows = _judged(workspace, charter.charter, scope)
    asked = {"from_month": from_month, "to_month": to_month, "facility": facility, "unit": unit}
    answer = sets_as_answer(rows, receipt=workspace_receipt(workspace))
    code = keep_receipt(workspace, question="sets", asked=asked, answer=answer)
    about = (
        *_sets_about(workspace, charter=charter, scope=scope, count=len(rows), today=today),
        receipt_line(code),
    )
    return write_export(Export(tables=(build_sets_table(rows),), about=about), out)


def list_sets(
    workspace: Workspace, *, from_month: str | None = None, to_month: str | None = None, facility: str | None = None,
    unit: str | None = None,
) -> tuple[JudgedSet, ...]:  # fmt: skip
    """Every valid set in scope with its class under the charter in force, as ``export_sets`` writes it."""
    scope = find_place(workspace, facility=facility, unit=unit).scope(from_month=from_month, to_month=to_month)
    return _judged(workspace, current_charter(workspace).charter, scope)


def receipt_line(code: str) -> tuple[str, str]:
    """The line of a table's about sheet that says how to compute it again."""
    from cubital.workspace.receipts import receipt_words

    return _("receipt"), receipt_words(code)


def export_fates(workspace: Workspace, *, batch: int, out: Path, today: date | None = None) -> int:
    """Writes every row of a batch with what became of it and why, and every doubt; gives the number of rows.

    Files and errors as for ``export_sets``; an unknown batch is a ``RequestProblem``.
    """
    check_name(out)
    report = get_batch(workspace, batch)
    losses = {tally.reason: tally.words for tally in report.reconciliation.losses}
    doubts = {tally.reason: tally.words for tally in report.reconciliation.doubts}
    # A row can carry several doubts and a doubt can speak of a whole file; rows times kinds is never exceeded.
    most_doubts = sum(tally.count for tally in report.reconciliation.doubts)
    tables = (
        build_fates_table(row_fates(workspace, batch), count=report.reconciliation.rows, words=losses),
        build_doubts_table(row_doubts(workspace, batch), count=most_doubts, words=doubts),
    )
    return write_export(Export(tables=tables, about=_fates_about(report, today=today)), out)


def _judged(workspace: Workspace, charter: Charter, scope: Scope) -> tuple[JudgedSet, ...]:
    with open_snapshot(workspace) as session:
        return judged_sets(session, charter, scope=scope)


def _sets_about(
    workspace: Workspace, *, charter: CharterVersion, scope: Scope, count: int, today: date | None
) -> AboutLines:
    title = commensal_lists()[charter.charter.commensal_list].title
    return (
        (_("what"), _("every valid set in scope, one row per set; cancelled and rejected specimens are not sets")),
        (_("for whom"), line_list_words()),
        (_("rows"), grouped_words(count)),
        (_("charter"), charter_line(charter)),
        (_("definition"), definition_words(charter.charter, list_title=title)),
        (_("data"), snapshot_words(workspace)),
        (_("from month"), scope.from_month or _("the first there is")),
        (_("to month"), scope.to_month or _("the last there is")),
        (_("facility"), scope.facility or _("all")),
        (_("unit"), scope.unit or _("all")),
        *common_about(today),
        (
            _("patients"),
            _("no patient is named or keyed; series is a number of this workspace and means nothing outside"),
        ),
    )


def _fates_about(report: BatchReport, *, today: date | None) -> AboutLines:
    counted = report.reconciliation
    return (
        (_("what"), _("every data row of one file with what became of it; rows equal sets plus losses")),
        (_("for whom"), line_list_words()),
        (_("batch"), str(report.number)),
        (_("file"), report.file_name),
        (_("fingerprint of the file"), report.fingerprint),
        (_("facility"), report.facility),
        (_("taken at"), report.taken_at.isoformat(timespec="minutes")),
        (_("rows"), grouped_words(counted.rows)),
        (_("sets"), grouped_words(counted.sets)),
        *((_("loss: {words}").format(words=tally.words), grouped_words(tally.count)) for tally in counted.losses),
        *((_("doubt: {words}").format(words=tally.words), grouped_words(tally.count)) for tally in counted.doubts),
        *common_about(today),
    )


def line_list_words() -> str:
    """For whom a list of single sets is, and for whom it is not."""
    return _(
        "the laboratory and the analyst: a list of single sets, in which small counts are not hidden. Do not pass it "
        "on; for others there is the export of counts"
    )


def charter_line(charter: CharterVersion) -> str:
    """The charter with version, name, fingerprint, and whether it is signed."""
    state = _("signed") if charter.signatures else _("not signed")
    return _("charter {version}, {name}, fingerprint {digits}, {state}").format(
        version=charter.version, name=charter.charter.name, digits=charter.fingerprint, state=state
    )


def common_about(today: date | None) -> AboutLines:
    """The lines that every table ends with."""
    day = today or datetime.now(UTC).date()
    return (
        (_("written on"), day.isoformat()),
        (_("written by"), _("Cubital {version}").format(version=cubital.__version__)),
        (
            _("text"),
            _("numbers such as accessions are text, leading zeros kept; an apostrophe stands before = + - @ in text"),
        ),
    )
