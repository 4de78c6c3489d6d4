"""Sentences of a fair comparison: what of 100 sets, what cannot be compared and why, and how many would be needed."""

from __future__ import annotations

from collections.abc import Sequence

from cubital.answers.compared_model import AlikeSets
from cubital.answers.compared_reading import ComparedMaterial, ComparedReading, Divided, GroupReading, PairReading
from cubital.answers.counted_words import capital
from cubital.answers.observation_plan import Shift, shift_name
from cubital.answers.steps_reading import SATURDAY
from cubital.domain.words import _, decimal_words, grouped_words, ngettext, share_words

_LARGE = 10_000
_ONE_STRETCH = 23  # hours; a group that draws around the clock has no stretch to name


def instead_words(group: str, other: str, material: ComparedMaterial) -> str:
    """``drawn by nurses instead of by phlebotomists``, by what the groups are."""
    if material.by is Divided.SHIFT:
        by_day = _("drawn by day instead of at night")
        return _("drawn at night instead of by day") if group == shift_name(Shift.NIGHT) else by_day
    if material.by is Divided.WEEKEND:
        midweek = _("drawn on a weekday instead of at the weekend")
        return _("drawn at the weekend instead of on a weekday") if group == weekend_name(SATURDAY) else midweek
    if material.by in (Divided.ROLE, Divided.METHOD):
        return _("drawn by {group} instead of by {other}").format(group=group, other=other)
    return _("with {column} '{group}' instead of '{other}'").format(column=material.column, group=group, other=other)


def weekend_name(weekday: int) -> str:
    """The group of a weekday (0 is Monday)."""
    return _("weekend") if weekday >= SATURDAY else _("weekday")


def different_sentence(pair: PairReading, reading: ComparedReading) -> str:
    """Counts, then of 100 sets how many more or fewer, with the doubt."""
    if pair.within is None:
        raise ValueError("the two were not compared")
    effect = pair.within.difference
    sign = 1 if effect.estimate > 0 else -1
    ends = sorted(100 * sign * end for end in (effect.interval.low, effect.interval.high))
    words = (
        _(
            "{counts} Compared like with like: of 100 sets {instead}, about {more} more are contaminated "
            "({low} to {high})."
        )
        if sign > 0
        else _(
            "{counts} Compared like with like: of 100 sets {instead}, about {more} fewer are contaminated "
            "({low} to {high})."
        )
    )
    return words.format(
        counts=_counts_words(pair), instead=instead_words(pair.group.name, pair.other.name, reading.material),
        more=_some(100 * abs(effect.estimate)), low=_some(max(0.0, ends[0])), high=_some(ends[1]),
    )  # fmt: skip


def _counts_words(pair: PairReading) -> str:
    return _("{group}: {first}. {other}: {second}.").format(
        group=capital(pair.group.name), first=_group_words(pair.group),
        other=capital(pair.other.name), second=_group_words(pair.other),
    )  # fmt: skip


def _group_words(group: GroupReading) -> str:
    return _("{count} of {sets} sets ({share})").format(
        count=grouped_words(group.contaminated), sets=grouped_words(group.sets), share=share_words(group.share)
    )


def _some(value: float) -> str:
    return decimal_words(f"{value:.0f}" if value >= 10 else f"{value:.1f}")


def undecided_sentence(pair: PairReading, reading: ComparedReading) -> str:
    """No difference can be shown: what it could still be, and how many sets would show what was seen."""
    if pair.within is None:
        raise ValueError("the two were not compared")
    limits = pair.within.difference.interval
    said = _(
        "{counts} Compared like with like no difference can be shown: of 100 sets {instead}, anything from {low} fewer "
        "to {high} more fits."
    ).format(
        counts=_counts_words(pair), instead=instead_words(pair.group.name, pair.other.name, reading.material),
        low=_some(max(0.0, -100 * limits.low)), high=_some(max(0.0, 100 * limits.high)),
    )  # fmt: skip
    if reading.needed is None:
        return said
    return _("{said} Showing a difference such as the counted one would need about {sets} sets in each group.").format(
        said=said, sets=grouped_words(_rounded_up(reading.needed))
    )


def _rounded_up(sets: int) -> int:
    """Two digits of a number from ten thousand on: it hangs on shares that are themselves uncertain."""
    step = 10 ** (len(str(sets)) - 2) if sets >= _LARGE else 1
    return -(-sets // step) * step


def alike_words(one: AlikeSets) -> str:
    """What the model leaves out, and why that is no loss."""
    words = (
        ngettext(
            "The model leaves out {sets} set of {part}: it is not contaminated, so it cannot tell the groups apart.",
            "The model leaves out {sets} sets of {part}: none is contaminated, so they cannot tell the groups apart.",
            one.sets,
        )
        if not one.contaminated
        else ngettext(
            "The model leaves out {sets} set of {part}: it is contaminated, so it cannot tell the groups apart.",
            "The model leaves out {sets} sets of {part}: all are contaminated, so they cannot tell the groups apart.",
            one.sets,
        )
    )
    return words.format(sets=grouped_words(one.sets), part=one.name)


def thin_sentence(reading: ComparedReading) -> str:
    """Fewer than two groups that are large enough, or no contaminated set at all."""
    large = [group for group in reading.groups if group.sets >= reading.policy.min_sets]
    if len(large) > 1:
        return _("No set of any group is contaminated: there is nothing to compare, and that is good news.")
    return ngettext(
        "Only {count} group has {least} sets or more; two are needed to compare.",
        "Only {count} groups have {least} sets or more; two are needed to compare.",
        len(large),
    ).format(count=len(large), least=grouped_words(reading.policy.min_sets))


def not_comparable_sentence(reading: ComparedReading) -> str:
    """Why the first pair cannot be compared: hours without overlap by name, anything else by share."""
    pair = reading.pairs[0]
    hours = pair.hours_overlap
    if hours is not None and hours < reading.policy.min_overlap:
        narrow = min((pair.group, pair.other), key=lambda group: len(group.hours))
        wide = pair.other if narrow is pair.group else pair.group
        return _(
            "Not comparable: {narrow} drew {hours} only, and {wide} {others}. What is due to the hour cannot be told "
            "from what is due to the group; it takes sets of both in the same hours."
        ).format(narrow=narrow.name, hours=hours_words(narrow.hours), wide=wide.name, others=hours_words(wide.hours))
    return _(
        "Not comparable: only {share} of the sets of {group} or {other} lie where the other works too (same {columns})."
    ).format(
        share=share_words(pair.overlap, 0), group=pair.group.name, other=pair.other.name,
        columns=", ".join(reading.material.columns) or reading.material.column,
    )  # fmt: skip


def refused_sentence(reading: ComparedReading) -> str:
    """The group and what is held equal say the same."""
    columns = reading.model.columns if reading.model else ()
    return _(
        "Not to be told apart: {columns} always go together here. It takes sets in which they do not, or one of them "
        "left out."
    ).format(columns=", ".join(columns))


def hours_words(hours: Sequence[int]) -> str:
    """``07–19`` for the hours 7 to 18; several stretches are joined; around midnight they stay one."""
    if not hours:
        return ""
    held = set(hours)
    if len(held) >= _ONE_STRETCH:
        return _("around the clock")
    starts = sorted(hour for hour in held if (hour - 1) % 24 not in held)
    return ", ".join(f"{start:02d}–{_end(start, held):02d}" for start in starts)


def _end(start: int, held: set[int]) -> int:
    end = start
    while end % 24 in held:
        end += 1
    return end % 24 or 24
