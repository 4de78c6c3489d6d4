"""What a private letter says to one person: clean draws first, the doubt, what helps, how to put an error right.

No other person is in it and no place in any order. Below the policy's minimum of draws it tells counts and no
percentage.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from cubital.answers.class_words import class_words
from cubital.answers.people_reading import PeopleReading, PersonCount, PersonReading
from cubital.domain.charter import SetClass
from cubital.domain.words import _, day_words, grouped_words, ngettext, share_words
from cubital.stats.sample_size import draws_to_tell

LEAST_TARGET = 0.002  # below it so many draws are needed that the number helps nobody
TWICE = 2  # the letter says how many draws it takes to tell a rate twice the target from the target
Part = tuple[str, tuple[str, ...]]


@dataclass(frozen=True, kw_only=True)
class LetterMaterial:
    """One person's figures. ``before`` and ``later`` are the same person's counts in the halves of the period.

    ``by_initials`` of the draws are known by initials only. ``contact`` is whom to ask, ``expires_on`` the day on which
    the record of this letter is deleted, none where none is kept.
    """

    count: PersonCount
    reading: PeopleReading
    period: str
    by_initials: int = 0
    before: tuple[int, int] | None = None
    later: tuple[int, int] | None = None
    contact: str = ""
    expires_on: date | None = None

    @property
    def person(self) -> PersonReading | None:
        """Where the person stands, none where nothing can be said of anybody."""
        return next((one for one in self.reading.people if one.count.key == self.count.key), None)


@dataclass(frozen=True, kw_only=True)
class SetChange:
    """How one set reads now and read in the letter. A class is none where the set was, or is, not counted as theirs."""

    facility: str
    accession: str
    day: date | None
    was: SetClass | None
    now: SetClass | None


def clean_words(count: PersonCount) -> str:
    """The first sentence of every letter."""
    return ngettext(
        "{clean} of your {draws} draw was clean.", "{clean} of your {draws} draws were clean.", count.draws
    ).format(clean=grouped_words(count.clean), draws=grouped_words(count.draws))


def estimate_words(material: LetterMaterial) -> str:
    """The estimate with its range, or "too few to say" with what would be needed; a percentage only where allowed."""
    count, policy, person = material.count, material.reading.policy, material.person
    counted = ngettext(
        "{count} was counted as contaminated.", "{count} were counted as contaminated.", count.contaminated
    ).format(count=grouped_words(count.contaminated))
    if person is None or not person.shown:
        return f"{counted} {_few_words(count.draws, policy.target)}"
    likely = _(
        "Weighed against what is usual here, about {share} of your draws would be contaminated in the long run; "
        "anything from {low} to {high} fits. The aim here is at most {target}."
    ).format(
        share=share_words(person.estimate), low=share_words(person.interval.low),
        high=share_words(person.interval.high), target=share_words(policy.target),
    )  # fmt: skip
    return f"{counted} {likely}"


def _few_words(draws: int, target: float) -> str:
    few = _("That is too few to say more: a percentage from {draws} draws would mislead.").format(
        draws=grouped_words(draws)
    )
    if not LEAST_TARGET <= target < 1 / TWICE:
        return few
    needed = _(
        "To tell {twice} from {target} takes about {needed} draws of one person, which most never reach in a year."
    ).format(
        twice=share_words(TWICE * target, 0), target=share_words(target, 0),
        needed=grouped_words(round(draws_to_tell(target, TWICE * target), -1)),
    )  # fmt: skip
    return f"{few} {needed}"


def trend_words(material: LetterMaterial) -> str:
    """The same person earlier and later, in counts; nothing where either half has too few draws."""
    halves = (material.before, material.later)
    if any(half is None or half[1] < material.reading.policy.min_draws for half in halves):
        return ""
    (clean_then, draws_then), (clean_now, draws_now) = halves  # type: ignore[misc]
    return _(
        "Beside yourself: {clean_then} of {draws_then} clean in the first half of these months, {clean_now} of "
        "{draws_now} in the second."
    ).format(
        clean_then=grouped_words(clean_then), draws_then=grouped_words(draws_then),
        clean_now=grouped_words(clean_now), draws_now=grouped_words(draws_now),
    )  # fmt: skip


def system_words(reading: PeopleReading) -> str:
    """What is not in one person's hands."""
    words = (
        _(
            "Over everybody together it is {count} of {sets}, {share}, above the aim: much of it lies in supplies, "
            "time, crowding and lines, and that is looked at first."
        )
        if reading.system_above
        else _("Over everybody together it is {count} of {sets}, {share}, within the aim.")
    )
    return words.format(
        count=grouped_words(reading.contaminated), sets=grouped_words(reading.draws), share=share_words(reading.rate)
    )


