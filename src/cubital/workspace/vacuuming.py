"""Lets old states go after the keep time, and deletes the files that only they needed.

A state is what a batch left. As long as it is promised it can be opened again, row for row. Promised are the last
state, every state until its keep time has passed (by default for ever), and every state a frozen month rests on.
Letting go is two steps, each safe to be killed in: the record says that the state is no longer promised; and files are
deleted that no promised state needs and that nobody can still be reading.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from itertools import pairwise
from pathlib import Path

from cubital.domain.errors import RequestProblem
from cubital.domain.snapshots import TableVersions
from cubital.domain.words import _
from cubital.workspace import records
from cubital.workspace.accepting import recover
from cubital.workspace.opening import Workspace
from cubital.workspace.snapshots import versions_of
from cubital.workspace.writing import hold_workspace, note_change, one_transaction, said_plainly

GRACE = timedelta(hours=1)  # an answer takes seconds, an export minutes; whoever began it finishes on the old files
SETTING_ROW = 1


@dataclass(frozen=True, kw_only=True)
class State:
    """The versions that a batch or a compaction named, current ``since`` then until the next one.

    ``until`` is none for the state that is current now, ``compaction`` for the one that a batch itself left.
    """

    batch: int
    compaction: int | None
    versions: TableVersions
    since: datetime
    until: datetime | None
    released_at: datetime | None


@dataclass(frozen=True, kw_only=True)
class VacuumReport:
    """What is let go: batches whose state can no longer be opened, and files (with ``bytes``) deleted with them.

    ``later_files`` (``later_bytes``) are no longer needed but may still be being read; they go the next time.
    """

    batches: tuple[int, ...]
    files: int
    bytes: int
    later_files: int
    later_bytes: int


def keep_days(workspace: Workspace) -> int | None:
    """How many days an old state can be opened again; none means always."""
    entry = records.CareSetting.objects.using(workspace.alias).filter(id=SETTING_ROW).first()
    return entry.keep_days if entry else None


def set_keep_days(workspace: Workspace, days: int | None) -> None:
    """Sets the keep time for the next vacuum. Nothing is let go by this alone."""
    if days is not None and days < 1:
        raise RequestProblem(
            _("a keep time of {days} days is too short.").format(days=days), fix=_("Give one day or more.")
        )
    with hold_workspace(workspace), one_transaction(workspace) as database:
        records.CareSetting.objects.using(database).update_or_create(id=SETTING_ROW, defaults={"keep_days": days})
        note_change(workspace, action="set_keep_days", subject="keep time", days=days)


def promise_state(workspace: Workspace, *, batch: int, reason: str) -> None:
    """Keeps what ``batch`` left for good. ``RequestProblem`` where it was let go already. Safe to repeat."""
    with hold_workspace(workspace), one_transaction(workspace) as database:
        found = records.Batch.objects.using(database).filter(number=batch, released_at=None)
        if not found.exists():
            raise RequestProblem(
                _("there is no batch {number} whose state could be kept.").format(number=batch),
                fix=_("The list of batches shows their numbers."),
            )
        _entry, new = records.Promise.objects.using(database).get_or_create(
            batch=batch, reason=reason[:200], defaults={"made_at": datetime.now(UTC)}
        )
        if new:
            note_change(workspace, action="promise_state", subject=f"batch {batch}", reason=reason)


def plan_vacuum(workspace: Workspace, *, now: datetime | None = None, grace: timedelta = GRACE) -> VacuumReport:
    """What ``vacuum_workspace`` would do now; nothing is changed."""
    at = now or datetime.now(UTC)
    states = list_states(workspace)
    released = states_to_release(states, promised=_promised(workspace), keep=_keep_time(workspace), now=at)
    gone, later = _files(workspace, states, going=released, now=at, grace=grace)
    return _report(released, gone, later)


def vacuum_workspace(workspace: Workspace, *, now: datetime | None = None, grace: timedelta = GRACE) -> VacuumReport:
    """Lets go of states whose keep time has passed and deletes files that nothing needs and nobody can be reading.

    The records say so first: killed at any moment, a state that is promised is whole. What is left, goes the next time.
    """
    at = now or datetime.now(UTC)
    with hold_workspace(workspace):
        recover(workspace)
        states = list_states(workspace)
        released = states_to_release(states, promised=_promised(workspace), keep=_keep_time(workspace), now=at)
        gone, later = _files(workspace, states, going=released, now=at, grace=grace)
        report = _report(released, gone, later)
        if released or gone:
            _record(workspace, report, at=at)
        with said_plainly(workspace.folder):
            for path in gone:
                _delete(path)
    return report


def list_states(workspace: Workspace) -> tuple[State, ...]:
    """Every state there ever was, in the order in which they were current, whether it can still be opened or not."""
    batches = list(records.Batch.objects.using(workspace.alias).order_by("number"))
    compactions = list(records.Compaction.objects.using(workspace.alias).order_by("number"))
    entries: list[tuple[records.Batch | records.Compaction, records.Batch, datetime]] = []
    for batch in batches:
        entries.append((batch, batch, batch.taken_at))
        entries += [(one, batch, one.compacted_at) for one in compactions if one.batch == batch.number]
    ends = [after[2] for _before, after in pairwise(entries)] + [None] * bool(entries)
    return tuple(
        State(
            batch=batch.number,
            compaction=entry.number if isinstance(entry, records.Compaction) else None,
            versions=versions_of(entry),
            since=since,
            until=until,
            released_at=batch.released_at,
        )
        for (entry, batch, since), until in zip(entries, ends, strict=True)
    )


def states_to_release(
    states: Sequence[State], *, promised: frozenset[int], keep: timedelta | None, now: datetime
) -> tuple[int, ...]:
    """The batches whose state is let go now: not the last one, not promised, and not current within the keep time."""
    if keep is None or not states:
        return ()
    ended: dict[int, datetime | None] = {}
    for state in states:
        ended[state.batch] = state.until  # the last state of a batch says when the batch was no longer current
    open_ones = {state.batch for state in states if state.released_at is None} - promised
    return tuple(
        batch for batch, until in ended.items() if batch in open_ones and until is not None and until < now - keep
    )


def kept_states(states: Sequence[State], *, going: Iterable[int]) -> tuple[State, ...]:
    """The states that stay promised once ``going`` are let go: of every such batch the newest form."""
    gone = set(going)
    newest = {state.batch: state for state in states if state.released_at is None and state.batch not in gone}
    return tuple(newest.values())


def states_in_reading(
    states: Sequence[State], *, going: Iterable[int], now: datetime, grace: timedelta
) -> tuple[State, ...]:
    """The states that somebody may have begun to read within ``grace``: they were current or promised then."""
    gone = set(going) if grace else set()
    recent = now - grace
    return tuple(
        state
        for state in states
        if state.until is None
        or state.until > recent
        or state.batch in gone
        or (state.released_at is not None and state.released_at > recent)
    )


def _files(
    workspace: Workspace, states: Sequence[State], *, going: tuple[int, ...], now: datetime, grace: timedelta
) -> tuple[tuple[Path, ...], tuple[Path, ...]]:
    """The files that can go now, and those that can go once the grace has passed."""
    kept = kept_states(states, going=going)
    reading = states_in_reading(states, going=going, now=now, grace=grace)
    unneeded = workspace.cultures.unneeded_files([state.versions for state in kept])
    free = set(workspace.cultures.unneeded_files([state.versions for state in (*kept, *reading)]))
    written_before = (now - grace).timestamp()
    gone = [path for path in unneeded if path in free and path.stat().st_mtime <= written_before]
    return tuple(gone), tuple(path for path in unneeded if path not in gone)


def _delete(path: Path) -> None:
    """A file that is not there any more, because a vacuum before was interrupted, is no trouble."""
    path.unlink(missing_ok=True)


def _record(workspace: Workspace, report: VacuumReport, *, at: datetime) -> None:
    with one_transaction(workspace) as database:
        records.Batch.objects.using(database).filter(number__in=report.batches).update(released_at=at)
        note_change(
            workspace, action="vacuum", subject=f"{report.files} files", batches=list(report.batches),
            files=report.files, bytes=report.bytes,
        )  # fmt: skip


def _report(released: tuple[int, ...], gone: Sequence[Path], later: Sequence[Path]) -> VacuumReport:
    return VacuumReport(
        batches=released,
        files=len(gone),
        bytes=_size(gone),
        later_files=len(later),
        later_bytes=_size(later),
    )


def _size(paths: Iterable[Path]) -> int:
    return sum(path.stat().st_size for path in paths)


def _promised(workspace: Workspace) -> frozenset[int]:
    return frozenset(records.Promise.objects.using(workspace.alias).values_list("batch", flat=True))


def _keep_time(workspace: Workspace) -> timedelta | None:
    days = keep_days(workspace)
    return None if days is None else timedelta(days=days)
