"""Is the comparison fair, and what comes of it? One answer, in plain sentences."""

from __future__ import annotations

from cubital.answers.compared_reading import (
    ComparedReading,
    Divided,
    GroupReading,
    PairReading,
)
from cubital.answers.compared_words import (
    alike_words,
    different_sentence,
    hours_words,
    instead_words,
    not_comparable_sentence,
    refused_sentence,
    thin_sentence,
    undecided_sentence,
)
from cubital.answers.interval_picture import IntervalRow, build_interval_picture
from cubital.domain.answer import Answer, AnswerTable, Check, Figure, Receipt, Verdict
from cubital.domain.words import _, grouped_words, share_words

_ECOLOGICAL = frozenset({Divided.SHIFT, Divided.WEEKEND, Divided.CROWDING})


def build_compared_answer(reading: ComparedReading, *, receipt: Receipt | None = None) -> Answer:
    """The whole answer: ``too_few`` with fewer than two groups large enough, ``not_identifiable`` without overlap or
    where the model cannot tell the group from what is held equal.
    """
    verdict, sentence = _said(reading)
    return Answer(
        question=_("Are they different, compared fairly?"),
        verdict=verdict,
        sentence=sentence,
        figures=compared_figures(reading),
        cautions=compared_cautions(reading),
        picture=_picture(reading, title=sentence),
        table=compared_table(reading),
        receipt=receipt,
        checks=_checks(reading),
    )


def _said(reading: ComparedReading) -> tuple[Verdict, str]:
    if not reading.pairs:
        return Verdict.TOO_FEW, thin_sentence(reading)
    comparable = [pair for pair in reading.pairs if pair.comparable(reading.policy)]
    if not comparable:
        return Verdict.NOT_IDENTIFIABLE, not_comparable_sentence(reading)
    if reading.model and reading.model.refused == "rank":
        return Verdict.NOT_IDENTIFIABLE, refused_sentence(reading)
    different = [pair for pair in comparable if reading.different(pair)]
    if different:
        return Verdict.SIGNAL, " ".join(different_sentence(pair, reading) for pair in different[:2])
    if not sum(group.contaminated for group in reading.groups):
        return Verdict.TOO_FEW, thin_sentence(reading)
    return Verdict.WITHIN_VARIATION, undecided_sentence(comparable[0], reading)


def compared_figures(reading: ComparedReading) -> tuple[Figure, ...]:
    """Each group as counted, each pair within strata and by the model, and what unattributed sets leave possible."""
    groups = [_group_figure(group, place) for place, group in enumerate(reading.groups)]
    possible = [_possible_figure(g, place, reading) for place, g in enumerate(reading.groups) if g.possible]
    pairs = [figure for place, pair in enumerate(reading.pairs) for figure in _pair_figures(pair, place, reading)]
    return (*groups, *pairs, *possible)


def _group_figure(group: GroupReading, place: int) -> Figure:
    return Figure(
        key=f"group_{place}", label=_("Contaminated sets, as counted: {group}").format(group=group.name),
        value=group.share, unit="proportion", low=group.interval.low, high=group.interval.high,
        level=group.interval.level, method=group.interval.method, numerator=group.contaminated, denominator=group.sets,
        definition=_("contaminated over counted sets, nothing held equal"),
    )  # fmt: skip


def _possible_figure(group: GroupReading, place: int, reading: ComparedReading) -> Figure:
    bounds = group.possible
    return Figure(
        key=f"possible_{place}", label=_("What unattributed sets leave possible: {group}").format(group=group.name),
        value=group.share, unit="proportion", low=bounds.low if bounds else None, high=bounds.high if bounds else None,
        level=1.0, method=_("worst case, nothing assumed"),
        definition=_("lowest: every clean unattributed set is theirs; highest: every contaminated one is"),
        note=_("{contaminated} of {sets} unattributed sets are contaminated").format(
            contaminated=grouped_words(reading.unknown[0]), sets=grouped_words(reading.unknown[1])
        ),
    )  # fmt: skip


