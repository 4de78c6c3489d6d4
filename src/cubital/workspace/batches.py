"""What came in, when, from where, and what became of every row of it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import asdict, dataclass
from datetime import UTC, datetime
from typing import Any

from cubital.domain.errors import RequestProblem
from cubital.domain.places import SourceMemory
from cubital.domain.reconciliation import Reconciliation, Tally
from cubital.domain.snapshots import TableVersions
from cubital.domain.words import _
from cubital.store.rows import RowDoubt, RowFate
from cubital.workspace import records
from cubital.workspace.opening import Workspace
from cubital.workspace.snapshots import versions_of


@dataclass(frozen=True, kw_only=True)
class BatchReport:
    """One accepted file. ``kind`` is ``cultures`` or ``movements``.

    ``added``, ``changed``, ``unchanged`` and ``outdated`` count sets (stays, for movements); ``changed_months`` are
    the months (``YYYY-MM``) whose stored figures this batch restated. ``mapping`` is what the file was read with.
    What the batch left can be opened again until ``released_at``; none means that it still can.
    """

    number: int
    kind: str
    taken_at: datetime
    file_name: str
    fingerprint: str
    facility: str
    source: str
    reconciliation: Reconciliation
    mapping: SourceMemory
    notes: tuple[str, ...]
    changed_months: tuple[str, ...]
    added: int
    changed: int
    unchanged: int
    outdated: int
    versions: TableVersions
    code_version: str
    released_at: datetime | None = None


@dataclass(frozen=True, kw_only=True)
class AuditEntry:
    """One change of state: when, what was done, to what, with which counts."""

    at: datetime
    action: str
    subject: str
    detail: dict[str, Any]


def list_batches(workspace: Workspace) -> tuple[BatchReport, ...]:
    """Every accepted file, oldest first."""
    found = records.Batch.objects.using(workspace.alias).select_related("facility").order_by("number")
    if workspace.pinned is not None:
        found = found.filter(number__lte=workspace.pinned.batch)
    return tuple(_batch_report(entry) for entry in found)


def get_batch(workspace: Workspace, number: int) -> BatchReport:
    """One accepted file; ``RequestProblem`` where there is none of that number."""
    entry = records.Batch.objects.using(workspace.alias).select_related("facility").filter(number=number).first()
    if entry is None:
        raise RequestProblem(
            _("there is no batch {number}.").format(number=number), fix=_("The list of batches shows their numbers.")
        )
    return _batch_report(entry)


def row_fates(
    workspace: Workspace, number: int, *, reason: str | None = None, limit: int | None = None, offset: int = 0
) -> Iterator[RowFate]:
    """What became of every row of a batch, in the order of the file, one at a time."""
    get_batch(workspace, number)
    return workspace.rows.fates(number, reason=reason, limit=limit, offset=offset)


def row_doubts(
    workspace: Workspace, number: int, *, reason: str | None = None, limit: int | None = None
) -> Iterator[RowDoubt]:
    """What was kept with a doubt, by row."""
    get_batch(workspace, number)
    return workspace.rows.doubts(number, reason=reason, limit=limit)


def list_changes(workspace: Workspace, *, limit: int = 200) -> tuple[AuditEntry, ...]:
    """The audit trail, newest first."""
    found = records.AuditLine.objects.using(workspace.alias).order_by("-id")[:limit]
    return tuple(AuditEntry(at=line.at, action=line.action, subject=line.subject, detail=line.detail) for line in found)


def record_batch(workspace: Workspace, report: BatchReport, *, file_bytes: int) -> None:
    """Stores the batch: from the end of this transaction on, readers see its versions."""
    facility = records.Facility.objects.using(workspace.alias).get(name=report.facility)
    records.Batch.objects.using(workspace.alias).create(
        number=report.number,
        kind=report.kind,
        taken_at=report.taken_at,
        file_name=report.file_name[:255],
        fingerprint=report.fingerprint,
        file_bytes=file_bytes,
        facility=facility,
        source=report.source,
        reconciliation=asdict(report.reconciliation),
        mapping=asdict(report.mapping),
        notes=list(report.notes),
        changed_months=list(report.changed_months),
        added=report.added,
        changed=report.changed,
        unchanged=report.unchanged,
        outdated=report.outdated,
        sets_version=report.versions.sets,
        bottles_version=report.versions.bottles,
        isolates_version=report.versions.isolates,
        movements_version=report.versions.movements,
        code_version=report.code_version,
    )


def _batch_report(entry: records.Batch) -> BatchReport:
    return BatchReport(
        number=entry.number,
        kind=entry.kind,
        taken_at=entry.taken_at.astimezone(UTC),
        file_name=entry.file_name,
        fingerprint=entry.fingerprint,
        facility=entry.facility.name,
        source=entry.source,
        reconciliation=_reconciliation_of(entry.reconciliation),
        mapping=SourceMemory(**entry.mapping),
        notes=tuple(entry.notes),
        changed_months=tuple(entry.changed_months),
        added=entry.added,
        changed=entry.changed,
        unchanged=entry.unchanged,
        outdated=entry.outdated,
        versions=versions_of(entry),
        code_version=entry.code_version,
        released_at=entry.released_at.astimezone(UTC) if entry.released_at else None,
    )


def _reconciliation_of(plain: dict[str, Any]) -> Reconciliation:
    return Reconciliation(
        rows=plain["rows"],
        sets=plain["sets"],
        losses=tuple(Tally(**tally) for tally in plain["losses"]),
        doubts=tuple(Tally(**tally) for tally in plain["doubts"]),
    )
