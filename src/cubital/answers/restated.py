"""What was said before and reads otherwise today: the old figure, its pack and day, the new one, and why."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from cubital.answers.span_words import span_months, span_words
from cubital.domain.answer import Answer, AnswerTable, Verdict
from cubital.domain.words import _, day_words, grouped_words, ngettext, share_words


@dataclass(frozen=True, kw_only=True)
class Said:
    """``contaminated`` of ``sets`` in a span of months, as a pack said it; none was hidden then."""

    first: str
    last: str
    contaminated: int | None
    sets: int


@dataclass(frozen=True, kw_only=True)
class EarlierPack:
    """One pack of the same place: its number, its day, the charter (fingerprint) it counted by, what it said."""

    number: int
    on: date
    charter: str
    said: tuple[Said, ...]


@dataclass(frozen=True, kw_only=True)
class Restatement:
    """One figure that reads otherwise now; ``now`` is none where it is hidden today."""

    before: Said
    pack: int
    on: date
    now: Said
    why: str


def find_restatements(
    earlier: Sequence[EarlierPack], *, months: Mapping[str, Said], charter: str, reasons: Mapping[str, str]
) -> tuple[Restatement, ...]:
    """Every span of an earlier pack, in time order, that the months of today give another figure for.

    ``earlier`` comes oldest first; of packs that said the same span the last one counts, as its readers knew of what
    was restated before it. ``months`` are today's months by name, ``reasons`` says of a month which file changed it
    since that pack was made, keyed ``pack:month``. A span with a month that is not among today's is left out.
    """
    latest: dict[tuple[str, str], tuple[EarlierPack, Said]] = {}
    for pack in earlier:
        latest |= {(said.first, said.last): (pack, said) for said in pack.said if said.contaminated is not None}
    found = []
    for (first, last), (pack, before) in sorted(latest.items()):
        now = _today(first, last, months)
        if now is None or (now.contaminated, now.sets) == (before.contaminated, before.sets):
            continue
        why = _why(pack, first, last, charter=charter, reasons=reasons)
        found.append(Restatement(before=before, pack=pack.number, on=pack.on, now=now, why=why))
    return tuple(found)


def _today(first: str, last: str, months: Mapping[str, Said]) -> Said | None:
    held = [months.get(month) for month in span_months(first, last)]
    known = [one for one in held if one is not None]
    if len(known) != len(held):
        return None
    counts = [one.contaminated for one in known]
    total = None if any(count is None for count in counts) else sum(count or 0 for count in counts)
    return Said(first=first, last=last, contaminated=total, sets=sum(one.sets for one in known))


def _why(pack: EarlierPack, first: str, last: str, *, charter: str, reasons: Mapping[str, str]) -> str:
    said = [reasons.get(f"{pack.number}:{month}", "") for month in span_months(first, last)]
    words = list(dict.fromkeys(word for word in said if word))
    if pack.charter != charter:
        words.append(_("another charter counts since"))
    return "; ".join(words) or _("names of units or places were put right")


def build_restated_answer(found: Sequence[Restatement], *, earlier: Sequence[EarlierPack]) -> Answer:
    """The note about restated figures, old ones kept with their day and reason."""
    return Answer(
        question=_("Which figures of earlier packs read otherwise today?"),
        verdict=Verdict.ESTIMATE,
        sentence=restated_sentence(found, earlier=earlier),
        table=_table(found) if found else None,
    )


def restated_sentence(found: Sequence[Restatement], *, earlier: Sequence[EarlierPack]) -> str:
    """``One figure of an earlier pack reads otherwise today: ...``, or that none does."""
    if not earlier:
        return _("This is the first pack of this place: there is no earlier figure to hold it against.")
    last = earlier[-1]
    if not found:
        return _("No figure of an earlier pack reads otherwise today; the last one is pack {number} of {day}.").format(
            number=last.number, day=day_words(last.on)
        )
    return ngettext(
        "{count} figure of an earlier pack reads otherwise today. The old one is kept here with its day and reason.",
        "{count} figures of earlier packs read otherwise today. The old ones are kept here with their day and reason.",
        len(found),
    ).format(count=len(found))


def _table(found: Sequence[Restatement]) -> AnswerTable:
    return AnswerTable(
        title=_("Restated figures"),
        columns=(_("Months"), _("Said then"), _("In"), _("Today"), _("Why")),
        rows=tuple(
            (
                span_words(one.before.first, one.before.last), said_words(one.before),
                _("pack {number}, {day}").format(number=one.pack, day=day_words(one.on)), said_words(one.now), one.why,
            )
            for one in found
        ),
    )  # fmt: skip


def said_words(said: Said) -> str:
    """``42 of 1,455 (2.9 %)``; that it is hidden where it is."""
    if said.contaminated is None:
        return _("hidden of {sets}").format(sets=grouped_words(said.sets))
    share = share_words(said.contaminated / said.sets) if said.sets else "–"
    return _("{count} of {total} ({share})").format(
        count=grouped_words(said.contaminated), total=grouped_words(said.sets), share=share
    )
