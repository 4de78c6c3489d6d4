"""Opens the cultures as a committed batch left them, with the units' names of today."""

from __future__ import annotations

from datetime import datetime

from cubital.domain.errors import RequestProblem
from cubital.domain.snapshots import TableVersions
from cubital.domain.words import _
from cubital.engine import QuerySession
from cubital.judge.preparing import DECISIONS, UNIT_NAMES
from cubital.store.elsewhere import open_snapshot_on
from cubital.store.places import read_unit_labels
from cubital.workspace import records
from cubital.workspace.decided import decision_rows, decision_state
from cubital.workspace.opening import Workspace
from cubital.workspace.unit_names import resolve_units


def open_snapshot(workspace: Workspace, batch: int | None = None) -> QuerySession:
    """A session with ``sets``, ``bottles``, ``isolates``, ``movements`` as a batch left them, by default the last.

    ``unit_names(facility, unit_key, current_key, unit_name)`` maps every label of a unit to the key and the name that
    it has today. The session runs on the workspace's engine. Raises ``RequestProblem`` where no file has been taken
    or the batch is unknown.
    """
    entry = _committed(workspace, batch)
    if entry is None:
        raise RequestProblem(_("no file has been taken in yet."), fix=_("Take a laboratory file in first."))
    if entry.released_at:
        raise RequestProblem(
            _("what batch {number} left was let go on {day}: the keep time had passed.").format(
                number=entry.number, day=entry.released_at.date().isoformat()
            ),
            fix=_("Ask for a later batch, or look in a backup made before that day."),
        )
    return open_versions(workspace, state_of(workspace, entry))


def open_versions(
    workspace: Workspace, versions: TableVersions, *, decided_by: datetime | None = None, undecided: bool = False
) -> QuerySession:
    """The same for table versions; an empty workspace opens with empty tables.

    ``decisions(facility, accession, decision)`` holds what medical microbiology had decided by that moment, by default
    now; ``undecided`` leaves it out.
    """
    session = open_snapshot_on(workspace.cultures, versions, engine=workspace.engine)
    units = resolve_units(workspace, read_unit_labels(session))
    session.add_rows("unit_names", UNIT_NAMES, [(u.facility, u.unit_key, u.current_key, u.unit_name) for u in units])
    if not undecided and (decided := decision_rows(workspace, at=decided_by)):
        session.add_rows("decisions", DECISIONS, decided)
    return session


def snapshot_words(workspace: Workspace, batch: int | None = None) -> str:
    """The snapshot as a receipt names it: ``batch 7 (sets 5, bottles 5, isolates 5, movements 1)``; or nothing.

    A table that does not exist yet is left out.
    """
    entry = _committed(workspace, batch)
    if entry is None:
        return ""
    versions = versions_of(entry)
    tables = (
        (_("sets {version}"), versions.sets),
        (_("bottles {version}"), versions.bottles),
        (_("isolates {version}"), versions.isolates),
        (_("movements {version}"), versions.movements),
    )
    held = ", ".join(words.format(version=version) for words, version in tables if version >= 0)
    noted, withdrawn = decision_state(workspace)
    if noted:
        decided = _("{noted} decisions noted, {withdrawn} withdrawn").format(noted=noted, withdrawn=withdrawn)
        held = ", ".join(part for part in (held, decided) if part)
    return _("batch {number} ({tables})").format(number=entry.number, tables=held)


def committed_versions(workspace: Workspace) -> TableVersions:
    """The versions that readers open now; all -1 before the first file."""
    entry = _committed(workspace, None)
    return state_of(workspace, entry) if entry else TableVersions()


def last_batch_number(workspace: Workspace) -> int:
    """The number of the last committed batch; 0 before the first."""
    entry = _committed(workspace, None)
    return entry.number if entry else 0


def last_compaction_number(workspace: Workspace) -> int:
    """The number of the last committed compaction; 0 before the first."""
    entry = records.Compaction.objects.using(workspace.alias).order_by("-number").first()
    return entry.number if entry else 0


def state_of(workspace: Workspace, entry: records.Batch) -> TableVersions:
    """The versions that hold what a batch left: its last compaction's, or those that the batch itself named."""
    compactions = records.Compaction.objects.using(workspace.alias).filter(batch=entry.number)
    return versions_of(compactions.order_by("-number").first() or entry)


def versions_of(entry: records.Batch | records.Compaction) -> TableVersions:
    """The table versions that a batch or a compaction names."""
    return TableVersions(
        sets=entry.sets_version,
        bottles=entry.bottles_version,
        isolates=entry.isolates_version,
        movements=entry.movements_version,
    )


def _committed(workspace: Workspace, batch: int | None) -> records.Batch | None:
    found = records.Batch.objects.using(workspace.alias).select_related("facility")
    if workspace.pinned is not None:
        found = found.filter(number__lte=workspace.pinned.batch)
    if batch is None:
        return found.order_by("-number").first()
    entry = found.filter(number=batch).first()
    if entry is None:
        raise RequestProblem(
            _("there is no batch {number}.").format(number=batch), fix=_("The list of batches shows their numbers.")
        )
    return entry