def letter_parts(material: LetterMaterial) -> tuple[Part, ...]:
    """Heading and sentences of each part of the feedback letter, in reading order; the first is ``clean_words``."""
    parts = (
        (clean_words(material.count), tuple(x for x in (estimate_words(material), trend_words(material)) if x)),
        (_("What is not in your hands"), (system_words(material.reading),) if material.reading.draws else ()),
        (_("What helps most people"), _helping_words()),
        (_("Whom to ask"), (_contact_words(material.contact),)),
        (_("If something here is not right"), _right_words(material)),
    )  # fmt: skip
    return tuple(part for part in parts if part[1])


def correction_parts(
    material: LetterMaterial, changes: Sequence[SetChange], *, told_on: date, told: PersonCount
) -> tuple[Part, ...]:
    """The same for a correction: the apology, what changed and why, the old figures and the new ones."""
    apology = _("We are sorry: our letter of {day} was not right.").format(day=day_words(told_on))
    old = _("It said: {clean} of {draws} draws clean.").format(
        clean=grouped_words(told.clean), draws=grouped_words(told.draws)
    )
    return (
        (apology, (old, _("Now: {sentence}").format(sentence=clean_words(material.count)), estimate_words(material))),
        (_("What changed, and why"), tuple(change_words(one) for one in changes)),
        (_("What we did"), (_(
            "Your own record is put right, and this letter is kept beside the earlier one. Nothing was deleted or "
            "overwritten."
        ),)),
        (_("Whom to ask"), (_contact_words(material.contact),)),
        (_("If something here is not right"), _right_words(material)),
    )  # fmt: skip


def change_words(change: SetChange) -> str:
    """One set that reads differently now, with the reason as far as the data tell it."""
    name = _("Set {accession}, {facility}").format(accession=change.accession, facility=change.facility)
    if change.day:
        name = _("{name}, {day}").format(name=name, day=day_words(change.day))
    if change.now is None:
        why = _("no longer counts as yours: it is disputed, or the laboratory or the staff list took it back")
    elif change.was is None:
        why = _("now counts as yours: it came in, or became known as yours, after the letter")
    else:
        why = _(
            "read '{was}' and now reads '{now}': the laboratory amended its result or that of a set beside it"
        ).format(was=class_words(change.was), now=class_words(change.now))
    return f"{name}: {why}."


def purpose_words() -> str:
    """On every private page and letter."""
    return _(
        "Private, between you and the educator. For support only: not for pay, discipline or contracts, and not to be "
        "shown to a group."
    )


def _helping_words() -> tuple[str, ...]:
    return (
        _("Rub the skin and let it dry for the whole time that local policy names, and do not touch it again."),
        _("Clean the bottle tops, and let them dry."),
        _("A fresh venepuncture rather than a cannula or a line, where local policy leaves you the choice."),
        _("Ask for somebody to stand by at a hard draw; asking is never counted."),
    )


def _contact_words(contact: str) -> str:
    who = contact or _("The practice educator of your hospital")
    return _(
        "{who}. You choose when, and whom you bring along. Local policy and your scope of practice come first."
    ).format(who=who.rstrip("."))


def _right_words(material: LetterMaterial) -> tuple[str, ...]:
    lines = [
        _(
            "You may see every set that is counted as yours. Say which one was not yours: the count is made again "
            "without it, and you get the old figure and the new one."
        )
    ]
    if material.by_initials:
        lines.append(
            ngettext(
                "{count} of these draws is known by initials only, not by badge.",
                "{count} of these draws are known by initials only, not by badge.",
                material.by_initials,
            ).format(count=grouped_words(material.by_initials))
        )
    if material.expires_on:
        lines.append(_("What is kept of this letter is deleted on {day}.").format(day=day_words(material.expires_on)))
    return tuple(lines)
