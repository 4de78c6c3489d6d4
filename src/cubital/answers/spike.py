"""A month that jumped, investigated in one fixed order: data, mix, place and time, supplies, and people last.

The order is the point. Most jumps are made by the data or the mix, and a person once suspected is hard to clear again;
so people come last, without names or rates, and only with whether there are differences between them at all.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum

from cubital.answers.cluster_words import chance_words
from cubital.answers.lots import Exposure
from cubital.answers.month_text import month_before
from cubital.domain.answer import Answer
from cubital.domain.words import _, grouped_words, month_words, ngettext, share_words
from cubital.stats.exact_table import exact_table
from cubital.stats.multiplicity import adjust_p_values
from cubital.stats.shrinkage import spread_test
from cubital.stats.two_proportions import difference_newcombe

MIX_POINTS = 0.05  # a share that moved less than this moves no rate that anybody sees (common practice, no source)
MIN_PEOPLE = 5  # with fewer, whether there are differences points at somebody (common practice, no source)
CALLED = 0.05
_MOST_LINES = 4


class Kind(StrEnum):
    """What sets are told apart by."""

    AGE = "age"
    METHOD = "method"
    UNIT = "unit"
    WEEKDAY = "weekday"
    HOURS = "hours"


class Found(StrEnum):
    """What a step found: nothing, something to look into, or that it could not look."""

    NOTHING = "nothing"
    LOOK = "look"
    NOT_CHECKED = "not_checked"


@dataclass(frozen=True, kw_only=True)
class Slice:
    """Counted and contaminated sets of one kind, this month and in the months before. ``name`` is for people."""

    kind: Kind
    name: str
    contaminated: int
    sets: int
    contaminated_before: int
    sets_before: int


@dataclass(frozen=True, kw_only=True)
class SpikeMaterial:
    """What the sheet is made of.

    ``answer`` is the month's own; ``singles`` and ``singles_before`` are (sets without a partner, series). ``lots``
    compares contaminated sets lot by lot, none where no lot is noted. ``people`` are (contaminated, sets) of every
    known collector of this month, in no order that means anything; none where the file names none.
    """

    month: str
    place: str
    answer: Answer
    slices: tuple[Slice, ...]
    singles: tuple[int, int]
    singles_before: tuple[int, int]
    lots: tuple[Exposure, ...] | None
    people: tuple[tuple[int, int], ...] | None


@dataclass(frozen=True, kw_only=True)
class SpikeStep:
    """One step of the sheet: its name, what was found, and the lines that say it."""

    key: str
    title: str
    found: Found
    lines: tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class SpikeSheet:
    """The sheet: the month's sentence, five steps in their order, and what the person is asked to decide."""

    place: str
    month: str
    sentence: str
    steps: tuple[SpikeStep, ...]
    proposal: str


def build_spike_sheet(material: SpikeMaterial) -> SpikeSheet:
    """The five steps, always all and always in this order."""
    steps = (
        _data_step(material), _mix_step(material), _place_step(material), _supply_step(material),
        _people_step(material),
    )  # fmt: skip
    return SpikeSheet(
        place=material.place,
        month=material.month,
        sentence=material.answer.sentence,
        steps=steps,
        proposal=_proposal(steps),
    )


def _data_step(material: SpikeMaterial) -> SpikeStep:
    checks = material.answer.checks
    failed = [check.words for check in checks if check.passed is False]
    unmade = sum(check.passed is None for check in checks)
    passed = sum(check.passed is True for check in checks)
    lines = list(failed)
    if passed:
        lines.append(ngettext("{count} check of the data passed.", "{count} checks of the data passed.", passed).format(
            count=passed
        ))  # fmt: skip
    if unmade:
        lines.append(ngettext("{count} check could not be made.", "{count} checks could not be made.", unmade).format(
            count=unmade
        ))  # fmt: skip
    found = Found.LOOK if failed else Found.NOTHING if passed else Found.NOT_CHECKED
    return SpikeStep(key="data", title=_("1 Data"), found=found, lines=tuple(lines))


