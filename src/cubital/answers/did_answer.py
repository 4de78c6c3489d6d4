"""Did it work? Of a dated change: the checks of the design, the estimate that it carries, its limits, the picture."""

from __future__ import annotations

from cubital.answers.did_checks import change_checks
from cubital.answers.did_design import Design
from cubital.answers.did_material import Pair
from cubital.answers.did_models import DidFit, Model
from cubital.answers.did_picture import build_change_picture
from cubital.answers.did_reading import ChangeReading, told_apart
from cubital.answers.did_table_answer import did_question, fit_figures
from cubital.answers.did_words import change_sentence
from cubital.domain.answer import Answer, AnswerTable, Cell, Figure, Receipt, Verdict
from cubital.domain.words import _, month_words, share_words
from cubital.stats.proportions import wilson_interval

LIKELY_CHANGE = 0.95
HALF = 0.5
FEW_PEERS = 4
# With two peers one change in eight or more would be called a signal where units differ by 0.2 or more in log odds
# (simulated, 1,500 runs); with three it is near the one in twenty that is meant.
SIGNAL_PEERS = 3
_REFUSED = {
    Design.OUTSIDE: Verdict.REFUSED,
    Design.TWIN: Verdict.NOT_IDENTIFIABLE,
    Design.CROWDED: Verdict.NOT_IDENTIFIABLE,
    Design.SHORT: Verdict.TOO_FEW,
    Design.THIN: Verdict.TOO_FEW,
}


def build_change_answer(reading: ChangeReading, *, receipt: Receipt | None = None) -> Answer:
    """The whole answer; a signal only where units without the change, or a long series, carry it."""
    sentence = change_sentence(reading)
    return Answer(
        question=did_question(),
        verdict=_verdict(reading),
        sentence=sentence,
        figures=_figures(reading),
        cautions=_cautions(reading),
        picture=build_change_picture(reading, title=sentence),
        table=_table(reading),
        receipt=receipt,
        checks=change_checks(reading),
    )


def _verdict(reading: ChangeReading) -> Verdict:
    if reading.together is not None and told_apart(reading):
        beyond = any(fit.beyond for factor in reading.together.asked for fit in reading.together.fits_of(factor))
        return Verdict.SIGNAL if beyond else Verdict.WITHIN_VARIATION
    if reading.design.kind in _REFUSED:
        return _REFUSED[reading.design.kind]
    if reading.fit is None:
        return Verdict.TOO_FEW
    if reading.only_described or _few_peers(reading, least=SIGNAL_PEERS):
        return Verdict.ESTIMATE
    return Verdict.SIGNAL if reading.beyond else Verdict.WITHIN_VARIATION


def _few_peers(reading: ChangeReading, *, least: int) -> bool:
    return reading.fit is not None and reading.fit.model is Model.PEERS and len(reading.design.peers) < least


def _figures(reading: ChangeReading) -> tuple[Figure, ...]:
    counts = reading.counts
    if counts is None:
        return ()
    name = reading.material.name
    figures = [
        _share_figure("before", _("{name}, before").format(name=name), counts.before),
        _share_figure("after", _("{name}, since").format(name=name), counts.after),
        _share_figure("peers_before", _("Units without it, before"), counts.peers_before),
        _share_figure("peers_after", _("Units without it, since"), counts.peers_after),
    ]
    visit = reading.design.visit
    if visit is not None and visit.expected is not None and visit.expected_interval is not None:
        figures.append(Figure(
            key="expected", label=_("Expected next by itself"), value=visit.expected, unit="proportion",
            low=visit.expected_interval.low, high=visit.expected_interval.high, level=visit.expected_interval.level,
            method=_("beta-binomial, from all places before"),
            definition=_("its own counts before, weighed against what is usual"),
        ))  # fmt: skip
    figures += [_fit_figure(reading.fit)] if reading.fit else []
    figures += fit_figures(reading.together) if reading.together and told_apart(reading) else []
    return (*(figure for figure in figures if figure is not None), *_when_figures(reading))


def _share_figure(key: str, label: str, pair: Pair) -> Figure | None:
    if not pair[1]:
        return None
    interval = wilson_interval(*pair)
    return Figure(
        key=key, label=label, value=pair[0] / pair[1], unit="proportion", low=interval.low, high=interval.high,
        level=interval.level, method=interval.method, numerator=pair[0], denominator=pair[1],
        definition=_("contaminated sets over counted sets"),
    )  # fmt: skip


