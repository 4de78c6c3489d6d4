"""Since when is it different: the month in which the rate most likely changed, and which others it may have been."""

from __future__ import annotations

from collections.abc import Sequence

from cubital.answers.counted_words import capital
from cubital.answers.counts import MonthCount
from cubital.answers.signal_reading import SignalPolicy
from cubital.domain.answer import Answer, AnswerTable, Figure, Receipt, Verdict
from cubital.domain.words import _, grouped_words, month_words, ngettext, share_words
from cubital.stats.change_point import ChangePoint, find_change

FEWEST = 12  # months below which a change cannot be placed (common practice, no source)
SURE = 0.95  # chance of a change from which it is called a signal


def build_since_answer(
    counts: Sequence[MonthCount], *, policy: SignalPolicy | None = None, receipt: Receipt | None = None
) -> Answer:
    """The most likely month of one lasting change among ``counts`` (time order, at least one)."""
    rules = policy or SignalPolicy()
    question = _("Since when is it different?")
    held = [count for count in counts if count.sets]
    sets = sum(count.sets for count in held)
    if len(held) < FEWEST or sets < rules.min_sets:
        return Answer(
            question=question, verdict=Verdict.TOO_FEW, sentence=too_few_words(len(held), sets, rules), receipt=receipt
        )
    change = find_change([c.contaminated for c in counts], [c.sets for c in counts])
    return Answer(
        question=question,
        verdict=Verdict.SIGNAL if change.chance >= SURE else Verdict.WITHIN_VARIATION,
        sentence=capital(_sentence(counts, change)),
        figures=_figures(counts, change),
        cautions=(
            _("One lasting change is looked for. Several changes, or a slow drift, look like one in between."),
            _("When a rate changed does not say why."),
        ),
        table=_table(counts, change),
        receipt=receipt,
    )


def too_few_words(months: int, sets: int, policy: SignalPolicy) -> str:
    """``Too early to say: ...`` with how many months or sets are missing."""
    missing = []
    if months < FEWEST:
        more = FEWEST - months
        missing.append(ngettext("{count} month", "{count} months", more).format(count=more))
    if sets < policy.min_sets:
        more = policy.min_sets - sets
        missing.append(ngettext("{count} set", "{count} sets", more).format(count=grouped_words(more)))
    return _("Too early to say: it takes at least {months} months and {sets} sets; still missing: {missing}.").format(
        months=FEWEST, sets=grouped_words(policy.min_sets), missing=_(" and ").join(missing)
    )


def _sentence(counts: Sequence[MonthCount], change: ChangePoint) -> str:
    before, after = share_words(change.before), share_words(change.after)
    month = month_words(counts[change.first].month, with_year=True)
    if change.chance < SURE:
        return _(
            "Nothing here shows that the rate changed between {first} and {last}: the chance that it did is {chance}."
        ).format(
            first=month_words(counts[0].month, with_year=True), last=month_words(counts[-1].month, with_year=True),
            chance=share_words(change.chance, 0),
        )  # fmt: skip
    words = (
        _("The rate most likely rose in {month}, from {before} to {after}{doubt}. Look at what began then.")
        if change.after > change.before
        else _(
            "The rate most likely fell in {month}, from {before} to {after}{doubt}. Look at what began then and "
            "keep it."
        )
    )
    return words.format(month=month, before=before, after=after, doubt=_doubt(counts, change))


def _doubt(counts: Sequence[MonthCount], change: ChangePoint) -> str:
    others = [counts[place].month for place in change.likely]
    if len(others) < 2:
        return ""
    return _("; it may have been any month from {first} to {last}").format(
        first=month_words(others[0], with_year=True), last=month_words(others[-1], with_year=True)
    )


def _figures(counts: Sequence[MonthCount], change: ChangePoint) -> tuple[Figure, ...]:
    parts = (counts[: change.first], counts[change.first :])
    labels = (("rate_before", _("Before")), ("rate_after", _("From then on")))
    return (
        Figure(
            key="chance_of_change", label=_("Chance that the rate changed"), value=change.chance, unit="proportion",
            method=_("posterior probability of one change, even odds beforehand"),
            definition=_("given these months, one lasting change against none"),
        ),
        Figure(
            key="chance_of_month", label=_("Chance of that very month"), value=float(change.starts[change.first]),
            unit="proportion", definition=_("given that there was one change, that it began in the month named"),
        ),
        *(
            Figure(
                key=key, label=label, unit="proportion",
                value=sum(c.contaminated for c in part) / sum(c.sets for c in part),
                numerator=sum(c.contaminated for c in part), denominator=sum(c.sets for c in part),
                definition=_("contaminated sets over sets"),
            )
            for (key, label), part in zip(labels, parts, strict=True)
        ),
    )  # fmt: skip


def _table(counts: Sequence[MonthCount], change: ChangePoint) -> AnswerTable:
    return AnswerTable(
        title=_("Chance of each month to be the first of the new rate"),
        columns=(_("Month"), _("Sets"), _("Contaminated"), _("Chance, %")),
        rows=tuple(
            (c.month, c.sets, c.contaminated, round(100 * float(chance), 1))
            for c, chance in zip(counts, change.starts, strict=True)
        ),
    )