def _mix_step(material: SpikeMaterial) -> SpikeStep:
    found, lines = Found.NOT_CHECKED, []
    for kind, name in ((Kind.AGE, _("Age")), (Kind.METHOD, _("Way of drawing"))):
        slices = [one for one in material.slices if one.kind is kind]
        state, words = _mix_words(slices, name)
        lines += words
        found = _worse(found, state)
    state, words = _single_words(material)
    return SpikeStep(key="mix", title=_("2 Mix"), found=_worse(found, state), lines=(*lines, *words))


def _mix_words(slices: Sequence[Slice], name: str) -> tuple[Found, list[str]]:
    """Whether the shares moved, and what the rates of before would make of this month's sets."""
    now, before = sum(one.sets for one in slices), sum(one.sets_before for one in slices)
    if len(slices) < 2 or not now or not before:
        return Found.NOT_CHECKED, [_("{name}: one kind only, or nothing to compare with.").format(name=name)]
    moved = [one for one in slices if _moved(one.sets, now, one.sets_before, before)]
    counted = sum(one.contaminated for one in slices)
    usual = sum(one.contaminated_before for one in slices) / before
    expected = sum(
        one.sets * (one.contaminated_before / one.sets_before if one.sets_before else usual) for one in slices
    )
    words = _(
        "{name}: {moved}. By the rates of before, this month's mix would give {expected} of {sets}; {count} were "
        "counted."
    )
    named = [
        _("{now} of sets are {name}, {before} before").format(
            name=one.name, now=share_words(one.sets / now, 0), before=share_words(one.sets_before / before, 0)
        )
        for one in moved[:_MOST_LINES]
    ]
    line = words.format(
        name=name, moved="; ".join(named) if named else _("as before"), expected=f"{expected:.0f}",
        sets=grouped_words(now), count=grouped_words(counted),
    )  # fmt: skip
    return Found.LOOK if moved else Found.NOTHING, [line]


def _moved(part: int, whole: int, part_before: int, whole_before: int) -> bool:
    change = difference_newcombe(part, whole, x2=part_before, n2=whole_before)
    return abs(change.estimate) > MIX_POINTS and (change.interval.low > 0 or change.interval.high < 0)


def _single_words(material: SpikeMaterial) -> tuple[Found, list[str]]:
    (single, series), (single_before, series_before) = material.singles, material.singles_before
    if not series or not series_before:
        return Found.NOT_CHECKED, [_("Single sets: nothing to compare with.")]
    moved = _moved(single, series, single_before, series_before)
    words = _("Single sets: {now} of {count} series, {before} before.").format(
        now=share_words(single / series, 0), count=grouped_words(series),
        before=share_words(single_before / series_before, 0),
    )  # fmt: skip
    return Found.LOOK if moved else Found.NOTHING, [words]


def _place_step(material: SpikeMaterial) -> SpikeStep:
    found, lines = Found.NOT_CHECKED, []
    for kind, none, alone in (
        (Kind.UNIT, _("Units: none of {count} stands out against its own months before."), _("Units: one only.")),
        (Kind.WEEKDAY, _("Weekdays: none stands out."), _("Weekdays: not known.")),
        (Kind.HOURS, _("Hours: no part of the day stands out."), _("Hours: not known.")),
    ):
        slices = [one for one in material.slices if one.kind is kind and one.sets]
        state, words = _risen_words(slices)
        found = _worse(found, state)
        lines += words or [none.format(count=len(slices)) if state is Found.NOTHING else alone]
    noted = [mark.words for mark in material.answer.marks if month_before(material.month, 1) <= mark.month]
    if noted:  # a reason to ask, and no finding: what is noted need not be what did it
        lines.append(_("In the diary at that time: {changes}.").format(changes="; ".join(noted)))
    return SpikeStep(key="place", title=_("3 Place and time"), found=found, lines=tuple(lines))


def _risen_words(slices: Sequence[Slice]) -> tuple[Found, list[str]]:
    """The slices whose counts rose by more than chance, after Holm over all of their kind."""
    judged = [one for one in slices if one.sets_before]
    if len(slices) < 2 or not judged:
        return Found.NOT_CHECKED, []
    chances = adjust_p_values([_chance(one) for one in judged], method="holm")
    risen = sorted(((p, one) for p, one in zip(chances, judged, strict=True) if p <= CALLED), key=lambda pair: pair[0])
    lines = [
        _(
            "{name}: {count} of {sets} ({share}), before {before} ({share_before}); chance alone does this "
            "{chance}, all of its kind looked at."
        ).format(
            name=one.name, count=one.contaminated, sets=one.sets, share=share_words(one.contaminated / one.sets),
            before=_("{count} of {sets}").format(
                count=grouped_words(one.contaminated_before), sets=grouped_words(one.sets_before)
            ),
            share_before=share_words(one.contaminated_before / one.sets_before), chance=chance_words(p),
        )
        for p, one in risen[:_MOST_LINES]
    ]  # fmt: skip
    return (Found.LOOK if risen else Found.NOTHING), lines