def _fit_figure(fit: DidFit) -> Figure:
    label, method = {
        Model.PEERS: (
            _("Against units without it: how many times as many"),
            _("ratio of odds ratios; how differently units change anyway is allowed for"),
        ),
        Model.STEPPED: (
            _("With it against without, months held equal: how many times as many"),
            _("mixed logistic model of a stepped roll-out, Student's t with few units"),
        ),
        Model.SERIES: (
            _("Against its own trend: how many times as many"),
            _("segmented regression, binomial, with season; the wider of two robust errors")
            if fit.season else _("segmented regression, binomial; the wider of two robust errors"),
        ),
        Model.PLAIN: (_("Naive ratio: before and after alone"), _("score interval, nothing held equal")),
    }[fit.model]  # fmt: skip
    return Figure(
        key="naive_ratio" if fit.model is Model.PLAIN else "ratio", label=label, value=fit.ratio, unit="ratio",
        low=fit.interval.low, high=fit.interval.high, level=fit.interval.level, method=method,
        definition=_("1 means no difference from what was to be expected without it"),
    )  # fmt: skip


def _when_figures(reading: ChangeReading) -> tuple[Figure, ...]:
    """When it changed, if it did, asked without the date: the chance of any change, the likely month beside it."""
    when, counts = reading.when, reading.counts
    if when is None or counts is None:
        return ()
    held = [one.month for one in counts.months if one.sets]
    likely = [month_words(held[at], with_year=True) for at in when.likely]
    note = (
        ""
        if when.chance < HALF
        else (
            _("most likely in {month}").format(month=month_words(held[when.first], with_year=True))
            if len(likely) == 1
            else _("most likely between {first} and {last}").format(first=likely[0], last=likely[-1])
        )
    )
    return (Figure(
        key="when", label=_("Chance that its rate changed at all, asked without the date"), value=when.chance,
        unit="proportion", method=_("one change point, every month equally likely beforehand"),
        definition=_("of all its months; a trend or a season can look like a change too"), note=note,
    ),)  # fmt: skip


def _cautions(reading: ChangeReading) -> tuple[str, ...]:
    found = []
    fit, change = reading.fit, reading.material.change
    if reading.design.was_worst:
        found.append(_("Selected because it was worst: some fall is expected anyway."))
    if fit is not None and not fit.beyond and fit.interval.low < 1 and not reading.only_described:
        found.append(
            _("Not “{name} does nothing”: the interval includes a {part} reduction.").format(
                name=change.words, part=share_words(1 - fit.interval.low, 0)
            )
        )
    if fit is not None and fit.before_alike is not None and not fit.before_alike.low <= 1 <= fit.before_alike.high:
        found.append(_(
            "The place and the units without it did not move alike before either: what they did since says little of "
            "what it would have done."
        ))  # fmt: skip
    if _few_peers(reading, least=FEW_PEERS):
        found.append(_(
            "Few units went without it, so how differently units change anyway is hardly known; the range may be too "
            "narrow."
        ))  # fmt: skip
    found += [_when_caution(reading)] if reading.beyond else []
    found += [
        _("A change is seldom all that happened: only what stands in the diary was looked at."),
        _("Contamination is not all: look at single sets, fill and how many sets are drawn in the same months."),
    ]
    return tuple(words for words in found if words)


def _when_caution(reading: ChangeReading) -> str:
    """Where the months themselves put the change somewhere else."""
    when, counts = reading.when, reading.counts
    if when is None or counts is None or when.chance < LIKELY_CHANGE:
        return ""
    held = [one.month for one in counts.months if one.sets]
    at = f"{reading.material.change.on:%Y-%m}"
    if held[when.likely[0]] <= at <= held[when.likely[-1]]:
        return ""
    return _("Asked without the date, its months changed in another month: most likely {month}.").format(
        month=month_words(held[when.first], with_year=True)
    )


def _table(reading: ChangeReading) -> AnswerTable | None:
    window = reading.design.window
    if window is None:
        return None
    rows: list[tuple[Cell, ...]] = []
    for unit in (*reading.material.mine, *reading.design.peers):
        for label, pair in ((_("before"), unit.before(window)), (_("since"), unit.after(window))):
            share = round(100 * pair[0] / pair[1], 1) if pair[1] else None
            what = _("changed") if unit.key in reading.material.here else _("without it")
            rows.append((unit.name, what, label, pair[1], pair[0], share))
    return AnswerTable(
        title=_("Before and since, unit by unit"),
        columns=(_("Unit"), _("What"), _("When"), _("Sets"), _("Contaminated"), _("Contaminated, %")),
        rows=tuple(rows),
    )
