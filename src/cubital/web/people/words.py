"""What the private page says of each person. Only words; no number is made here."""

from __future__ import annotations

from dataclasses import dataclass, replace

from cubital.answers.class_words import class_words
from cubital.answers.people import reason_words
from cubital.answers.people_reading import PeopleReading, PersonReading
from cubital.domain.answer import Answer, AnswerTable
from cubital.domain.charter import SetClass
from cubital.domain.words import _, grouped_words, ngettext
from cubital.judge.drawn import DrawnSet
from cubital.web.people.opened import Opened

SURE = 0.95  # above this chance support begins with somebody standing by, not with a question


@dataclass(frozen=True, kw_only=True)
class PersonWords:
    """One person as the queue shows them: clean draws first, why, and with what offer."""

    key: str
    name: str
    role: str
    clean: str
    reason: str
    offer: str


@dataclass(frozen=True, kw_only=True)
class SetWords:
    """One set of a person as a row of their own list."""

    accession: str
    day: str
    unit: str
    read: str
    how: str


def queue_words(
    people: tuple[PersonReading, ...], reading: PeopleReading, *, opened: Opened, roles: dict[str, str]
) -> list[PersonWords]:
    """The people in the order given."""
    return [
        PersonWords(
            key=one.count.key,
            name=opened.name(one.count.key),
            role=roles.get(one.count.key, ""),
            clean=clean_of(one.count.clean, one.count.draws),
            reason=reason_words(one, reading),
            offer=offer_words(one),
        )
        for one in people
    ]


def clean_of(clean: int, draws: int) -> str:
    """How many draws were clean, of how many."""
    return ngettext("{clean} of {draws} draw clean", "{clean} of {draws} draws clean", draws).format(
        clean=grouped_words(clean), draws=grouped_words(draws)
    )


def offer_words(one: PersonReading) -> str:
    """What may be offered; whether it is taken is theirs to decide."""
    if one.shown and one.above >= SURE:
        return _("Offer: stand by at two draws, then look at them together. They choose when.")
    return _("Offer: ask first what their draws are like; then choose together.")


def with_names(answer: Answer, opened: Opened) -> Answer:
    """The answer with the person first in each row of its table, by name where it is known; the picture keeps keys."""
    if answer.table is None:
        return answer
    support, person, *others = answer.table.columns
    rows = tuple((opened.name(str(row[1])), row[0], *row[2:]) for row in answer.table.rows)
    table = AnswerTable(title=answer.table.title, columns=(person, support, *others), rows=rows)
    return replace(answer, table=table)


def set_words(one: DrawnSet) -> SetWords:
    """One set in words."""
    words = class_words(one.set_class)
    return SetWords(
        accession=one.accession,
        day=f"{one.day:%Y-%m-%d}" if one.day else _("no date"),
        unit=one.unit,
        read=f"▲ {words}" if one.set_class is SetClass.CONTAMINATED else words,
        how=_("badge") if one.attribution == "A" else _("initials"),
    )
