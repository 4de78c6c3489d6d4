"""Asked before a trial starts: does another change fall together with it, was a unit chosen for being worst?"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, timedelta

from cubital.answers.places_reading import PlaceCount
from cubital.domain.answer import Check
from cubital.domain.diary import DiaryEntry
from cubital.domain.trial import Stretch, TrialDesign
from cubital.domain.words import _, day_words

SAME_TIME = timedelta(days=14)  # two changes closer than this fall together (common practice, no source)
Place = tuple[str, str]


def diary_checks(
    entries: Sequence[DiaryEntry], stretches: Sequence[Stretch], *, design: TrialDesign, noted: bool = True
) -> tuple[Check, ...]:
    """One check per change that may be mistaken for the trial, failed where the two cannot be told apart.

    ``noted`` false says that no diary is kept, so that nothing can be checked. Changes elsewhere, or long before and
    after, are passed over.
    """
    if not noted:
        return (Check(key="diary", passed=None, words=_("The diary is empty: what else changes then is not known.")),)
    found = [_entry_check(entry, stretches, design=design) for entry in entries]
    checks = tuple(check for check in found if check is not None)
    return checks or (
        Check(key="diary", passed=True, words=_("The diary holds no other change in these units and weeks.")),
    )


def is_tangled(entry: DiaryEntry, stretches: Sequence[Stretch], *, design: TrialDesign) -> bool:
    """Whether what this change does cannot be told from what the trial does.

    It can where every unit has both arms in turn, and where the change reaches every unit alike: then it is in both
    arms. Otherwise a change in some units counts if it begins or ends near the day on which they get the new way, or,
    where units are compared with units, at any time in the trial.
    """
    reached = _reached(entry, stretches)
    places = {(one.facility, one.unit) for one in stretches}
    if not reached or design.in_turns or reached == places:
        return False
    return any(_meets(entry, one, design=design) for one in stretches if one.arm == 1 and _place(one) in reached)


def _entry_check(entry: DiaryEntry, stretches: Sequence[Stretch], *, design: TrialDesign) -> Check | None:
    reached = _reached(entry, stretches)
    first = min(one.first for one in stretches) - SAME_TIME
    last = max(one.last for one in stretches)
    if not reached or entry.on > last or (entry.until or entry.on) < first:
        return None
    values = {"words": entry.words, "day": day_words(entry.on), "place": entry.place or _("everywhere")}
    if is_tangled(entry, stretches, design=design):
        said = _(
            "{words} ({place}, {day}) falls together with the trial and reaches only one side: the two cannot be "
            "separated."
        )
        return Check(key="diary", passed=False, words=said.format(**values))
    if entry.kind.changes_counting:
        said = _("{words} ({place}, {day}) changes how sets are counted, in both arms alike: note it in the result.")
        return Check(key="diary", passed=None, words=said.format(**values))
    said = _("{words} ({place}, {day}) reaches both arms alike: it can be told apart from the trial.")
    return Check(key="diary", passed=True, words=said.format(**values))


def before_after_tangles(entries: Sequence[DiaryEntry], *, places: Sequence[Place], start: date) -> tuple[str, ...]:
    """The changes that a plain before and after at ``start`` could not be separated from, in words."""
    found = []
    for entry in entries:
        near = start - SAME_TIME <= entry.on <= start + SAME_TIME
        if near and any(entry.covers(facility=facility, unit=unit) for facility, unit in places):
            found.append(_("{words} ({day})").format(words=entry.words, day=day_words(entry.on)))
    return tuple(found)


def worst_check(counts: Sequence[PlaceCount], *, chosen: Sequence[str], least: int) -> Check | None:
    """Whether a unit that was chosen (by key) is the highest of all with at least ``least`` sets; none where all take
    part or nothing can be compared.
    """
    fair = [one for one in counts if one.sets >= least]
    if len(fair) < 2 or {one.key for one in fair} <= set(chosen):
        return None
    worst = max(fair, key=lambda one: (one.contaminated / one.sets, one.key))
    if worst.key not in chosen:
        return Check(key="worst", passed=True, words=_("No unit of the trial is the highest of all."))
    words = _(
        "{name} is the highest of all units. If it was chosen for that, some fall is expected whatever is done: "
        "compare it with its own usual weeks or with other units, never with the months before."
    )
    return Check(key="worst", passed=False, words=words.format(name=worst.name))


def _place(one: Stretch) -> Place:
    return one.facility, one.unit


def _reached(entry: DiaryEntry, stretches: Sequence[Stretch]) -> set[Place]:
    return {_place(one) for one in stretches if entry.covers(facility=one.facility, unit=one.unit)}


def _meets(entry: DiaryEntry, one: Stretch, *, design: TrialDesign) -> bool:
    days = (entry.on, *([entry.until] if entry.until else []))
    if design is TrialDesign.PARALLEL:
        return any(one.first - SAME_TIME <= day <= one.last for day in days)
    return any(one.first - SAME_TIME <= day <= one.first + SAME_TIME for day in days)
