"""This month: is it noise or signal, with everything that must stand beside contamination."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

from cubital.answers.counts import MonthCount
from cubital.answers.month_cautions import month_cautions
from cubital.answers.month_checks import month_checks
from cubital.answers.month_material import MonthMaterial
from cubital.answers.month_outside import outside_words
from cubital.answers.phases import LockedBaseline, inside_change_words, phase_words
from cubital.answers.pictures import build_month_picture
from cubital.answers.signal import build_month_table, signal_cautions
from cubital.answers.signal_figures import signal_figures
from cubital.answers.signal_reading import assess_month
from cubital.answers.signal_words import signal_sentence, signal_verdict
from cubital.domain.answer import Answer, Figure, Verdict
from cubital.domain.words import _, month_words
from cubital.indicators.month import check_company, month_figures
from cubital.judge.counts import MonthCounts


def build_month_answer(material: MonthMaterial) -> Answer:
    """The answer about the last month of ``material``: the sentence or a refusal, and its company.

    Figures come in this order: contamination, what waits for a decision, its companions, then what the chart says. A
    thin baseline refuses the signal and still shows the month.
    """
    outside = outside_words(material)
    counts, baseline = rate_counts(material.history), material.baseline
    reading = assess_month(
        counts, policy=material.policy, unit=material.charter.unit_of_count, locked=baseline.span if baseline else None
    )
    sentence = outside or signal_sentence(reading, place=material.place)
    return Answer(
        question=_("How was {month} at {place}: is it really different, or is it noise?").format(
            month=month_words(material.month, with_year=True), place=material.place_name
        ),
        verdict=Verdict.REFUSED if outside else signal_verdict(reading),
        sentence=sentence,
        figures=check_company((*_companions(material), *_chart_figures(signal_figures(reading)))),
        cautions=month_cautions(material, chart=(*signal_cautions(reading), *baseline_cautions(counts, baseline))),
        picture=build_month_picture(reading, title=sentence),
        table=build_month_table(reading),
        receipt=material.receipt,
        checks=month_checks(material),
    )


def rate_counts(history: Sequence[MonthCounts]) -> tuple[MonthCount, ...]:
    """The charter's numerator and denominator by month; months out of order or twice are a ``ValueError``."""
    if any(later.month <= earlier.month for earlier, later in pairwise(history)):
        raise ValueError("the months are not in time order")
    return tuple(
        MonthCount(month=counts.month, sets=counts.denominator, contaminated=counts.numerator) for counts in history
    )


def baseline_cautions(counts: Sequence[MonthCount], baseline: LockedBaseline | None) -> tuple[str, ...]:
    """Which locked baseline the month is measured against, and a warning where the rate changed inside of it."""
    if baseline is None:
        return ()
    measured = _("Measured against the baseline {phase}.").format(phase=phase_words(baseline).rstrip("."))
    inside = inside_change_words(counts, baseline)
    return (measured, inside) if inside else (measured,)


def _companions(material: MonthMaterial) -> tuple[Figure, ...]:
    return month_figures(material.asked, material.process[-1], charter=material.charter, limits=material.limits)


def _chart_figures(figures: Sequence[Figure]) -> tuple[Figure, ...]:
    """The chart's figures without the month's own rate, which stands first as ``contamination``."""
    return tuple(figure for figure in figures if figure.key != "month_rate")
