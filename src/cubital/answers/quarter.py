"""How was the quarter? The answer that a committee hears: is it noise or signal, in its series, with its company."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from cubital.answers.counted_words import capital, things_words
from cubital.answers.counts import MonthCount
from cubital.answers.palette import ACCENT
from cubital.answers.pictures import build_month_picture
from cubital.answers.quarter_reading import QuarterReading, Side, Standing
from cubital.answers.signal import build_month_table
from cubital.answers.signal_reading import Baseline, Rule
from cubital.answers.signal_words import Place, variation_words
from cubital.answers.span_words import span_words
from cubital.domain.answer import Answer, Figure, Receipt, Verdict
from cubital.domain.words import _, grouped_words, month_words, ngettext, number_words, share_words
from cubital.indicators.month import check_company
from cubital.indicators.shares import LEVEL, build_share

_VERDICTS = {
    Standing.NOTHING_DRAWN: Verdict.TOO_FEW,
    Standing.TOO_FEW: Verdict.TOO_FEW,
    Standing.WITHIN: Verdict.WITHIN_VARIATION,
}


@dataclass(frozen=True, kw_only=True)
class QuarterSetting:
    """What is known around the counts: the place in words, what stands beside the rate (contamination first), what to
    keep in mind, and what it was computed from.
    """

    place: Place
    place_name: str
    company: tuple[Figure, ...] = ()
    cautions: tuple[str, ...] = ()
    receipt: Receipt | None = None


def build_quarter_answer(reading: QuarterReading, *, setting: QuarterSetting) -> Answer:
    """The answer about the stretch: its sentence, its company, the chart of every month behind it."""
    sentence = quarter_sentence(reading, place=setting.place)
    chart = chart_words(reading)
    return Answer(
        question=_("How was {span} at {place}: is it really different, or is it noise?").format(
            span=reading_span(reading), place=setting.place_name
        ),
        verdict=_VERDICTS.get(reading.standing, Verdict.SIGNAL),
        sentence=sentence,
        figures=check_company((*setting.company, *_chart_figures(reading))),
        cautions=(*(words for words in (target_words(reading), _scatter_words(reading)) if words), *setting.cautions),
        picture=_picture(reading, title=chart),
        table=build_month_table(reading.chart),
        receipt=setting.receipt,
    )


def reading_span(reading: QuarterReading) -> str:
    """``January to March 2026``."""
    return span_words(reading.span[0].month, reading.span[-1].month)


def quarter_sentence(reading: QuarterReading, *, place: Place) -> str:
    """What a person says aloud about the stretch: counts, rate, whether it is a signal, what follows."""
    standing = reading.standing
    if standing is Standing.NOTHING_DRAWN:
        return capital(
            _("{span} has no {things}, so there is no rate to judge.").format(
                span=reading_span(reading), things=things_words(reading.chart.unit)
            )
        )
    if standing is Standing.TOO_FEW:
        return capital(_too_few(reading))
    template = _templates()[standing]
    return capital(template.format(**_values(reading, place=place)))


def _templates() -> Mapping[Standing, str]:
    return {
        Standing.WITHIN: _(
            "{subject} is within what {variation} produces; chance alone strays as far to this side in {chance} of "
            "such stretches. No action beyond the current plan; {limit}"
        ),
        Standing.HIGH: _(
            "{subject} is a signal: it is above what {variation} produces, where {first} or more is a signal and the "
            "baseline is {baseline}. Look at the sets of these months before naming a cause."
        ),
        Standing.LOW: _(
            "{subject} is a signal of improvement: it is below what {variation} produces, where {last} or fewer is a "
            "signal and the baseline is {baseline}. Check that every result is in, then find out what went well."
        ),
        Standing.ONE_MONTH: _(
            "{subject} as a whole is within what {variation} produces, but {odd} is a signal by itself. Look at the "
            "sets of that month before naming a cause."
        ),
        Standing.RUN: _(
            "{subject} is a signal although no single month need stand out: {run}. Ask what changed when it began."
        ),
    }


def _values(reading: QuarterReading, *, place: Place) -> dict[str, str]:
    return {
        "subject": subject_words(reading),
        "variation": variation_words(place),
        "chance": share_words(reading.tail, digits=0),
        "limit": _limit_words(reading),
        "first": grouped_words(reading.first_signal or 0),
        "last": grouped_words(reading.last_low_signal or 0),
        "baseline": share_words(reading.chart.rate),
        "odd": _(" and ").join(_month_words(one) for one in reading.odd),
        "run": _run_words(reading),
    }


def subject_words(reading: QuarterReading) -> str:
    """``January to March 2026 (40 of 1,455, 2.7 %)``."""
    return _("{span} ({count} of {sets}, {share})").format(
        span=reading_span(reading), count=grouped_words(reading.contaminated), sets=grouped_words(reading.sets),
        share=share_words(reading.contaminated / reading.sets if reading.sets else 0.0),
    )  # fmt: skip


def _month_words(one: MonthCount) -> str:
    return _("{month} ({count} of {sets}, {share})").format(
        month=month_words(one.month), count=grouped_words(one.contaminated), sets=grouped_words(one.sets),
        share=share_words(one.contaminated / one.sets),
    )  # fmt: skip


def _limit_words(reading: QuarterReading) -> str:
    if not reading.high and reading.last_low_signal is not None:
        return _("{count} or fewer would have been a signal of improvement.").format(
            count=grouped_words(reading.last_low_signal)
        )
    if reading.first_signal is None:
        return _("with so few of them no count could have been a signal.")
    return _("{count} or more would have been a signal.").format(count=grouped_words(reading.first_signal))


def _run_words(reading: QuarterReading) -> str:
    chart = reading.chart
    month = month_words(chart.asked.month)
    words = {
        Rule.SHIFT_UP: _("{month} is the latest of {run} months in a row above the baseline of {baseline}"),
        Rule.SHIFT_DOWN: _("{month} is the latest of {run} months in a row below the baseline of {baseline}"),
        Rule.TREND_UP: _("{month} is the last of {trend} months that rise steadily"),
        Rule.TREND_DOWN: _("{month} is the last of {trend} months that fall steadily"),
    }
    if reading.run is None:
        return ""
    return words[reading.run].format(
        month=month, run=number_words(abs(chart.current_run)), trend=number_words(abs(chart.trend)),
        baseline=share_words(chart.rate),
    )  # fmt: skip


def _too_few(reading: QuarterReading) -> str:
    policy, chart = reading.chart.policy, reading.chart
    low, high = (reading.interval.low, reading.interval.high) if reading.interval else (0.0, 1.0)
    return _(
        "Too few to say whether {subject} is signal or noise: the baseline before it has {months} with {sets}{none}, "
        "and it takes at least {least_months} and {least_sets}. By itself the true rate may lie anywhere from {low} to "
        "{high}."
    ).format(
        none=_(", none of them contaminated") if chart.state is Baseline.NO_EVENT else "",
        subject=subject_words(reading), months=_months_words(chart.baseline_points),
        sets=_sets_words(chart.baseline_sets), least_months=_months_words(policy.min_points),
        least_sets=_sets_words(policy.min_sets), low=share_words(low), high=share_words(high),
    )  # fmt: skip


def _months_words(count: int) -> str:
    return ngettext("{count} month", "{count} months", count).format(count=grouped_words(count))


def _sets_words(count: int) -> str:
    return ngettext("{count} set", "{count} sets", count).format(count=grouped_words(count))


def target_words(reading: QuarterReading) -> str:
    """Where the likely range lies against the target; empty without a target or without sets."""
    target = reading.chart.policy.target
    if target is None or reading.interval is None:
        return ""
    words = {
        Side.ABOVE: _("The rate is likely from {low} to {high}, all of it above the target of {target}."),
        Side.BELOW: _("The rate is likely from {low} to {high}, all of it below the target of {target}."),
        Side.UNTOLD: _("The rate is likely from {low} to {high}, which cannot be told from the target of {target}."),
    }[reading.side_of(target)]
    return words.format(
        low=share_words(reading.interval.low), high=share_words(reading.interval.high), target=share_words(target)
    )


def _scatter_words(reading: QuarterReading) -> str:
    if reading.chart.state is not Baseline.SOUND or reading.chart.dispersion > reading.chart.policy.dispersion_chance:
        return ""
    return _(
        "The months before vary more than chance alone would make them; something besides chance moves them, and "
        "limits drawn from chance alone are too narrow."
    )


def chart_words(reading: QuarterReading) -> str:
    """What the chart shows, for those who do not see it: months, band, baseline, what stands out, the ringed months."""
    chart = reading.chart
    span = span_words(chart.counts[0].month, chart.counts[-1].month)
    shown = _(
        "Each month from {span} as its share of contaminated {things}; the months of this pack are ringed."
    ).format(span=span, things=things_words(chart.unit))
    if chart.state is not Baseline.SOUND:
        return shown + " " + _("The months before are too few to draw what chance alone produces.")
    marked = [one.month for one, flag in zip(chart.counts, chart.marked, strict=True) if flag]
    named = ", ".join(month_words(month, with_year=True) for month in marked)
    odd = _("Outside it: {months}.").format(months=named) if marked else _("No month lies outside it beyond chance.")
    band = _("The band is what chance alone produces around the baseline of {baseline}.").format(
        baseline=share_words(chart.rate)
    )
    return f"{shown} {band} {odd}"


def _picture(reading: QuarterReading, *, title: str) -> dict[str, Any]:
    """The chart of the months with a ring round each month of the stretch; the last has its ring already."""
    picture = build_month_picture(reading.chart, title=title)
    if not picture:
        return {}
    ring = {"type": "point", "filled": False, "size": 190, "color": ACCENT, "strokeWidth": 2, "opacity": 1}
    first, last = reading.span[0].month, reading.span[-1].month
    chosen = {"filter": f"datum.month >= '{first}' && datum.month < '{last}'"}
    y = {"field": "rate", "type": "quantitative", "title": None}
    return {**picture, "layer": [*picture["layer"], {"transform": [chosen], "mark": ring, "encoding": {"y": y}}]}


def _chart_figures(reading: QuarterReading) -> tuple[Figure, ...]:
    figures: list[Figure] = []
    if reading.year_before:
        figures.append(_pooled(
            "year_before", _("The same months a year before"), reading.year_before,
            definition=_("contaminated over counted, by the charter of today"),
        ))  # fmt: skip
    if reading.chart.state is Baseline.SOUND:
        figures.append(_pooled(
            "baseline", _("Baseline before it"), reading.chart.baseline,
            definition=_("contaminated over counted in the months that say what is usual"),
        ))  # fmt: skip
        figures.append(Figure(
            key="tail", label=_("Chance alone goes as far to this side"), value=reading.tail, unit="proportion",
            method=_("exact binomial at the baseline rate"),
            definition=_("how often a stretch of so many sets strays at least so far when nothing has changed"),
        ))  # fmt: skip
    return tuple(figures)


def _pooled(key: str, label: str, counts: Sequence[MonthCount], *, definition: str) -> Figure:
    return build_share(
        key, label, numerator=sum(one.contaminated for one in counts), denominator=sum(one.sets for one in counts),
        definition=definition, level=LEVEL,
    )  # fmt: skip