def _chance(one: Slice) -> float:
    return exact_table(
        one.contaminated,
        one.sets - one.contaminated,
        c=one.contaminated_before,
        d=one.sets_before - one.contaminated_before,
    ).p_greater


def _supply_step(material: SpikeMaterial) -> SpikeStep:
    title = _("4 Supplies")
    if not material.lots:
        words = (
            _("No lot is noted, so supplies cannot be compared: ask what changed, and note it with cubital lots.")
            if material.lots is None
            else _("No noted lot was in use here this month.")
        )
        return SpikeStep(key="supplies", title=title, found=Found.NOT_CHECKED, lines=(words,))
    out = [row for row in material.lots if row.stands_out]
    lines = [
        _("{item} lot {lot}: {count} of {sets} with it, {others} of {other_sets} without. Exposure, not cause.").format(
            item=row.item, lot=row.lot, count=row.exposed, sets=row.exposed_sets, others=row.others,
            other_sets=row.other_sets,
        )
        for row in out[:_MOST_LINES]
    ]  # fmt: skip
    quiet = ngettext(
        "{count} lot compared; none stands out.", "{count} lots compared; none stands out.", len(material.lots)
    )
    return SpikeStep(
        key="supplies", title=title, found=Found.LOOK if out else Found.NOTHING,
        lines=tuple(lines) or (quiet.format(count=len(material.lots)),),
    )  # fmt: skip


def _people_step(material: SpikeMaterial) -> SpikeStep:
    title, people = _("5 People, last"), material.people
    if not people:
        words = _("The file names no collectors here, so nothing can be said, and nobody is to be guessed.")
        return SpikeStep(key="people", title=title, found=Found.NOT_CHECKED, lines=(words,))
    if len(people) < MIN_PEOPLE:
        words = _("Fewer than {least} collectors are known: a comparison would point at somebody and is not made.")
        return SpikeStep(key="people", title=title, found=Found.NOT_CHECKED, lines=(words.format(least=MIN_PEOPLE),))
    chance = spread_test([x for x, _n in people], [n for _x, n in people]).chance
    words = (
        _(
            "The counts of {count} collectors differ more than chance makes them differ (it does so in {share} of "
            "months). That is no reason yet: compare fairly under People, never by raw rates."
        )
        if chance <= CALLED
        else _(
            "The counts of {count} collectors differ no more than chance makes them differ (it does so in {share} of "
            "months). Nobody is to be spoken to because of this month."
        )
    )
    return SpikeStep(
        key="people", title=title, found=Found.LOOK if chance <= CALLED else Found.NOTHING,
        lines=(words.format(count=len(people), share=share_words(chance)),),
    )  # fmt: skip


def _proposal(steps: Sequence[SpikeStep]) -> str:
    """What the first step that found something asks for; a proposal, because the sheet is decided by hand."""
    first = next((step for step in steps if step.found is Found.LOOK), None)
    words: Mapping[str, str] = {
        "data": _("Settle the data first; until then no cause is to be named."),
        "mix": _("The mix moved: look there before at any unit."),
        "place": _("Go and look at the place and time that stand out."),
        "supplies": _("Ask the laboratory and supplies about the lot; holding it back is their decision."),
        "people": _("Only people differ: compare them fairly, in private."),
    }
    return words[first.key] if first else _("Nothing stands out in any step: chance is the likeliest cause.")


def _worse(one: Found, other: Found) -> Found:
    order = (Found.NOT_CHECKED, Found.NOTHING, Found.LOOK)
    return max(one, other, key=order.index)


def spike_title(sheet: SpikeSheet) -> str:
    """``Spike sheet: Emergency, March 2026``."""
    return _("Spike sheet: {place}, {month}").format(place=sheet.place, month=month_words(sheet.month, with_year=True))
