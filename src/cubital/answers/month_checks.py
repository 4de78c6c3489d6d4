"""Did it jump because of the data and not the care? Asked of every month before anything else is said about it."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from statistics import median

from cubital.answers.month_material import MonthMaterial, RenameMark
from cubital.domain.answer import Check
from cubital.domain.charter import SetClass
from cubital.domain.words import _, day_words, grouped_words, ngettext, share_words
from cubital.judge.counts import ProcessCounts
from cubital.stats.two_proportions import difference_newcombe

# Common practice, no source: a month's volume and its blanks are looked at twice when they move this far.
VOLUME_SHARE = 0.25
VOLUME_SIGMAS = 3
BLANK_POINTS = 0.05
MIN_MONTHS_BEFORE = 3


def month_checks(material: MonthMaterial) -> tuple[Check, ...]:
    """Duplicates, volume, blanks, units, definition, open results: each passed, failed or not checked, in words."""
    return (
        _twice(material),
        _volume(material),
        _blank(
            material, key="times", counts=lambda p: (p.sets - p.timed, p.sets),
            known=_("The time to the laboratory is known for every set."),
            jump=_("The time to the laboratory is unknown for {now} of sets, {before} in the months before."),
            steady=_("The time to the laboratory is unknown for {now} of sets, no more than usual."),
        ),
        _blank(
            material, key="collectors",
            counts=lambda p: (p.collector_sets - p.attributed, p.collector_sets if p.collector_measurable else 0),
            known=_("The collector is known for every set."),
            jump=_("The collector is unknown for {now} of sets, {before} in the months before."),
            steady=_("The collector is unknown for {now} of sets, no more than usual."),
        ),
        _units(material),
        _one_charter(material),
        _unread(material),
        _preliminary(material),
    )  # fmt: skip


def _twice(material: MonthMaterial) -> Check:
    doubled = len(material.sets) - len({(one.facility, one.accession) for one in material.sets})
    if doubled:
        words = ngettext(
            "{count} set stands twice under one accession number.",
            "{count} sets stand twice under one accession number.",
            doubled,
        ).format(count=grouped_words(doubled))
    else:
        words = ngettext(
            "No set stands twice ({count} set).", "No set stands twice ({count} sets).", len(material.sets)
        ).format(count=grouped_words(len(material.sets)))
    return Check(key="no_set_twice", passed=not doubled, words=words)


def _volume(material: MonthMaterial) -> Check:
    before = [counts.sets for counts in material.recent[:-1] if counts.sets]
    now = material.asked.sets
    if len(before) < MIN_MONTHS_BEFORE:
        return Check(key="volume", passed=None, words=_("Too few months before to know how many sets are usual."))
    usual = median(before)
    passed = abs(now - usual) <= max(VOLUME_SHARE * usual, VOLUME_SIGMAS * usual**0.5)
    values = {"now": grouped_words(now), "usual": grouped_words(round(usual))}
    if passed:
        words = _("{now} sets, as many as usual ({usual} in the middle of the months before).")
    elif now < usual:
        words = _("{now} sets, fewer than usual ({usual} in the middle of the months before): is the month complete?")
    else:
        words = _("{now} sets, more than usual ({usual} in the middle of the months before): has a file been added?")
    return Check(key="volume", passed=passed, words=words.format(**values))


def _blank(
    material: MonthMaterial,
    *,
    key: str,
    counts: Callable[[ProcessCounts], tuple[int, int]],
    known: str,
    jump: str,
    steady: str,
) -> Check:
    """Whether something is blank clearly more often than in the months before."""
    missing, total = counts(material.process[-1])
    before_missing, before_total = _pooled(material.process[:-1], counts)
    if total and not missing:
        return Check(key=key, passed=True, words=known)
    held = sum(counts(month)[1] > 0 for month in material.process[:-1])
    if not total or held < MIN_MONTHS_BEFORE:
        return Check(key=key, passed=None, words=_nothing_words(key, missing=missing, total=total))
    change = difference_newcombe(missing, total, x2=before_missing, n2=before_total)
    worse = change.interval.low > 0 and change.estimate > BLANK_POINTS
    words = jump if worse else steady
    return Check(
        key=key,
        passed=not worse,
        words=words.format(now=share_words(missing / total), before=share_words(before_missing / before_total)),
    )


def _pooled(months: Sequence[ProcessCounts], counts: Callable[[ProcessCounts], tuple[int, int]]) -> tuple[int, int]:
    pairs = [counts(month) for month in months]
    return sum(missing for missing, _total in pairs), sum(total for _missing, total in pairs)


def _nothing_words(key: str, *, missing: int, total: int) -> str:
    names = {"times": _("times to the laboratory"), "collectors": _("collectors")}
    if not total:
        return _("The file gives no {things} to check.").format(things=names[key])
    return _("Too few months before to compare the {things} with; unknown for {now} of sets.").format(
        things=names[key], now=share_words(missing / total)
    )


def _units(material: MonthMaterial) -> Check:
    change = material.unit_change
    blank = sum(not one.unit for one in material.sets)
    if change.gone and change.new:
        return Check(
            key="units",
            passed=False,
            words=_(
                "{gone} had sets every month and has none now, while {new} is new: one unit under two names? Join them "
                "under Files if so."
            ).format(gone=", ".join(change.gone), new=", ".join(change.new)),
        )
    if blank > BLANK_POINTS * len(material.sets):
        words = ngettext("{count} of {sets} sets names no unit.", "{count} of {sets} sets name no unit.", blank).format(
            count=grouped_words(blank), sets=grouped_words(len(material.sets))
        )
        return Check(key="units", passed=False, words=words)
    marks = [mark for mark in material.renames if mark.on.isoformat()[:7] == material.month]
    if marks:
        joined = "; ".join(rename_words(mark) for mark in marks)
        return Check(key="units", passed=True, words=_("Renamed this month and joined: {marks}.").format(marks=joined))
    return Check(key="units", passed=True, words=_("No unit changed its name this month."))


def rename_words(mark: RenameMark) -> str:
    """``5 WEST became 5W-MED ONC on 15 October 2025``."""
    return _("{old} became {new} on {day}").format(old=mark.old, new=mark.new, day=day_words(mark.on))


def _one_charter(material: MonthMaterial) -> Check:
    since = material.standing.charter_since
    if since is not None and since.isoformat()[:7] >= material.month:
        return Check(
            key="one_charter",
            passed=False,
            words=_(
                "The definition changed on {day}: here every month is counted by charter {version}, but figures said "
                "before that day were counted otherwise."
            ).format(day=day_words(since), version=material.charter.version),
        )
    return Check(
        key="one_charter",
        passed=True,
        words=_("Every month is counted by one charter (version {version}) and one list of organisms.").format(
            version=material.charter.version
        ),
    )


def _unread(material: MonthMaterial) -> Check:
    count = material.asked.of_class(SetClass.UNRESOLVED)
    if not count:
        return Check(key="unread", passed=True, words=_("Every result was read."))
    words = ngettext(
        "{count} set grew something that could not be read or is on no list.",
        "{count} sets grew something that could not be read or is on no list.",
        count,
    )
    return Check(key="unread", passed=False, words=words.format(count=grouped_words(count)))


def _preliminary(material: MonthMaterial) -> Check:
    count, sets = material.asked.preliminary, material.asked.sets
    if not count:
        return Check(key="preliminary", passed=True, words=_("Every result is final."))
    words = ngettext(
        "{count} of {sets} sets ({share}) is preliminary: its class may still change.",
        "{count} of {sets} sets ({share}) are preliminary: their class may still change.",
        count,
    )
    share = share_words(min(1.0, count / sets)) if sets else share_words(1.0)
    return Check(
        key="preliminary",
        passed=False,
        words=words.format(count=grouped_words(count), sets=grouped_words(sets), share=share),
    )
