"""Private letters: made, remembered until their day, and corrected when a set they counted reads differently."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime
from pathlib import Path

from cubital.answers.month_text import month_before
from cubital.answers.people_counts import PeopleCounts
from cubital.answers.people_reading import PersonCount
from cubital.answers.person_letter import LetterMaterial, Part, SetChange, correction_parts, letter_parts
from cubital.domain.charter import SetClass
from cubital.domain.errors import RequestProblem
from cubital.domain.words import _
from cubital.judge.drawn import DrawnSet
from cubital.papers.out_files import write_whole
from cubital.papers.person_page import PersonPage, print_person_page
from cubital.workspace import records
from cubital.workspace.opening import Workspace
from cubital.workspace.people import counts_reading, counts_receipt, find_member
from cubital.workspace.people_gathering import EVERYTHING, PeopleMaterial, Period, Window, gather_people
from cubital.workspace.policy_rules import individual_keep_months
from cubital.workspace.printing import paper_size
from cubital.workspace.snapshots import snapshot_words
from cubital.workspace.writing import note_change, one_transaction


@dataclass(frozen=True, kw_only=True)
class LetterStyle:
    """How a letter is printed: whom it addresses by name (from the staff list, kept nowhere), whom to ask, on what."""

    name: str = ""
    contact: str = ""
    paper: str = "a4"
    today: date | None = None

    @property
    def day(self) -> date:
        """The day on the letter."""
        return self.today or date.today()  # noqa: DTZ011 - a letter carries the desk's day


@dataclass(frozen=True, kw_only=True)
class LetterRecord:
    """One letter that was made: its kind, day, months, figures, and what a correction changed."""

    number: int
    key: str
    kind: str
    made_at: datetime
    period: Period
    draws: int
    contaminated: int
    changes: int
    expires_on: date


@dataclass(frozen=True, kw_only=True)
class CorrectionDue:
    """A letter that no longer holds: ``told`` are its figures, ``changes`` the sets that read differently now."""

    key: str
    letter: LetterRecord
    told: PersonCount
    changes: tuple[SetChange, ...]


def make_letter(
    workspace: Workspace,
    window: Window = EVERYTHING,
    *,
    key: str,
    out: Path,
    style: LetterStyle | None = None,
) -> LetterRecord:
    """Writes the private letter of one person to ``out`` and remembers which sets it rests on until it expires."""
    style = style or LetterStyle()
    size = paper_size(style.paper)
    found = gather_people(workspace, window, persons=(key,))
    material = _material(found, key, style=style)
    page = PersonPage(
        heading=_("Your draws, {period}").format(period=material.period), key=key, name=style.name,
        parts=letter_parts(material), receipt=found.receipt, made_on=style.day,
    )  # fmt: skip
    write_whole(out, print_person_page(page, paper=size))
    return _remember(workspace, found, material, kind="feedback", changes=())


def letter_words(found: PeopleMaterial, key: str) -> tuple[Part, ...]:
    """What the letter of a person would say, to be read before it is made; nothing is remembered."""
    return letter_parts(_material(found, key, style=LetterStyle()))


def make_correction(workspace: Workspace, *, key: str, out: Path, style: LetterStyle | None = None) -> LetterRecord:
    """Writes the correction of a person's last letter: what changed and why, with an apology; remembers it.

    ``RequestProblem`` where the last letter still holds, or none was made.
    """
    style = style or LetterStyle()
    size = paper_size(style.paper)
    due = next((one for one in corrections_due(workspace) if one.key == key), None)
    if due is None:
        raise RequestProblem(
            _("no letter to {key} needs a correction: what it said still holds.").format(key=key),
            fix=_("See which do with 'cubital people corrections'."),
        )
    period = due.letter.period
    found = gather_people(workspace, period.window(), persons=(key,))
    material = _material(found, key, style=style)
    told_on = due.letter.made_at.astimezone().date()
    page = PersonPage(
        heading=_("A correction, {period}").format(period=material.period), key=key, name=style.name,
        parts=correction_parts(material, due.changes, told_on=told_on, told=due.told), receipt=found.receipt,
        made_on=style.day,
    )  # fmt: skip
    write_whole(out, print_person_page(page, paper=size))
    return _remember(workspace, found, material, kind="correction", changes=due.changes)


def print_letter_from_counts(counts: PeopleCounts, *, key: str, out: Path, style: LetterStyle | None = None) -> None:
    """The letter of one code from counts alone; nothing is remembered."""
    style = style or LetterStyle()
    reading = counts_reading(counts)
    count = next((one for one in counts.people if one.key == key), None)
    if count is None:
        raise RequestProblem(_("nobody here has the key '{key}'.").format(key=key))
    material = LetterMaterial(count=count, reading=reading, period="", contact=style.contact)
    page = PersonPage(
        heading=_("Your draws"), key=key, name=style.name, parts=letter_parts(material),
        receipt=counts_receipt(), made_on=style.day,
    )  # fmt: skip
    write_whole(out, print_person_page(page, paper=paper_size(style.paper)))


def corrections_due(workspace: Workspace) -> tuple[CorrectionDue, ...]:
    """Every last letter that a later result, dispute or staff list has made wrong, by key.

    A letter is wrong where a contaminated set of it no longer counts so or no longer as theirs, or where another set
    does; a clean set that came in later makes none wrong.
    """
    last: dict[str, records.FeedbackLetter] = {}
    entries = records.FeedbackLetter.objects.using(workspace.alias).select_related("member").order_by("pk")
    for entry in entries:
        last[entry.member.key] = entry
    by_period: dict[tuple[str, str], list[records.FeedbackLetter]] = {}
    for entry in last.values():
        by_period.setdefault((entry.from_month, entry.to_month), []).append(entry)
    due = []
    for (first, to), letters in by_period.items():
        keys = [letter.member.key for letter in letters]
        now = gather_people(workspace, Window(from_month=first, to_month=to), persons=keys)
        sets = {one.count.key: one.sets for one in now.people}
        for letter in letters:
            changes = _changes(letter, sets.get(letter.member.key, ()))
            if changes:
                due.append(_due(letter, changes))
    return tuple(sorted(due, key=lambda one: one.key))


def person_history(workspace: Workspace, key: str) -> tuple[LetterRecord, ...]:
    """Every letter to a person that has not expired, oldest first."""
    entries = records.FeedbackLetter.objects.using(workspace.alias).filter(member=find_member(workspace, key))
    return tuple(_record(entry) for entry in entries.select_related("member").order_by("pk"))


def expire_individual(workspace: Workspace, *, today: date | None = None) -> int:
    """Deletes the records of letters whose day has passed, and says how many there were."""
    day = today or date.today()  # noqa: DTZ011 - the policy runs by the desk's calendar
    with one_transaction(workspace) as database:
        old = records.FeedbackLetter.objects.using(database).filter(expires_on__lte=day)
        count = old.count()
        if count:
            old.delete()
            note_change(workspace, action="expire_individual", subject="people", letters=count)
    return count


def _material(found: PeopleMaterial, key: str, *, style: LetterStyle) -> LetterMaterial:
    draws = found.draws_of(key)
    first, later = _halves(draws.sets, found.period)
    return LetterMaterial(
        count=draws.count, reading=found.reading, period=found.period.words(), by_initials=draws.by_initials,
        before=first, later=later, contact=style.contact, expires_on=_expiry(found, style.day),
    )  # fmt: skip


def _halves(sets: Sequence[DrawnSet], period: Period) -> tuple[tuple[int, int] | None, tuple[int, int] | None]:
    """Clean and all draws in the first and the second half of the months; none where there is one month only."""
    months, month = [], period.to_month
    while month >= period.from_month:
        months.append(month)
        month = month_before(month)
    if len(months) < 2:
        return None, None
    middle = sorted(months)[len(months) // 2]
    halves: tuple[list[DrawnSet], list[DrawnSet]] = ([], [])
    for one in sets:
        if one.day:
            halves[f"{one.day:%Y-%m}" >= middle].append(one)
    first, later = ((sum(one.set_class is not SetClass.CONTAMINATED for one in half), len(half)) for half in halves)
    return first, later


def _expiry(found: PeopleMaterial, day: date) -> date:
    month = month_before(f"{day:%Y-%m}", -individual_keep_months(found.policy))
    return date(int(month[:4]), int(month[5:]), min(day.day, 28))


def _remember(
    workspace: Workspace, found: PeopleMaterial, material: LetterMaterial, *, kind: str, changes: Sequence[SetChange]
) -> LetterRecord:
    key = material.count.key
    expires = material.expires_on or datetime.now(UTC).date()
    with one_transaction(workspace) as database:
        entry = records.FeedbackLetter.objects.using(database).create(
            member=find_member(workspace, key), kind=kind, made_at=datetime.now(UTC),
            from_month=found.period.from_month, to_month=found.period.to_month, data=snapshot_words(workspace)[:200],
            draws=material.count.draws, contaminated=material.count.contaminated, expires_on=expires,
            sets=[_plain_set(one) for one in found.draws_of(key).sets],
            changes=[
                [one.facility, one.accession, one.was and one.was.value, one.now and one.now.value] for one in changes
            ],
        )  # fmt: skip
        note_change(workspace, action="make_letter", subject=kind, changes=len(changes))
        return _record(entry)


def _plain_set(one: DrawnSet) -> list[str | None]:
    return [one.facility, one.accession, one.day.isoformat() if one.day else None, one.set_class.value]


def _record(entry: records.FeedbackLetter) -> LetterRecord:
    return LetterRecord(
        number=entry.pk, key=entry.member.key, kind=entry.kind, made_at=entry.made_at,
        period=Period(from_month=entry.from_month, to_month=entry.to_month), draws=entry.draws,
        contaminated=entry.contaminated, changes=len(entry.changes), expires_on=entry.expires_on,
    )  # fmt: skip


def _due(letter: records.FeedbackLetter, changes: tuple[SetChange, ...]) -> CorrectionDue:
    key = letter.member.key
    told = PersonCount(key=key, draws=letter.draws, contaminated=letter.contaminated)
    return CorrectionDue(key=key, letter=_record(letter), told=told, changes=changes)


def _changes(letter: records.FeedbackLetter, now: Sequence[DrawnSet]) -> tuple[SetChange, ...]:
    told = {(facility, accession): (day, SetClass(read)) for facility, accession, day, read in letter.sets}
    today = {(one.facility, one.accession): one for one in now}
    found = []
    for place in sorted(told.keys() | today.keys()):
        day, was = told.get(place, (None, None))
        one = today.get(place)
        is_now = one.set_class if one else None
        gone = was is not None and is_now is None
        touched = was is not is_now and SetClass.CONTAMINATED in (was, is_now)
        if not (gone or touched):
            continue
        found.append(
            SetChange(
                facility=place[0], accession=place[1], was=was, now=is_now,
                day=one.day if one else date.fromisoformat(day) if day else None,
            )
        )  # fmt: skip
    return tuple(found)
