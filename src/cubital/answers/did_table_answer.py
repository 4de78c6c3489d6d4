"""Did it work? From a table of counts before and after: first what the design can tell, then what it says."""

from __future__ import annotations

from typing import Any

from cubital.answers.counted_words import capital
from cubital.answers.did_table_reading import MISFIT, DidReading, DidState, Pair, TermFit
from cubital.answers.did_table_words import (
    apart_words,
    did_table_sentence,
    open_caution,
    range_as_counts,
    term_words,
)
from cubital.answers.did_terms import PERIOD
from cubital.answers.did_wording import range_words, ratio_words, roomy
from cubital.answers.interval_picture import IntervalRow, build_ratio_picture
from cubital.domain.answer import Answer, AnswerTable, Cell, Check, Figure, Receipt, Verdict
from cubital.domain.words import _, ngettext, number_words, share_words
from cubital.stats.proportions import wilson_interval

_VERDICTS = {
    DidState.NAIVE: Verdict.ESTIMATE,
    DidState.UNNAMED: Verdict.REFUSED,
    DidState.TANGLED: Verdict.NOT_IDENTIFIABLE,
    DidState.THIN: Verdict.TOO_FEW,
    DidState.UNBOUNDED: Verdict.TOO_FEW,
}


def build_did_table_answer(reading: DidReading, *, receipt: Receipt | None = None) -> Answer:
    """The whole answer; a signal only where the design tells what is asked about from everything else it holds."""
    sentence = did_table_sentence(reading)
    return Answer(
        question=did_question(),
        verdict=_verdict(reading),
        sentence=sentence,
        figures=_figures(reading),
        cautions=_cautions(reading),
        picture=_picture(reading, title=sentence),
        table=_table(reading),
        receipt=receipt,
        checks=_checks(reading),
    )


def did_question() -> str:
    """The question of the page."""
    return _("Did it work?")


def _verdict(reading: DidReading) -> Verdict:
    if reading.state is DidState.NAIVE and reading.naive is None:
        return Verdict.REFUSED
    if reading.state is DidState.NAIVE and reading.naive and not reading.naive.before[0]:
        return Verdict.TOO_FEW
    if reading.state is not DidState.SAID:
        return _VERDICTS[reading.state]
    if not _beyond(reading):
        return Verdict.WITHIN_VARIATION
    return Verdict.ESTIMATE if reading.misfit is None else Verdict.SIGNAL


def _beyond(reading: DidReading) -> bool:
    return any(fit.beyond for factor in reading.asked for fit in reading.fits_of(factor))


def _checks(reading: DidReading) -> tuple[Check, ...]:
    found = []
    if reading.whole is not None:
        whole = reading.whole.whole
        found.append(Check(
            key="identifiable", passed=whole,
            words=_("All that differs in the table can be told apart.") if whole
            else _("Not everything can be told apart: {why}.").format(why=apart_words(reading, reading.whole)),
        ))  # fmt: skip
    if reading.alone is not None and len(reading.table.places) > 1 and not reading.alone.whole:
        found.append(Check(
            key="alone", passed=False,
            words=_("{place} alone cannot tell them apart: {why}. The other units are needed.").format(
                place=reading.focal, why=apart_words(reading, reading.alone)
            ),
        ))  # fmt: skip
    found.append(_comparison_check(reading))
    found += [
        Check(key="worst", passed=None, words=_(
            "Why this unit was chosen is not in the table. If it was chosen because it was worst, some fall was to be "
            "expected anyway."
        )),
        Check(key="definition", passed=None, words=_(
            "Whether the definition, the analyser or the list of organisms changed meanwhile is not in the table."
        )),
        Check(key="hours", passed=None, words=_(
            "The hours of the draws are not in the table. Where one group collects by day only, compare the same "
            "hours: no table matched by hour can be made from counts alone."
        )),
    ]  # fmt: skip
    return tuple(found)


def _comparison_check(reading: DidReading) -> Check:
    """Units in which nothing that differs between rows began: what would have come anyway is learnt from them."""
    without = [place for place in reading.table.places if not _began(reading, place)]
    words = ngettext(
        "{count} unit went through both times with nothing begun: {places}.",
        "{count} units went through both times with nothing begun: {places}.", len(without),
    ).format(
        count=number_words(len(without)), places=", ".join(place or _("without a name") for place in without)
    )  # fmt: skip
    if not reading.table.factors or not without:
        words = _("No unit went through both times without what began: what would have come anyway is not known.")
    return Check(key="comparison", passed=bool(reading.table.factors and without), words=capital(words))


def _began(reading: DidReading, place: str) -> bool:
    rows = reading.table.of_place(place)
    before = {row.levels for row in rows if not row.after}
    after = {row.levels for row in rows if row.after}
    return not before or not after or before != after


def _figures(reading: DidReading) -> tuple[Figure, ...]:
    figures = []
    naive = reading.naive
    if naive is not None:
        name = naive.place or _("All rows")
        alone = _("{place}, before and after alone").format(place=name)
        figures += [
            _share_figure("naive_before", _("{place}, before").format(place=name), naive.before),
            _share_figure("naive_after", _("{place}, after").format(place=name), naive.after),
        ]
    if naive is not None and naive.before[0]:  # nothing before has no ratio
        figures += [
            Figure(
                key="naive_ratio", label=_("Naive ratio: {alone}").format(alone=alone), value=naive.ratio.estimate,
                unit="ratio", low=naive.ratio.interval.low, high=naive.ratio.interval.high,
                level=naive.ratio.interval.level, method=naive.ratio.interval.method,
                definition=_("share after over share before, nothing held equal"),
                note=_("a description of two times, not of what began between them"),
            ),
        ]  # fmt: skip
    return (*figures, *fit_figures(reading), *_split_figures(reading))


