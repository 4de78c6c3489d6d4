"""Some sets were not hers, she says: the figures without them beside the figures with them. Always allowed."""

from __future__ import annotations

from cubital.answers.people_reading import PeopleReading, PersonCount
from cubital.domain.answer import Answer, AnswerTable, Cell, Receipt, Verdict
from cubital.domain.words import _, grouped_words, ngettext, share_words


def build_dispute_answer(old: PeopleReading, new: PeopleReading, *, key: str, receipt: Receipt | None = None) -> Answer:
    """Old and new for the person of that key; ``KeyError`` where the old reading has none."""
    before = count_of(old, key)
    after = count_of(new, key, missing_is_none=True)
    return Answer(
        question=_("Does it change anything if these sets were not theirs?"),
        verdict=Verdict.ESTIMATE if _shown(old, key) or _shown(new, key) else Verdict.TOO_FEW,
        sentence=" ".join((_counts_words(before, after), _estimate_words(old, new, key), _queue_words(old, new, key))),
        cautions=(
            _("Private, for support only: not for pay, discipline or contracts, and not to be shown to a group."),
            _("Disputed sets belong to nobody while the dispute stands; they are not given to somebody else."),
        ),
        table=_table(old, new, key, before=before, after=after),
        receipt=receipt,
    )


def without(counts: tuple[PersonCount, ...], *, key: str, draws: int, contaminated: int) -> tuple[PersonCount, ...]:
    """The counts with so many draws fewer for one person; ``ValueError`` where they do not have so many."""
    changed = []
    for one in counts:
        if one.key != key:
            changed.append(one)
        elif not (contaminated <= one.contaminated and draws - contaminated <= one.clean and contaminated <= draws):
            raise ValueError(f"{key} has no {contaminated} of {draws} to take away")
        elif one.draws > draws:
            changed.append(PersonCount(key=key, draws=one.draws - draws, contaminated=one.contaminated - contaminated))
    return tuple(changed)


def count_of(reading: PeopleReading, key: str, *, missing_is_none: bool = False) -> PersonCount | None:
    """The counts of a person, also where nothing is said of anybody; none where there is none and that may be."""
    found = next((one for one in reading.counts if one.key == key), None)
    if found is None and not missing_is_none:
        raise KeyError(key)
    return found


def _counts_words(before: PersonCount | None, after: PersonCount | None) -> str:
    if before is None or after is None:
        return _("Without the disputed sets no draw of this person is left.")
    fewer = before.draws - after.draws
    words = ngettext(
        "Without the {count} disputed set: {clean} of {draws} clean, where it was {clean_before} of {draws_before}.",
        "Without the {count} disputed sets: {clean} of {draws} clean, where it was {clean_before} of {draws_before}.",
        fewer,
    )
    return words.format(
        count=grouped_words(fewer), clean=grouped_words(after.clean), draws=grouped_words(after.draws),
        clean_before=grouped_words(before.clean), draws_before=grouped_words(before.draws),
    )  # fmt: skip


def _estimate_words(old: PeopleReading, new: PeopleReading, key: str) -> str:
    if not (_shown(old, key) and _shown(new, key)):
        return _("Too few draws for a percentage, before and after.")
    before, after = old.person(key).estimate, new.person(key).estimate
    return _("The estimate goes from {before} to {after}.").format(
        before=share_words(before), after=share_words(after)
    )  # fmt: skip


def _queue_words(old: PeopleReading, new: PeopleReading, key: str) -> str:
    was, now = (any(one.count.key == key for one in reading.queue) for reading in (old, new))
    if was == now:
        return (
            _("The offer of support stays.")
            if now
            else _("No offer of support came from these figures, and none does.")
        )
    return _("Support is now offered.") if now else _("From these figures alone no support would be offered any more.")


def _shown(reading: PeopleReading, key: str) -> bool:
    return any(one.shown for one in reading.people if one.count.key == key)


def _table(
    old: PeopleReading, new: PeopleReading, key: str, *, before: PersonCount | None, after: PersonCount | None
) -> AnswerTable:
    return AnswerTable(
        title=_("With and without the disputed sets, private"),
        columns=(_("Counted"), _("Draws"), _("Clean"), _("Contaminated"), _("Estimate, %"), _("From, %"), _("To, %")),
        rows=(_row(_("with them"), old, key, before), _row(_("without them"), new, key, after)),
    )


def _row(name: str, reading: PeopleReading, key: str, count: PersonCount | None) -> tuple[Cell, ...]:
    counts = (count.draws, count.clean, count.contaminated) if count else (0, 0, 0)
    if not _shown(reading, key):
        return (name, *counts, None, None, None)
    one = reading.person(key)
    return (name, *counts, *(round(100 * x, 1) for x in (one.estimate, one.interval.low, one.interval.high)))
