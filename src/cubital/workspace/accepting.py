"""The common way of every file into the workspace, from its name to the record that makes it count."""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from cubital import __version__
from cubital.domain.errors import FileProblem
from cubital.domain.places import Facility, SourceMemory
from cubital.domain.reconciliation import Reconciliation
from cubital.domain.snapshots import TableVersions
from cubital.domain.words import _
from cubital.engine import Session, open_session
from cubital.workspace import records
from cubital.workspace.batches import BatchReport, get_batch, record_batch
from cubital.workspace.facilities import find_facility, record_facility, settle_facility
from cubital.workspace.fingerprints import batch_list, note_fingerprints, sweep_fingerprints
from cubital.workspace.opening import Workspace
from cubital.workspace.snapshots import committed_versions, last_batch_number, last_compaction_number
from cubital.workspace.sources import plain_memory, recall_source, record_source
from cubital.workspace.writing import note_change, one_transaction

Progress = Callable[[str, float], None]
OTHER_PATIENTS = "other_patients"  # an answer for one file only: the next one is asked again
READING_SHARE = 0.75  # of the whole; the rest is comparing and storing


@dataclass(frozen=True, kw_only=True)
class Arrival:
    """A file on its way in: where it lies (``size`` in bytes), what it is, and what it will be read with."""

    path: Path
    size: int
    kind: str
    facility: Facility
    source: str
    memory: SourceMemory


@dataclass(frozen=True, kw_only=True)
class Change:
    """What storing the file did: versions, counts of sets or stays, and the months restated."""

    versions: TableVersions
    added: int
    changed: int
    unchanged: int
    outdated: int
    changed_months: tuple[str, ...]


def prepare_arrival(
    workspace: Workspace,
    *,
    kind: str,
    file: Path | str,
    facility: str,
    timezone: str | None,
    source: str | None,
    accept: bool,
    answers: Mapping[str, str],
) -> Arrival:
    """Settles everything that can be known before the file is read; nothing is stored.

    Raises ``FileProblem`` where there is no such file, ``QuestionsOpen`` or ``RequestProblem`` about the facility.
    """
    path = Path(file).expanduser().absolute()
    size = _checked_size(path)
    place = settle_facility(workspace, name=facility, timezone=timezone, answers=answers, accept=accept)
    name = " ".join((source or "").split()) or (place.name if kind == "cultures" else f"{place.name}: {kind}")
    memory = recall_source(workspace, name, answers=answers)
    return Arrival(path=path, size=size, kind=kind, facility=place, source=name, memory=memory)


def find_same_batch(workspace: Workspace, arrival: Arrival) -> BatchReport | None:
    """The batch that took this very file, read with the same columns and answers by this version; none otherwise."""
    numbers = _batches_like(workspace, arrival)
    if not numbers:
        return None
    found = find_batch_of(workspace, arrival, file_fingerprint(arrival.path))
    if found and plain_memory(found.mapping) == plain_memory(arrival.memory) and found.code_version == __version__:
        return found
    return None


def find_batch_of(workspace: Workspace, arrival: Arrival, fingerprint: str) -> BatchReport | None:
    """The latest batch that took a file with this fingerprint for the same facility; none otherwise."""
    for number in reversed(_batches_like(workspace, arrival)):
        found = get_batch(workspace, number)
        if found.fingerprint == fingerprint:
            return found
    return None


def file_fingerprint(path: Path) -> str:
    """The SHA-256 of the file's bytes as 64 hexadecimal digits."""
    with path.open("rb") as stream:
        return hashlib.file_digest(stream, "sha256").hexdigest()


def recover(workspace: Workspace) -> TableVersions:
    """Undoes what an interrupted run left, and gives the versions to build on. Only while holding the workspace."""
    last_batch, last_compaction = last_batch_number(workspace), last_compaction_number(workspace)
    workspace.rows.sweep(last_batch)
    sweep_fingerprints(workspace, last_batch=last_batch, last_compaction=last_compaction)
    return workspace.cultures.recover(
        committed_versions(workspace), last_batch=last_batch, last_compaction=last_compaction
    )


def open_reading(workspace: Workspace) -> Session:
    """The session in which a file is read, in its order, and stored. It can reach the workspace's tables only."""
    workspace.cultures.folder.mkdir(exist_ok=True)  # not the workspace's own folder: where that went, it stays away
    workspace.rows.folder.mkdir(exist_ok=True)
    return open_session(folders=[workspace.cultures.folder, workspace.rows.folder])


def accept_batch(
    workspace: Workspace,
    *,
    arrival: Arrival,
    number: int,
    fingerprint: str,
    reconciliation: Reconciliation,
    memory: SourceMemory,
    notes: tuple[str, ...],
    change: Change,
) -> BatchReport:
    """The commit point: batch, facility and what the source taught, in one transaction."""
    lasting = _lasting(memory)
    report = BatchReport(
        number=number,
        kind=arrival.kind,
        taken_at=datetime.now(UTC),
        file_name=arrival.path.name,
        fingerprint=fingerprint,
        facility=arrival.facility.name,
        source=arrival.source,
        reconciliation=reconciliation,
        mapping=SourceMemory(**plain_memory(lasting)),
        notes=notes,
        changed_months=change.changed_months,
        added=change.added,
        changed=change.changed,
        unchanged=change.unchanged,
        outdated=change.outdated,
        versions=change.versions,
        code_version=__version__,
    )
    note_fingerprints(workspace, name=batch_list(number), versions=change.versions, batch=number)
    with one_transaction(workspace):
        record_facility(workspace, facility=arrival.facility)
        record_source(workspace, source=arrival.source, memory=lasting)
        record_batch(workspace, report, file_bytes=arrival.size)
        note_change(
            workspace, action="take_file", subject=f"batch {number}", kind=arrival.kind, rows=reconciliation.rows,
            added=change.added, changed=change.changed,
        )  # fmt: skip
    return report


def _lasting(memory: SourceMemory) -> SourceMemory:
    answers = {key: answer for key, answer in memory.answers.items() if key != OTHER_PATIENTS}
    return SourceMemory(columns=memory.columns, answers=answers, organisms=memory.organisms)


def elsewhere_note(workspace: Workspace, arrival: Arrival, fingerprint: str) -> tuple[str, ...]:
    """A sentence where the same file was taken for another facility: one of the two is a slip."""
    others = (
        records.Batch.objects.using(workspace.alias)
        .filter(fingerprint=fingerprint, kind=arrival.kind)
        .exclude(facility__name=arrival.facility.name)
        .select_related("facility")
    )
    return tuple(
        _("The same file was taken for {facility} as batch {number}. One of the two may be a slip.").format(
            facility=other.facility.name, number=other.number
        )
        for other in others
    )


def _batches_like(workspace: Workspace, arrival: Arrival) -> list[int]:
    """Batches of this kind, facility and file size: only then is the fingerprint worth computing before reading."""
    if find_facility(workspace, arrival.facility.name) is None:
        return []
    found = records.Batch.objects.using(workspace.alias).filter(
        kind=arrival.kind, facility__name=arrival.facility.name, file_bytes=arrival.size
    )
    return list(found.order_by("number").values_list("number", flat=True))


def _checked_size(path: Path) -> int:
    try:
        if path.is_dir():
            raise FileProblem(_("this is a folder."), where=path.name, fix=_("Name one file in it."))
        return path.stat().st_size
    except OSError as error:
        raise FileProblem(
            _("the file cannot be found or read."), where=path.name, fix=_("Check its name and where it lies.")
        ) from error
