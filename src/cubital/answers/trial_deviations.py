"""What was written against what was done: every difference is listed, none is judged."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from cubital.answers.trial_checks import is_tangled
from cubital.answers.trial_result_reading import ResultReading
from cubital.domain.diary import DiaryEntry
from cubital.domain.trial import TrialPlan
from cubital.domain.words import _, day_words, grouped_words, ngettext, share_words

LOOK_ROOM = 0.05  # a look this near to its planned share was made as planned
SIZE_ROOM = 0.02


@dataclass(frozen=True, kw_only=True)
class Done:
    """What happened: shares of information at which somebody looked, the charter in force by number, later plans that
    replace this one, changes in the diary, and units that are called otherwise today (old and new name). ``ended`` is
    false while the trial goes on: then data that are still to come are no deviation.
    """

    looks: tuple[float, ...] = ()
    charter_now: int = 0
    replaced_by: tuple[int, ...] = ()
    entries: tuple[DiaryEntry, ...] = ()
    renamed: tuple[tuple[str, str], ...] = ()
    gone: tuple[str, ...] = ()
    ended: bool = True


def find_deviations(plan: TrialPlan, reading: ResultReading, done: Done) -> tuple[str, ...]:
    """Every deviation in words, those that weigh most first; empty where all was done as it was written."""
    return tuple(
        words
        for part in (
            _late(plan), _dates(plan, reading, ended=done.ended), _sizes(plan, reading, ended=done.ended),
            _units(plan, reading, done), _outcome(plan, done), _looks(plan, done), _changes(plan, done),
        )
        for words in part
    )  # fmt: skip


def late_words(plan: TrialPlan) -> str:
    """What every output of a plan says that was sealed after its first day; empty for one that was not."""
    if not plan.late or plan.data_to is None:
        return ""
    return _(
        "Written after data were there: the trial starts on {start}, and data up to {data} were in when it was sealed."
    ).format(start=day_words(plan.start), data=day_words(plan.data_to))


def _late(plan: TrialPlan) -> list[str]:
    words = late_words(plan)
    return [words] if words else []


def _dates(plan: TrialPlan, reading: ResultReading, *, ended: bool) -> list[str]:
    data_to = reading.counts.data_to
    if data_to is None or data_to < plan.start:
        return [_("The first day, {start}, is not in the data yet.").format(start=day_words(plan.start))]
    if ended and data_to < plan.end:
        return [_("Data end on {data}; written was {end}.").format(data=day_words(data_to), end=day_words(plan.end))]
    return []


def _sizes(plan: TrialPlan, reading: ResultReading, *, ended: bool) -> list[str]:
    found = []
    for arm, name in ((0, plan.usual), (1, plan.new)):
        sets = reading.counts.of_arm(arm)[1]
        if ended and sets < (1 - SIZE_ROOM) * plan.sets_per_arm:
            found.append(
                _("'{arm}' has {sets} sets; written were {planned}.").format(
                    arm=name, sets=grouped_words(sets), planned=grouped_words(plan.sets_per_arm)
                )
            )
    if reading.counts.undated:
        found.append(
            ngettext(
                "{count} set of these units, whenever it was drawn, has no day and counts for no arm.",
                "{count} sets of these units, whenever they were drawn, have no day and count for no arm.",
                reading.counts.undated,
            ).format(count=grouped_words(reading.counts.undated))
        )  # fmt: skip
    return found


def _units(plan: TrialPlan, reading: ResultReading, done: Done) -> list[str]:
    drawn = {(one.place, one.arm) for one in reading.counts.turns if one.sets}
    began = reading.counts.data_to
    found = [
        _("{place} drew nothing in '{arm}'.").format(place=place, arm=plan.new if arm else plan.usual)
        for place, arm in sorted(
            {(one.place, one.arm) for one in plan.stretches if began is not None and one.last <= began} - drawn
        )
    ]
    found += [_("{old} is called {new} today.").format(old=old, new=new) for old, new in done.renamed]
    found += [_("{place} is no unit of this workspace any more.").format(place=place) for place in done.gone]
    return found


def _outcome(plan: TrialPlan, done: Done) -> list[str]:
    found = []
    if plan.exclusions:
        found.append(
            _("Written was to leave out: {what}. Counted is by the charter alone, which may hold them.").format(
                what="; ".join(plan.exclusions)
            )
        )
    if done.charter_now == plan.charter:
        return found
    return [
        *found,
        _("Charter {now} is in force today; counted is by charter {then}, as written.").format(
            now=done.charter_now, then=plan.charter
        ),
    ]


def _looks(plan: TrialPlan, done: Done) -> list[str]:
    planned, made = plan.looks, done.looks
    found = []
    if len(made) > len(planned):
        found.append(
            _("Looked {made} times; written were {planned}. The boundary was drawn in for it.").format(
                made=len(made), planned=len(planned)
            )
        )
    for number, share in enumerate(made, start=1):
        if all(abs(share - one) > LOOK_ROOM for one in planned) and share < 1:
            found.append(
                _("Look {number} was made at {share} of the sets; written were {planned}.").format(
                    number=number, share=share_words(share, 0),
                    planned=", ".join(share_words(one, 0) for one in planned),
                )
            )  # fmt: skip
    return found


def _changes(plan: TrialPlan, done: Done) -> list[str]:
    found = [
        _("{words} ({day}) fell together with the trial on one side: it cannot be separated from it.").format(
            words=entry.words, day=day_words(entry.on)
        )
        for entry in done.entries
        if is_tangled(entry, plan.stretches, design=plan.design)
    ]
    found += [_("A later plan, trial {number}, replaces this one.").format(number=one) for one in done.replaced_by]
    return found


def deviation_lines(deviations: Sequence[str]) -> tuple[str, ...]:
    """The deviations, or the one line that there are none."""
    return tuple(deviations) or (_("None that the data or the records show."),)
