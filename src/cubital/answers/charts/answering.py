"""The answer of one monthly chart: the last month in a sentence, how often the chart errs and how soon it speaks."""

from __future__ import annotations

from collections.abc import Sequence

from cubital.answers.charts.kinds import ChartKind, ChartReading, chart_words
from cubital.answers.charts.monthly import read_chart
from cubital.answers.charts.picture import build_chart_picture
from cubital.answers.counted_words import capital
from cubital.answers.counts import MonthCount
from cubital.answers.signal import counts_checks, counts_receipt, signal_question
from cubital.answers.signal_reading import Baseline, SignalPolicy, assess_month
from cubital.answers.signal_words import Place, signal_sentence, signal_verdict
from cubital.domain.answer import Answer, AnswerTable, Figure, Receipt, Verdict
from cubital.domain.words import _, decimal_words, grouped_words, month_words, ngettext, number_words, share_words

_MOST = 1000  # beyond so many months nobody can picture the number


def build_chart_answer(
    counts: Sequence[MonthCount],
    *,
    kind: ChartKind,
    place: Place = "department",
    policy: SignalPolicy | None = None,
    locked: tuple[str, str] | None = None,
    receipt: Receipt | None = None,
    why: str = "",
) -> Answer:
    """The last of ``counts`` on the chart ``kind``.

    Parameters
    ----------
    counts : months in time order, none twice, at least one.
    kind : one of the monthly charts; a chart of gaps is a ``ValueError``.
    locked : first and last month of a baseline agreed earlier; none takes every month before the last.
    why : why this chart was chosen, said with the cautions.
    """
    rules = policy or SignalPolicy()
    reading = read_chart(counts, kind=kind, policy=rules, locked=locked)
    plain = assess_month(counts, policy=rules, locked=locked)
    refused = reading.state is not Baseline.SOUND or not reading.asked.sets
    sentence = signal_sentence(plain, place=place) if refused else _sentence(reading)
    return Answer(
        question=signal_question(plain),
        verdict=signal_verdict(plain) if refused else _verdict(reading),
        sentence=sentence,
        figures=_figures(reading),
        cautions=tuple(words for words in (why, _kind_caution(reading)) if words),
        picture=build_chart_picture(reading, title=sentence),
        table=_table(reading),
        receipt=receipt or counts_receipt(counts, policy=rules, code=""),
        checks=counts_checks(counts),
    )


def _verdict(reading: ChartReading) -> Verdict:
    return Verdict.SIGNAL if reading.signals_now else Verdict.WITHIN_VARIATION


def _sentence(reading: ChartReading) -> str:
    values = {
        "subject": _subject(reading.asked), "chart": chart_words(reading.kind), "since": _since(reading),
        "cost": cost_words(reading),
    }  # fmt: skip
    if not reading.signals_now:
        return capital(_("{subject} is no signal on the {chart}. {cost}").format(**values))
    words = (
        _("{subject} is a signal on the {chart}: worse than the baseline{since}. Look at what changed then. {cost}")
        if reading.worse
        else _(
            "{subject} is a signal on the {chart}: better than the baseline{since}. Find out why and keep it. {cost}"
        )
    )
    return capital(words.format(**values))


def _subject(count: MonthCount) -> str:
    return _("{month} ({count} of {sets}, {share})").format(
        month=month_words(count.month), count=grouped_words(count.contaminated), sets=grouped_words(count.sets),
        share=share_words(count.contaminated / count.sets),
    )  # fmt: skip


def _since(reading: ChartReading) -> str:
    if reading.kind not in (ChartKind.EWMA, ChartKind.CUSUM) or reading.began is None:
        return ""
    return _(", likely since {month}").format(month=month_words(reading.counts[reading.began].month, with_year=True))


def cost_words(reading: ChartReading) -> str:
    """How often the chart cries wolf and how soon it finds a doubled rate."""
    every, found = reading.cost.false_alarm_every, reading.cost.found_after
    wolf = (
        _("This chart practically never cries wolf")
        if every is None
        else _("This chart cries wolf about once in {months} months").format(months=months_number(every))
    )
    if found is None:
        return _("{wolf}.").format(wolf=wolf)
    if found >= _MOST:
        return _("{wolf}, and hardly ever finds a doubled rate.").format(wolf=wolf)
    months = ngettext("{count} month", "{count} months", max(1, round(found))).format(
        count=number_words(max(1, round(found)))
    )
    return _("{wolf}, and finds a doubled rate after about {months}.").format(wolf=wolf, months=months)


