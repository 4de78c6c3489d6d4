"""The diary of dated changes: noted, read, corrected and withdrawn; nothing that was noted is ever written over."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, date, datetime
from typing import Any

from cubital.answers.diary_entry import Draft, draft_troubles, tidy_text
from cubital.domain.diary import ChangeKind, DiaryEntry
from cubital.domain.errors import RequestProblem
from cubital.domain.words import _, day_words
from cubital.workspace import records
from cubital.workspace.diary_places import DiaryPlaces, KnownPlaces
from cubital.workspace.facilities import get_facility
from cubital.workspace.noted_elsewhere import noted_elsewhere
from cubital.workspace.opening import Workspace
from cubital.workspace.writing import hold_workspace, note_change, one_transaction


@dataclass(frozen=True, kw_only=True)
class HistoryLine:
    """One form that an entry has had: when it was noted, and when and why it ended, both none and empty in force.

    ``replaced_by`` is the number of the entry that corrected it, none where none did.
    """

    entry: DiaryEntry
    noted_at: datetime
    ended_at: datetime | None
    why: str
    replaced_by: int | None


def list_entries(
    workspace: Workspace, *, facility: str | None = None, unit: str | None = None
) -> tuple[DiaryEntry, ...]:
    """What changed, by day: the entries in force, and with number 0 what the workspace knows from elsewhere.

    With a place, only what reached it: noted there, in all of its facility, or everywhere. Without one, all of it.
    ``unit`` may be any name that the unit has had; entries carry the key that it has today. ``RequestProblem`` where
    the facility is unknown; a unit that nobody knows has what reached its facility. A pinned workspace gives what
    counted then.
    """
    places = DiaryPlaces(workspace)
    kept = (_entry(record, places) for record in _in_force(workspace))
    found = [*kept, *(places.named(entry) for entry in noted_elsewhere(workspace))]
    if facility is not None:
        name = get_facility(workspace, facility).name
        key = places.current_key(name, unit) if unit is not None else None
        found = [entry for entry in found if entry.covers(facility=name, unit=key)]
    return tuple(sorted(found, key=lambda entry: (entry.on, entry.number, entry.words)))


def note_entry(
    workspace: Workspace,
    *,
    kind: ChangeKind,
    on: date,
    words: str,
    facility: str | None = None,
    unit: str | None = None,
    until: date | None = None,
    noted_by: str = "",
) -> DiaryEntry:
    """Keeps one change. ``RequestProblem`` says everything that is wrong with it, and whether it is there already."""
    draft = Draft(kind=kind, on=on, words=words, facility=facility or "", unit=unit or "", until=until)
    with hold_workspace(workspace), one_transaction(workspace) as database:
        keeper = Keeper(workspace, database=database, noted_by=noted_by)
        keeper.check(draft)
        keeper.refuse_twice(draft)
        record = keeper.keep(draft)
        note_change(workspace, action="note_diary", subject=f"diary entry {record.number}", **_plain(record))
    return _entry(record, DiaryPlaces(workspace))


def correct_entry(
    workspace: Workspace,
    *,
    number: int,
    why: str,
    kind: ChangeKind,
    on: date,
    words: str,
    facility: str | None = None,
    unit: str | None = None,
    until: date | None = None,
    noted_by: str = "",
) -> DiaryEntry:
    """Keeps the corrected entry under a new number and ends the old one with the day and the reason.

    All of the entry is given again, as it should read. ``RequestProblem`` where there is no such entry in force, where
    the reason is missing, where nothing would change, or where the new text cannot be kept.
    """
    draft = Draft(kind=kind, on=on, words=words, facility=facility or "", unit=unit or "", until=until)
    with hold_workspace(workspace), one_transaction(workspace) as database:
        old = _get_in_force(workspace, number)
        keeper = Keeper(workspace, database=database, noted_by=noted_by)
        keeper.check(draft)
        if keeper.same(draft, old):
            raise RequestProblem(
                _("entry {number} says exactly this already.").format(number=number), fix=_("Nothing was changed.")
            )
        keeper.refuse_twice(draft)
        _end(old, why=why, database=database)
        record = keeper.keep(draft, replaces=number)
        note_change(
            workspace, action="correct_diary", subject=f"diary entry {number}", now=record.number,
            why=old.withdrawn_why, **_plain(record),
        )  # fmt: skip
    return _entry(record, DiaryPlaces(workspace))


def withdraw_entry(workspace: Workspace, *, number: int, why: str) -> HistoryLine:
    """Ends an entry with the day and the reason; it stays readable in its history and counts no more."""
    with hold_workspace(workspace), one_transaction(workspace) as database:
        old = _get_in_force(workspace, number)
        _end(old, why=why, database=database)
        note_change(workspace, action="withdraw_diary", subject=f"diary entry {number}", why=old.withdrawn_why)
    return entry_history(workspace, number)[-1]


def entry_history(workspace: Workspace, number: int) -> tuple[HistoryLine, ...]:
    """Every form that this entry has had, oldest first, whichever of its numbers is given."""
    rows = {row.number: row for row in records.DiaryEntry.objects.using(workspace.alias).select_related("facility")}
    if number not in rows:
        raise RequestProblem(_("there is no entry {number} in the diary.").format(number=number), fix=_see_list())
    later = {row.replaces: row.number for row in rows.values() if row.replaces is not None}
    first = number
    while (earlier := rows[first].replaces) is not None:
        first = earlier
    places = DiaryPlaces(workspace)
    lines, at = [], first
    while True:
        row = rows[at]
        lines.append(
            HistoryLine(
                entry=_entry(row, places), noted_at=row.noted_at, ended_at=row.withdrawn_at, why=row.withdrawn_why,
                replaced_by=later.get(at),
            )
        )  # fmt: skip
        if at not in later:
            return tuple(lines)
        at = later[at]


def find_entry(workspace: Workspace, number: int) -> DiaryEntry:
    """The entry of that number, in force; ``RequestProblem`` says what became of one that is not."""
    return _entry(_get_in_force(workspace, number), DiaryPlaces(workspace))


class Keeper:
    """Checks entries against the places and the entries that there are, and keeps them; inside one transaction."""

    def __init__(self, workspace: Workspace, *, database: str, noted_by: str = "", source: str = "") -> None:
        self._database, self._noted_by, self._source = database, tidy_text(noted_by), source
        self._known = KnownPlaces(workspace)
        self._today = date.today()  # noqa: DTZ011 the diary is kept in local days
        self._there = {self._said_of(record): record.number for record in _in_force(workspace)}

    def check(self, draft: Draft) -> None:
        """Raises one ``RequestProblem`` with everything that is wrong with the entry and its place."""
        troubles = draft_troubles(draft, today=self._today)
        place = "" if draft.unit and not draft.facility else self._known.trouble(draft)
        if troubles or place:
            raise RequestProblem("; ".join([*troubles, *([place] if place else [])]) + ".")

    def known_as(self, draft: Draft) -> int | None:
        """The number of an entry in force that says exactly this; none where there is none."""
        return self._there.get(self._said(draft))

    def refuse_twice(self, draft: Draft) -> None:
        """Raises ``RequestProblem`` where the diary holds exactly this already."""
        number = self.known_as(draft)
        if number is not None:
            raise RequestProblem(
                _("this is in the diary already, as entry {number}.").format(number=number),
                fix=_("Nothing was changed."),
            )

    def unknown(self, drafts: Iterable[Draft]) -> tuple[Draft, ...]:
        """Those that neither the diary nor an earlier one of them says, in their order."""
        said: dict[tuple[object, ...], Draft] = {}
        for draft in drafts:
            if self.known_as(draft) is None:
                said.setdefault(self._said(draft), draft)
        return tuple(said.values())

    def same(self, draft: Draft, record: records.DiaryEntry) -> bool:
        """Whether the record says exactly what the entry says."""
        return self._said(draft) == self._said_of(record)

    def keep(self, draft: Draft, *, replaces: int | None = None) -> records.DiaryEntry:
        """Writes the entry under the next number."""
        rows = records.DiaryEntry.objects.using(self._database)
        last = rows.order_by("-number").first()
        facility, unit = self._known.resolved(draft)
        record = rows.create(
            number=last.number + 1 if last else 1, kind=draft.kind.value, facility=facility, unit_key=unit, on=draft.on,
            until=draft.until, words=tidy_text(draft.words), source=self._source[:200], noted_by=self._noted_by[:120],
            noted_at=datetime.now(UTC), replaces=replaces,
        )  # fmt: skip
        self._there[self._said(draft)] = record.number
        return record

    def _said(self, draft: Draft) -> tuple[object, ...]:
        facility, unit = self._known.resolved(draft)
        words = tidy_text(draft.words).casefold()
        return (draft.kind.value, draft.on, draft.until, facility.key if facility else "", unit, words)

    def _said_of(self, record: records.DiaryEntry) -> tuple[object, ...]:
        facility = record.facility
        unit = self._known.current_key(facility.name, record.unit_key) if facility and record.unit_key else ""
        return (record.kind, record.on, record.until, facility.key if facility else "", unit, record.words.casefold())


def _in_force(workspace: Workspace) -> Iterable[records.DiaryEntry]:
    rows = records.DiaryEntry.objects.using(workspace.alias).select_related("facility").order_by("number")
    if workspace.pinned is not None:
        return rows.filter(number__in=workspace.pinned.diary)
    return rows.filter(withdrawn_at__isnull=True)


def _get_in_force(workspace: Workspace, number: int) -> records.DiaryEntry:
    rows = records.DiaryEntry.objects.using(workspace.alias).select_related("facility")
    record = rows.filter(number=number).first()
    if record is None:
        raise RequestProblem(_("there is no entry {number} in the diary.").format(number=number), fix=_see_list())
    later = rows.filter(replaces=number).first()
    if later is not None:
        raise RequestProblem(
            _("entry {number} was corrected by entry {later}.").format(number=number, later=later.number),
            fix=_("Name that one."),
        )
    if record.withdrawn_at is not None:
        day = day_words(record.withdrawn_at.astimezone(UTC).date())
        raise RequestProblem(
            _("entry {number} was withdrawn on {day}: {why}").format(number=number, day=day, why=record.withdrawn_why),
            fix=_("Note the change anew if it counts after all."),
        )
    return record


def _end(record: records.DiaryEntry, *, why: str, database: str) -> None:
    reason = tidy_text(why)
    if not reason:
        raise RequestProblem(
            _("a diary entry is not taken back without a reason."), fix=_("Say in a few words what was wrong with it.")
        )
    record.withdrawn_at, record.withdrawn_why = datetime.now(UTC), reason[:400]
    record.save(using=database)


def _entry(record: records.DiaryEntry, places: DiaryPlaces) -> DiaryEntry:
    """The entry as it was kept, at its place as it is called today."""
    facility = record.facility.name if record.facility else None
    return places.named(
        DiaryEntry(
            kind=ChangeKind(record.kind), on=record.on, until=record.until, words=record.words, facility=facility,
            unit=places.current_key(facility, record.unit_key) if facility and record.unit_key else None,
            number=record.number, noted_by=record.noted_by,
        )
    )  # fmt: skip


def _plain(record: records.DiaryEntry) -> dict[str, Any]:
    return {
        "kind": record.kind, "on": record.on.isoformat(), "until": record.until.isoformat() if record.until else None,
        "facility": record.facility.name if record.facility else None, "unit": record.unit_key, "words": record.words,
    }  # fmt: skip


def _see_list() -> str:
    return _("Look the number up in the list of the diary.")
