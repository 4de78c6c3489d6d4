"""How long must the trial run? Sizes side by side, months at local volume, and what a shorter trial could show."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

from cubital.answers.interval_picture import IntervalRow, build_interval_picture
from cubital.answers.trial_ask import IccSource, TrialAsk
from cubital.answers.trial_reading import (
    LEAST_UNITS,
    Needed,
    Shorter,
    TrialReading,
    TrialState,
    read_trial,
)
from cubital.answers.trial_series import PlainSeries, read_series, series_caution, series_figure
from cubital.answers.trial_words import months_words, rate_words, trial_question, trial_sentence
from cubital.domain.answer import Answer, AnswerTable, Cell, Check, Figure, Receipt, Verdict
from cubital.domain.trial import TrialDesign
from cubital.domain.words import _, decimal_words, grouped_words, share_words

_VERDICTS = {
    TrialState.SAID: Verdict.ESTIMATE,
    TrialState.ONE_UNIT: Verdict.NOT_IDENTIFIABLE,
    TrialState.FEW_UNITS: Verdict.TOO_FEW,
    TrialState.FEW_STEPS: Verdict.NOT_IDENTIFIABLE,
}


def build_trial_answer(
    reading: TrialReading,
    *,
    checks: Sequence[Check] = (),
    series: PlainSeries | None = None,
    cautions: Sequence[str] = (),
    receipt: Receipt | None = None,
) -> Answer:
    """The whole answer. ``checks`` are what was asked of diary and units first; one of the diary that failed makes
    the trial as planned not identifiable, and the sentence begins with it.
    """
    tangled = [check for check in checks if check.key == "diary" and check.passed is False]
    verdict = _VERDICTS.get(reading.state, Verdict.REFUSED)
    sentence = trial_sentence(reading)
    if tangled and verdict is Verdict.ESTIMATE:
        verdict, sentence = Verdict.NOT_IDENTIFIABLE, f"{tangled[0].words} {_move_words()} {sentence}"
    said = reading.state is TrialState.SAID
    return Answer(
        question=trial_question(), verdict=verdict, sentence=sentence,
        figures=_figures(reading, series) if said else (),
        cautions=(*cautions, *_cautions(reading, series)) if said else tuple(cautions),
        picture=_picture(reading, title=_picture_title(reading)) if said else {},
        table=_table(reading) if said else None, receipt=receipt, checks=tuple(checks),
    )  # fmt: skip


def answer_size(ask: TrialAsk) -> Answer:
    """The answer from numbers alone, with the power of a plain before and after beside it."""
    reading = read_trial(ask)
    said = reading.state is TrialState.SAID
    series = read_series(ask.baseline, ask.expected, per_month=ask.per_month, level=ask.level) if said else None
    return build_trial_answer(reading, series=series)


def _move_words() -> str:
    return _("Move the start, leave that unit out, or let every unit have both ways in turn.")


def _figures(reading: TrialReading, series: PlainSeries | None) -> tuple[Figure, ...]:
    sizes: list[tuple[str, str, float | None, str]] = [
        ("uncorrected", _("Sets in each arm, no correction"), reading.uncorrected, _("normal, pooled variance")),
        ("corrected", _("with continuity correction"), reading.corrected, _("Fleiss, Tytun and Ury")),
        ("arcsine", _("on the arcsine scale"), reading.arcsine, _("Cohen")),
        ("exact", _("for Fisher's exact test"), reading.exact, _("every table weighed by its chance")),
    ]
    figures = [
        Figure(
            key=key, label=label, value=None if value is None else float(math.ceil(value)), unit="sets", method=method,
            note="" if value is not None else _("so many that the corrected size is as good"),
            definition=_("sets in each of two equal arms, sets independent of each other"),
        )
        for key, label, value, method in sizes
    ]  # fmt: skip
    figures += _clustered_figures(reading)
    if series is not None:
        figures.append(series_figure(series))
    return tuple(figures)


def _clustered_figures(reading: TrialReading) -> list[Figure]:
    needed = reading.needed
    if needed is None:
        return []
    ends = [one for one in (reading.at_low, reading.at_high) if one is not None]
    both = len(ends) == 2
    return [
        Figure(
            key="design_effect", label=_("Times as many because sets of a unit resemble each other"),
            value=round(needed.effect, 3), unit="", low=ends[0].effect if both else None,
            high=ends[1].effect if both else None, method=_("design effect"),
            definition=_("correlation {icc}, from {low} to {high}").format(
                icc=_number(needed.icc), low=_number(reading.ask.icc_range[0]), high=_number(reading.ask.icc_range[1])
            ),
            note="" if both else _("at the upper end no length of trial would do"),
        ),
        Figure(
            key="per_arm", label=_("Sets to plan for in each arm"), value=float(needed.per_arm), unit="sets",
            low=float(ends[0].per_arm) if both else None, high=float(ends[1].per_arm) if both else None,
            definition=_("the size without correction, times the design effect"),
        ),
        Figure(
            key="months", label=_("Months for both arms"), value=needed.months, unit="months",
            low=ends[0].months if both else None, high=ends[1].months if both else None,
            definition=_("all sets of both arms over the sets a month"),
        ),
        Figure(
            key="months_each", label=_("Months for one arm alone, clustering not counted"), value=reading.months_each,
            unit="months", definition=_("sets of one arm over the sets a month"),
        ),
    ]  # fmt: skip


def _number(value: float) -> str:
    return decimal_words(f"{value:.2g}")


def _cautions(reading: TrialReading, series: PlainSeries | None) -> tuple[str, ...]:
    ask, found = reading.ask, []
    if ask.icc_source is IccSource.ASSUMED:
        found.append(
            _("How much sets of one unit resemble each other is assumed; look at the range before you promise a date.")
        )
    if reading.at_high is None:
        found.append(_("At the upper end of the correlation no trial of these units could end: bring more units in."))
    if ask.design.in_turns:
        found.append(
            _("Assumed: {kept} of what a unit has of its own stays from one turn to the next.").format(
                kept=share_words(ask.kept, 0)
            )
        )
        found.append(_("In turns, leftovers mix: take the other kit off the trolley when the turn changes."))
    elif ask.design is TrialDesign.PARALLEL and ask.units // 2 < LEAST_UNITS:
        found.append(
            _("Fewer than {least} units on a side: the result hangs on which units were drawn.").format(
                least=LEAST_UNITS
            )
        )
    if ask.design is TrialDesign.STEPPED:
        found.append(_("In steps: every unit a step of its own, steps equally long, time the same for all units."))
    if series is not None:
        found.append(series_caution(series))
    found.append(_("Volumes change: count again after a quarter, and look only as often as was written."))
    return tuple(found)


def _table(reading: TrialReading) -> AnswerTable:
    rows: list[tuple[Cell, ...]] = []
    clustering = {
        IccSource.ASSUMED: _("clustering: assumed"), IccSource.GIVEN: _("clustering: as you gave it"),
        IccSource.LEARNT: _("clustering: as your units have it"),
    }[reading.ask.icc_source]  # fmt: skip
    ends: tuple[tuple[str, float, Needed | None], ...] = (
        (clustering, reading.ask.icc, reading.needed),
        (_("clustering: low end"), reading.ask.icc_range[0], reading.at_low),
        (_("clustering: high end"), reading.ask.icc_range[1], reading.at_high),
    )
    for label, icc, one in ends:
        words = f"{label} ({_number(icc)})"
        rows.append((words, one.per_arm if one else None, round(one.months, 1) if one else None, _found(reading)))
    for short in reading.shorter:
        label = _("only {months}").format(months=months_words(short.months))
        rows.append((label, short.per_arm, short.months, _short_words(short)))
    return AnswerTable(
        title=_("How many, how long, and what it could show"),
        columns=(_("Plan"), _("Sets in each arm"), _("Months, both arms"), _("Shows a fall to")),
        rows=tuple(rows),
    )


def _found(reading: TrialReading) -> str:
    return rate_words(reading.ask.expected)


def _short_words(short: Shorter) -> str:
    return rate_words(short.found) if short.found is not None else _("nothing, not even a fall to 0")


def _picture_title(reading: TrialReading) -> str:
    return _("What a trial of each length can tell from {baseline}").format(baseline=rate_words(reading.ask.baseline))


def _picture(reading: TrialReading, *, title: str) -> dict[str, Any]:
    rows = [
        IntervalRow(
            name=months_words(one.months),
            value=one.found,
            low=one.found,
            high=one.found,
            words=_("{sets} in each arm").format(sets=grouped_words(one.per_arm)),
        )
        for one in reading.shorter
    ]
    if reading.needed is not None:
        name = _("{months}, planned").format(months=months_words(reading.needed.months))
        rows.append(
            IntervalRow(
                name=name, value=reading.ask.expected, low=reading.ask.expected, high=reading.ask.expected,
                words=_("{sets} in each arm").format(sets=grouped_words(reading.needed.per_arm)), stands_out=True,
            )
        )  # fmt: skip
    line = reading.ask.baseline
    return build_interval_picture(
        rows, title=title, line=line, line_words=_("now {share}").format(share=rate_words(line))
    )