def months_number(value: float) -> str:
    """A number of months to two digits, or that it is more than a thousand."""
    if value >= _MOST:
        return _("more than {count}").format(count=grouped_words(_MOST))
    rounded = round(value, -1) if value >= 100 else round(value)
    return number_words(round(rounded))


def _figures(reading: ChartReading) -> tuple[Figure, ...]:
    cost, chart = reading.cost, chart_words(reading.kind)
    note = "" if reading.state is Baseline.SOUND else _("no sound baseline")
    held = reading.baseline
    return (
        Figure(
            key="baseline_rate", label=_("Baseline"), unit="proportion", value=reading.center if held else None,
            numerator=sum(c.contaminated for c in held), denominator=sum(c.sets for c in held),
            definition=_("contaminated sets over sets, all months of the baseline together"),
        ),
        Figure(
            key="false_alarm_every", label=_("False alarm once in"), unit="months", value=cost.false_alarm_every,
            method=cost.method, note=note or _no_value(cost.false_alarm_every),
            definition=_("months between two signals of the {chart} when nothing changes, on average").format(
                chart=chart
            ),
        ),
        Figure(
            key="found_after", label=_("A doubled rate is found after"), unit="months", value=cost.found_after,
            method=cost.method, note=note or _no_value(cost.found_after),
            definition=_("months until the {chart} signals once the rate has doubled, on average").format(chart=chart),
        ),
        Figure(
            key="began", label=_("Change likely began"), unit="months",
            value=None if reading.began is None else float(len(reading.counts) - reading.began),
            note=_("no signal") if reading.began is None
            else month_words(reading.counts[reading.began].month, with_year=True),
            definition=_("months from the likely beginning of the change up to this month"),
        ),
        Figure(
            key="spread", label=_("Scatter"), unit="", value=reading.spread if not note else None, note=note,
            definition=_("how much wider the limits are than chance alone would make them"),
        ),
    )  # fmt: skip


def _no_value(value: float | None) -> str:
    return "" if value is not None else _("practically never")


def _kind_caution(reading: ChartReading) -> str:
    if reading.state is not Baseline.SOUND:
        return ""
    return {
        ChartKind.P: _("This chart looks at one month alone; the rules for runs and trends are asked apart."),
        ChartKind.U: _(
            "This chart counts contaminations per set as if a set could be contaminated more than once; for "
            "contaminated sets the proportion chart is the sharper one."
        ),
        ChartKind.LANEY: _scatter_words(reading),
        ChartKind.LANEY_U: _scatter_words(reading),
        ChartKind.EWMA: _(
            "Each point is an average that leans on the latest months, so one odd month moves it a little and stays in "
            "it for a while."
        ),
        ChartKind.CUSUM: _(
            "The sum grows while months are nearer to twice the baseline than to the baseline; it finds a lasting "
            "change soon and says little about one odd month."
        ),
    }[reading.kind]


def _scatter_words(reading: ChartReading) -> str:
    words = (
        _(
            "The limits are {times} times as wide as chance alone would make them, because the months of the baseline "
            "scatter as much. What makes them scatter is still worth finding."
        )
        if reading.spread >= 1
        else _(
            "The months of the baseline follow one another more closely than chance would have it, so the limits are "
            "only {times} times as wide; without a reason for that, trust the proportion chart."
        )
    )
    return words.format(times=decimal_words(f"{reading.spread:.1f}"))


def _table(reading: ChartReading) -> AnswerTable:
    scores = bool(reading.below)
    digits = 2

    def cell(value: float | None) -> float | None:
        return None if value is None else round(value if scores else 100 * value, digits)

    value_column = _("Running sum") if scores else _("Charted, %")
    return AnswerTable(
        title=_("Every month on the {chart}").format(chart=chart_words(reading.kind)),
        columns=(_("Month"), _("Sets"), _("Contaminated"), value_column, _("Lower limit"), _("Upper limit"), _("Mark")),
        rows=tuple(
            (
                count.month, count.sets, count.contaminated, cell(reading.values[i]), cell(reading.lower[i]),
                cell(reading.upper[i]), _("signal") if i in reading.signals else "",
            )
            for i, count in enumerate(reading.counts)
        ),
    )  # fmt: skip
