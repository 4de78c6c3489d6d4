"""Who should be offered support first, fairly? The private answer about people, in words.

The rows carry keys, not names: who a key is stands in the private register only, and is put beside the key on the
private page by the workspace.
"""

from __future__ import annotations

from cubital.answers.interval_picture import IntervalRow, build_interval_picture
from cubital.answers.people_reading import PeopleReading, PersonReading, Standing
from cubital.domain.answer import Answer, AnswerTable, Figure, Receipt, Verdict
from cubital.domain.words import _, decimal_words, grouped_words, ngettext, number_words, share_words
from cubital.stats.proportions import wilson_interval

MOST_BESIDE = 7  # of those considered and not chosen, so many are drawn; the table has all
_VERDICTS = {
    Standing.NOBODY: Verdict.TOO_FEW,
    Standing.NO_EVENTS: Verdict.TOO_FEW,
    Standing.ALIKE: Verdict.WITHIN_VARIATION,
    Standing.DIFFERENT: Verdict.ESTIMATE,
}


def build_people_answer(reading: PeopleReading, *, receipt: Receipt | None = None) -> Answer:
    """The whole answer for the private page; it must not leave it."""
    sentence = people_sentence(reading)
    return Answer(
        question=_("Who should be offered support first, fairly?"),
        verdict=_VERDICTS[reading.standing],
        sentence=sentence,
        figures=people_figures(reading),
        cautions=people_cautions(reading),
        picture=_picture(reading, title=sentence),
        table=people_table(reading),
        receipt=receipt,
    )


def people_sentence(reading: PeopleReading) -> str:
    """The system first, then whether people differ at all, then how many are offered support."""
    if reading.standing is Standing.NOBODY:
        return _("Fewer than two people have draws that are known to be theirs: nothing can be said about people.")
    return " ".join((_system_words(reading), _difference_words(reading)))


def _system_words(reading: PeopleReading) -> str:
    words = (
        _("The system is above target: {count} of {sets} attributed sets, {share}, where at most {target} is aimed at.")
        if reading.system_above
        else _("Everybody together is within target: {count} of {sets} attributed sets, {share} (target {target}).")
    )
    return words.format(
        count=grouped_words(reading.contaminated), sets=grouped_words(reading.draws),
        share=share_words(reading.rate), target=share_words(reading.policy.target),
    )  # fmt: skip


def _difference_words(reading: PeopleReading) -> str:
    if reading.standing is Standing.NO_EVENTS:
        return _("No difference between people can be looked for in such counts.")
    if reading.standing is Standing.ALIKE:
        return _(
            "People do not differ more than chance makes them: support the system, not single people. "
            "Choosing anybody now would be choosing by chance."
        )
    offered = len(reading.queue)
    if not offered:
        return _("People do differ, but nobody's draws leave enough to prevent to be offered support for it.")
    return ngettext(
        "There is some real difference between people as well: {count} person is offered support, chosen by what it "
        "could prevent and not by percentage.",
        "There is some real difference between people as well: {count} people are offered support, chosen by what it "
        "could prevent and not by percentage.",
        offered,
    ).format(count=number_words(offered))


def people_figures(reading: PeopleReading) -> tuple[Figure, ...]:
    """The common rate, whether differences are real, what is usual, and what is not known of whom."""
    figures = []
    if reading.draws:
        interval = wilson_interval(reading.contaminated, reading.draws)
        figures.append(Figure(
            key="attributed_rate", label=_("All attributed sets"), value=reading.rate, unit="proportion",
            low=interval.low, high=interval.high, level=interval.level, method=interval.method,
            numerator=reading.contaminated, denominator=reading.draws,
            definition=_("contaminated sets over sets whose collector is known"),
        ))  # fmt: skip
    if reading.spread:
        figures.append(Figure(
            key="difference_chance", label=_("How often chance alone spreads people this far apart"),
            value=reading.spread.chance, unit="proportion", method=_("events dealt out at random over the same draws"),
            definition=_("below {share} the difference is taken for real").format(share=share_words(0.05, 0)),
        ))  # fmt: skip
    if reading.prior:
        figures.append(Figure(
            key="usual_rate", label=_("What is usual for one person"), value=reading.prior.mean, unit="proportion",
            method=_("beta-binomial model, fitted to these counts"),
            definition=_("worth about {draws} draws when one person's own counts are weighed against it").format(
                draws=grouped_words(round(reading.prior.weight))
            ),
        ))  # fmt: skip
    return (*figures, *_unattributed_figures(reading))