def fit_figures(reading: DidReading) -> tuple[Figure, ...]:
    """The odds ratio of every term that has one."""
    return tuple(_fit_figure(fit) for fit in reading.fits)


def _share_figure(key: str, label: str, pair: Pair) -> Figure:
    interval = wilson_interval(*pair)
    return Figure(
        key=key, label=label, value=pair[0] / pair[1], unit="proportion", low=interval.low, high=interval.high,
        level=interval.level, method=interval.method, numerator=pair[0], denominator=pair[1],
        definition=_("contaminated sets over counted sets"),
    )  # fmt: skip


def _fit_figure(fit: TermFit) -> Figure:
    key = f"odds_{fit.term.factor}_{fit.term.level}".strip("_").replace(" ", "_")
    return Figure(
        key=key, label=_("Odds of contamination: {what}").format(what=term_words(fit.term)), value=fit.ratio,
        unit="ratio", low=fit.interval.low, high=fit.interval.high, level=fit.interval.level,
        method=_("logistic model with an effect per unit, period and column; Wald"),
        definition=_(
            "odds ratio: 1 means no difference, everything else in the table held equal; where few sets are "
            "contaminated it is nearly how many times as often"
        ),
    )  # fmt: skip


def _split_figures(reading: DidReading) -> tuple[Figure, ...]:
    split = reading.split
    if split is None:
        return ()
    share = split.mix_share
    note = "" if share is None else _("{share} of the fall").format(share=share_words(share, 0))
    within, mix = split.within_interval, split.mix_interval
    return (
        Figure(
            key="fall", label=_("Fall at {place}").format(place=reading.focal), value=split.fall, unit="difference",
            definition=_("share before minus share after"),
        ),
        Figure(
            key="fall_within", label=_("of it within {levels}").format(levels=", ".join(split.levels)),
            value=split.within, unit="difference", low=within.low, high=within.high, level=within.level,
            method=within.method, definition=_("what these would have fallen by, had they stayed as many as they were"),
        ),
        Figure(
            key="fall_mix", label=_("of it in a different mix of {factor}").format(factor=split.factor),
            value=split.mix, unit="difference", low=mix.low, high=mix.high, level=mix.level, method=mix.method,
            definition=_("the rest: who or what it was collected with"), note=note,
        ),
    )  # fmt: skip


def _cautions(reading: DidReading) -> tuple[str, ...]:
    found = []
    for factor in reading.asked:
        for fit in reading.fits_of(factor):
            if not fit.beyond and fit.interval.low < 1:
                found.append(open_caution(fit))
            elif fit.beyond:
                found.append(_("By the odds, {what} lies anywhere in {range}.").format(
                    what=term_words(fit.term), range=range_as_counts(fit)
                ))  # fmt: skip
    if reading.whole is not None:
        found += [
            _("{column} is almost the same as everything else together: its interval is wide for that reason.").format(
                column=near.column
            )
            for near in reading.whole.near
            if near.column not in reading.table.places
        ]
    if reading.misfit is not None and reading.misfit < MISFIT:
        found.append(_("The rows stray further from the model than chance allows: the intervals are too narrow."))
    found += [
        _("Column '{column}' holds only '{level}': nothing can be said of it, and it was left out.").format(
            column=column, level=level
        )
        for column, level in reading.table.constant
    ]
    if reading.state is DidState.SAID and reading.misfit is None and _beyond(reading):
        found.append(_(
            "The table has as many unknowns as rows: how differently units change anyway cannot be seen in it, so this "
            "is no signal yet."
        ))  # fmt: skip
    if reading.state is DidState.SAID:
        found.append(_(
            "Compared are counts as they came about; nobody drew by lot who got what. Something that is not in the "
            "table and began with it would look the same."
        ))  # fmt: skip
    return tuple(found)


def _table(reading: DidReading) -> AnswerTable:
    rows: list[tuple[Cell, ...]] = [
        (row.place, _("after") if row.after else _("before"), *row.levels, row.sets, row.contaminated,
         round(100 * row.contaminated / row.sets, 2))
        for row in reading.table.rows
    ]  # fmt: skip
    return AnswerTable(
        title=_("The counts"),
        columns=(_("Unit"), _("Period"), *reading.table.factors, _("Sets"), _("Contaminated"), _("Contaminated, %")),
        rows=tuple(rows),
    )


def _picture(reading: DidReading, *, title: str) -> dict[str, Any]:
    """Every ratio on one line with its interval; the naive one first, named as that."""
    rows = []
    naive = reading.naive
    if naive is not None and 0 < naive.ratio.estimate < float("inf"):
        interval = naive.ratio.interval
        rows.append(IntervalRow(
            name=_("naive: {place}").format(place=naive.place or _("All rows")), value=naive.ratio.estimate,
            low=interval.low, high=interval.high,
            words=f"{ratio_words(naive.ratio.estimate)} ({range_words(interval)})",
        ))  # fmt: skip
    rows += [
        IntervalRow(
            name=term_words(fit.term), value=fit.ratio, low=fit.interval.low, high=fit.interval.high,
            words=f"{ratio_words(fit.ratio)} ({range_words(fit.interval)})",
            stands_out=fit.beyond and fit.term.column != PERIOD,
        )
        for fit in reading.fits
    ]  # fmt: skip
    return roomy(build_ratio_picture(rows, title=title, line_words=_("no difference")), len(rows)) if rows else {}
