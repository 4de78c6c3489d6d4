"""Where and when does it happen? Units and hours of a quarter, from nothing but the counts that may be shown."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from cubital.answers.places import places_verdict
from cubital.answers.places_reading import PlaceCount, PlacesPolicy, read_places
from cubital.answers.places_words import places_cautions, places_sentence
from cubital.domain.answer import Answer, AnswerTable, Cell, Receipt
from cubital.domain.words import _, grouped_words, ngettext, share_words
from cubital.stats.proportions import wilson_interval
from cubital.stats.tails import chance_at_most

NONE_AT = 0.02  # a rate that most places would be content with
NONE_WORTH_SAYING = 0.05


@dataclass(frozen=True, kw_only=True)
class UnitLine:
    """One unit in the span. Every count may be none: hidden from others. ``alone`` of ``paired`` sets have no partner;
    ``one_bottle`` of ``bottled`` sets lack a bottle of the pair. ``one_person`` says that its share would be a
    person's.
    """

    key: str
    name: str
    facility: str
    sets: int
    contaminated: int | None
    alone: int | None
    paired: int
    one_bottle: int | None
    bottled: int
    one_person: bool = False


@dataclass(frozen=True, kw_only=True)
class HourLine:
    """One part of the day: ``contaminated`` of ``sets``; none is hidden."""

    name: str
    sets: int
    contaminated: int | None


def build_units_answer(
    lines: Sequence[UnitLine], *, policy: PlacesPolicy, several: bool, receipt: Receipt | None = None
) -> Answer:
    """Which unit differs, told from shown counts alone; the table stands in the order of names, which is no ranking.

    ``several`` hospitals put theirs in front of the unit's name.
    """
    named = sorted(lines, key=lambda line: (line.facility.casefold(), line.name.casefold()))
    shown = [
        PlaceCount(
            key=line.key, name=_unit_name(line, several), sets=line.sets, contaminated=line.contaminated,
            collectors=1 if line.one_person else None,
        )
        for line in named
        if line.contaminated is not None and line.sets
    ]  # fmt: skip
    reading = read_places(shown, policy=policy)
    return Answer(
        question=_("Which unit really differs from the others?"),
        verdict=places_verdict(reading),
        sentence=f"{_of_shown_words(len(lines), len(shown))} {places_sentence(reading, whole=False)}",
        cautions=places_cautions(reading, name_highest=False),
        table=AnswerTable(
            title=_("Units in the order of their names, which is no ranking"),
            columns=(
                _("Unit"), _("Sets"), _("Contaminated"), _("Share, likely range"), _("Single sets"),
                _("One bottle missing"), _("To be said with it"),
            ),
            rows=tuple(_unit_row(line, policy, several) for line in named),
        ),
        receipt=receipt,
    )  # fmt: skip


def build_hours_answer(lines: Sequence[HourLine], *, policy: PlacesPolicy, receipt: Receipt | None = None) -> Answer:
    """Whether parts of the day differ, told from shown counts alone."""
    shown = [
        PlaceCount(key=line.name, name=line.name, sets=line.sets, contaminated=line.contaminated)
        for line in lines
        if line.contaminated is not None and line.sets
    ]
    reading = read_places(shown, policy=policy)
    return Answer(
        question=_("Do hours differ?"),
        verdict=places_verdict(reading),
        sentence=_hours_words(len(shown), places_sentence(reading, whole=False)),
        cautions=(_("Who is drawn at night differs too; hours say where to look, not why."),),
        table=AnswerTable(
            title=_("Parts of the day"),
            columns=(_("Drawn"), _("Sets"), _("Contaminated"), _("Share, likely range")),
            rows=tuple(_hour_row(line, policy) for line in lines),
        ),
        receipt=receipt,
    )


def _unit_name(line: UnitLine, several: bool) -> str:
    return f"{line.facility} · {line.name}" if several else line.name


def _of_shown_words(units: int, shown: int) -> str:
    """How many units the sentence is about."""
    if shown == units:
        return ngettext("Of {count} unit:", "Of {count} units, all shown:", units).format(count=units)
    return _("Of {units} units, the {shown} whose counts may be shown:").format(units=units, shown=shown)


def _hours_words(shown: int, said: str) -> str:
    return said if shown > 1 else _("Too few counts by hour may be shown to say anything.")


def hidden_words() -> str:
    """What stands where a count is withheld."""
    return _("hidden")


def _unit_row(line: UnitLine, policy: PlacesPolicy, several: bool) -> tuple[Cell, ...]:
    return (
        _unit_name(line, several), line.sets, hidden_words() if line.contaminated is None else line.contaminated,
        _share_cell(line.contaminated, line.sets, policy, one_person=line.one_person),
        _part_cell(line.alone, line.paired), _part_cell(line.one_bottle, line.bottled), _note(line, policy),
    )  # fmt: skip


def _hour_row(line: HourLine, policy: PlacesPolicy) -> tuple[Cell, ...]:
    return (
        line.name, line.sets, hidden_words() if line.contaminated is None else line.contaminated,
        _share_cell(line.contaminated, line.sets, policy),
    )  # fmt: skip


def _share_cell(count: int | None, sets: int, policy: PlacesPolicy, *, one_person: bool = False) -> str:
    """``3.8 % (2.4 to 5.9)``; empty where the count is hidden or the sets are too few for a percentage."""
    if count is None or sets < max(1, policy.min_sets) or one_person:
        return ""
    interval = wilson_interval(count, sets)
    return _("{share} ({low} to {high})").format(
        share=share_words(count / sets), low=share_words(interval.low).removesuffix(" %"),
        high=share_words(interval.high).removesuffix(" %"),
    )  # fmt: skip


def _part_cell(count: int | None, sets: int) -> str:
    """``30 of 180 (17 %)``; a dash where nothing could be measured."""
    if not sets:
        return "–"
    if count is None:
        return hidden_words()
    return _("{count} of {total} ({share})").format(
        count=grouped_words(count), total=grouped_words(sets), share=share_words(count / sets, digits=0)
    )


def _note(line: UnitLine, policy: PlacesPolicy) -> str:
    if line.contaminated == 0 and line.sets:
        return none_words(line.sets)
    if line.contaminated is None:
        return ""
    if line.one_person:
        return _("one person: no percentage")
    return _("too few for a percentage") if line.sets < policy.min_sets else ""


def none_words(sets: int) -> str:
    """How little none proves in so few sets; empty where it does not need saying."""
    chance = chance_at_most(0, sets, rate=NONE_AT)
    if chance < NONE_WORTH_SAYING:
        return ""
    return _("0 of {sets}: {chance} likely even at {rate}").format(
        sets=grouped_words(sets), chance=share_words(chance, digits=0), rate=share_words(NONE_AT, digits=0)
    )