def _unattributed_figures(reading: PeopleReading) -> tuple[Figure, ...]:
    contaminated, sets = reading.unattributed
    if not sets:
        return ()
    whole = reading.draws + sets
    return (
        Figure(
            key="unattributed", label=_("Sets without a known collector"), value=sets / whole, unit="proportion",
            numerator=sets, denominator=whole,
            definition=_("they belong to nobody: neither to the unit nor to whoever was on duty"),
            note=_("{count} of them contaminated").format(count=grouped_words(contaminated)),
        ),
        Figure(
            key="attributed_bounds", label=_("Known collectors, had the unattributed sets been theirs"),
            value=reading.rate, unit="proportion", low=reading.bounds[0], high=reading.bounds[1],
            method=_("worst case: only the clean ones, or only the contaminated ones"),
            definition=_("how far the sets of nobody could move this share at most"),
        ),
    )  # fmt: skip


def people_cautions(reading: PeopleReading) -> tuple[str, ...]:
    """What must be kept in mind, the purpose first."""
    found = [_(
        "Private, for support only: not for pay, discipline or contracts, and not to be shown to a group."
    )]  # fmt: skip
    if reading.unattributed[1]:
        share = reading.unattributed[1] / (reading.unattributed[1] + reading.draws)
        found.append(_("The collector of {share} of sets is not known.").format(share=share_words(share)))
    few = sum(not one.shown for one in reading.people)
    if few:
        found.append(
            ngettext(
                "{count} person has fewer than {draws} draws: counts only, no percentage.",
                "{count} people have fewer than {draws} draws: counts only, no percentage.",
                few,
            ).format(count=few, draws=reading.policy.min_draws)
        )
    return tuple(found)


def reason_words(person: PersonReading, reading: PeopleReading) -> str:
    """Why this person is in the queue, or was considered and not chosen, in one sentence."""
    target = share_words(reading.policy.target)
    could = decimal_words(f"{person.preventable:.1f}")
    chosen = any(one.count.key == person.count.key for one in reading.queue)
    words = (
        _("At target, about {could} of {draws} draws would not have been contaminated.")
        if chosen
        else _("Considered, not chosen: at target only about {could} of {draws} draws would have been different.")
    )
    return words.format(could=could, draws=grouped_words(person.count.draws), target=target)


def people_table(reading: PeopleReading) -> AnswerTable:
    """Everybody, those offered support first in their order, then by key: clean draws before contaminated ones."""
    order = {one.count.key: place for place, one in enumerate(reading.queue, start=1)}
    rows = sorted(reading.people, key=lambda one: (order.get(one.count.key, len(order) + 1), one.count.key))
    return AnswerTable(
        title=_("Draws of each person, private"),
        columns=(
            _("Support"), _("Person"), _("Draws"), _("Clean"), _("Contaminated"), _("Estimate, %"), _("From, %"),
            _("To, %"), _("Chance above target, %"), _("Could be prevented"),
        ),
        rows=tuple(
            (
                order.get(one.count.key), one.count.key, one.count.draws, one.count.clean, one.count.contaminated,
                *(_percents(one) if one.shown else (None, None, None, None)),
                round(one.preventable, 1) + 0.0,  # no minus before nothing
            )
            for one in rows
        ),
    )  # fmt: skip


def _percents(one: PersonReading) -> tuple[float, float, float, float]:
    low, high = one.interval.low, one.interval.high
    return round(100 * one.estimate, 1), round(100 * low, 1), round(100 * high, 1), round(100 * one.above)


def _picture(reading: PeopleReading, *, title: str) -> dict[str, object]:
    rows = [
        IntervalRow(
            name=one.count.key,
            value=one.estimate if one.shown else None,
            low=one.interval.low if one.shown else None,
            high=one.interval.high if one.shown else None,
            words=_("{clean} of {draws} clean").format(clean=one.count.clean, draws=one.count.draws)
            if one.shown
            else _("{clean} of {draws} clean; too few to say").format(clean=one.count.clean, draws=one.count.draws),
        )
        for one in (*reading.queue, *reading.considered[:MOST_BESIDE])
    ]
    target = reading.policy.target
    words = _("target {share}").format(share=share_words(target))
    return build_interval_picture(rows, title=title, line=target, line_words=words)