def _pair_figures(pair: PairReading, place: int, reading: ComparedReading) -> list[Figure]:
    within = pair.within
    if within is None or not pair.comparable(reading.policy):
        return []
    words = instead_words(pair.group.name, pair.other.name, reading.material)
    limits = within.difference.interval
    found = [
        Figure(
            key=f"difference_{place}", label=_("More per 100 sets {instead}, like with like").format(instead=words),
            value=100 * within.difference.estimate, unit="sets", low=100 * limits.low, high=100 * limits.high,
            level=limits.level, method=limits.method,
            definition=_("difference within {strata} strata that hold both, put together").format(strata=within.strata),
        )
    ]  # fmt: skip
    effect = reading.model.effect(pair.group.name) if reading.model else None
    if effect is not None:
        found.append(
            Figure(
                key=f"model_{place}",
                label=_("More per 100 sets {instead}, one person's sets resembling each other").format(instead=words),
                value=100 * effect.middle, unit="sets", low=100 * effect.difference.low,
                high=100 * effect.difference.high, level=effect.difference.level, method=effect.difference.method,
                note=_("odds ratio {ratio:.2f} ({low:.2f} to {high:.2f})").format(
                    ratio=effect.ratio, low=effect.odds_ratio.low, high=effect.odds_ratio.high
                ),
            )
        )  # fmt: skip
    return found


def compared_cautions(reading: ComparedReading) -> tuple[str, ...]:
    """What a comparison of this kind cannot say."""
    found = [_("A difference is not its cause: who draws where, on whom and when is not drawn by lot.")]
    if reading.material.by in _ECOLOGICAL:
        found.append(
            _(
                "This links hours with contamination, not draws: whoever drew in a crowded or short-staffed hour may "
                "not have been the one under pressure."
            )
        )
    if any(pair.within and (pair.within.unlike or 1.0) < reading.policy.level for pair in reading.pairs):
        found.append(_("The difference is not the same in all strata: look at them one by one before acting."))
    if reading.model and reading.model.refused in ("separation", "events"):
        found.append(
            _("The model could not be fitted: no contaminated set, or nothing else, with {columns}.").format(
                columns=", ".join(reading.model.columns) or _("one of the groups")
            )
        )
    found += [alike_words(one) for one in reading.model.alike] if reading.model else []
    return tuple(found)


def compared_table(reading: ComparedReading) -> AnswerTable:
    """One row per group, counts first."""
    return AnswerTable(
        title=_("Groups as counted"),
        columns=(
            reading.material.column, _("Sets"), _("Contaminated"), _("Contaminated, %"), _("From, %"), _("To, %"),
            _("Hours drawn"), _("Possible from, %"), _("Possible to, %"),
        ),
        rows=tuple(
            (
                group.name, group.sets, group.contaminated, _percent(group.share), _percent(group.interval.low),
                _percent(group.interval.high), hours_words(group.hours),
                _percent(group.possible.low) if group.possible else None,
                _percent(group.possible.high) if group.possible else None,
            )
            for group in reading.groups
        ),
    )  # fmt: skip


def _percent(share: float) -> float:
    return round(100 * share, 1)


def _checks(reading: ComparedReading) -> tuple[Check, ...]:
    pairs = reading.pairs
    least = min((min(pair.overlap, pair.hours_overlap or pair.overlap) for pair in pairs), default=None)
    overlap = None if least is None else all(pair.comparable(reading.policy) for pair in pairs)
    words = (
        _("There are not two groups to look at.")
        if least is None
        else _("At least {share} of each group's sets lie where the other one works too.").format(
            share=share_words(least, 0)
        )
    )
    nobody, sets = reading.unknown[1], sum(group.sets for group in reading.groups)
    return (
        Check(key="overlap", passed=overlap, words=words),
        Check(
            key="unattributed", passed=20 * nobody <= nobody + sets,
            words=_("{nobody} of {sets} sets belong to no group.").format(
                nobody=grouped_words(nobody), sets=grouped_words(nobody + sets)
            ),
        ),
    )  # fmt: skip


def _picture(reading: ComparedReading, *, title: str) -> dict[str, object]:
    different = {pair.group.name for pair in reading.pairs if reading.different(pair)}
    rows = [
        IntervalRow(
            name=group.name, value=group.share, low=group.interval.low, high=group.interval.high,
            words=_("{count} of {sets}").format(
                count=grouped_words(group.contaminated), sets=grouped_words(group.sets)
            ),
            stands_out=group.name in different,
        )
        for group in reading.groups
    ]  # fmt: skip
    return build_interval_picture(rows, title=title) if rows else {}
