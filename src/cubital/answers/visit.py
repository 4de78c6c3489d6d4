"""The worst place improved after a visit: was it the visit? The fall that comes by itself is said first."""

from __future__ import annotations

from typing import Any

from cubital.answers.interval_picture import IntervalRow, build_interval_picture
from cubital.answers.places_reading import PlaceCount
from cubital.answers.visit_reading import LEAST_MONTHS, LEAST_OTHERS, VisitReading, VisitState
from cubital.domain.answer import Answer, AnswerTable, Cell, Figure, Receipt, Verdict
from cubital.domain.words import _, decimal_words, grouped_words, ngettext, share_words
from cubital.stats.proportions import wilson_interval

_VERDICTS = {
    VisitState.ALONE: Verdict.NOT_IDENTIFIABLE,
    VisitState.SHORT: Verdict.NOT_IDENTIFIABLE,
    VisitState.THIN: Verdict.TOO_FEW,
    VisitState.NO_EVENTS: Verdict.TOO_FEW,
}


def build_visit_answer(reading: VisitReading, *, name: str, receipt: Receipt | None = None) -> Answer:
    """The whole answer about the place called ``name``; never a word on the cause."""
    sentence = visit_sentence(reading, name=name)
    return Answer(
        question=_("It improved after my visit. Was it me?"),
        verdict=_verdict(reading),
        sentence=sentence,
        figures=_figures(reading, name),
        cautions=_cautions(reading),
        picture=_picture(reading, title=sentence),
        table=_table(reading, name),
        receipt=receipt,
    )


def _verdict(reading: VisitReading) -> Verdict:
    if reading.left_interval is None:
        return _VERDICTS[reading.state]
    return Verdict.SIGNAL if beyond(reading) else Verdict.WITHIN_VARIATION


def beyond(reading: VisitReading) -> bool:
    """Whether more changed than comes by itself and than the others changed."""
    interval = reading.left_interval
    return interval is not None and (interval.high < 0 or interval.low > 0)


def visit_sentence(reading: VisitReading, *, name: str) -> str:
    """What was to be expected by itself, what came, and what is left, in this order."""
    before, after = reading.before, reading.after
    if reading.state is not VisitState.SAID or before is None or after is None:
        return _refusal(reading, name)
    return " ".join((_expected_words(reading, before, name), _came_words(after), _left_words(reading), _cause_words()))


def _refusal(reading: VisitReading, name: str) -> str:
    if reading.state is VisitState.ALONE:
        return _(
            "Whether {name} changed by itself cannot be told: with fewer than {count} other places nobody knows what "
            "is usual."
        ).format(name=name, count=LEAST_OTHERS)
    if reading.state is VisitState.SHORT:
        return _(
            "{before} before and {after} after the visit cannot tell a change from chance: take at least {least} "
            "months on each side."
        ).format(before=_months(reading.months[0]), after=_months(reading.months[1]), least=LEAST_MONTHS)
    if reading.state is VisitState.NO_EVENTS:
        return _("Nothing was contaminated anywhere before the visit: there was nothing to fall.")
    least = reading.policy.min_sets
    return _(
        "{name} has {before} sets before and {after} after the visit: too few to say, {least} are needed on each side."
    ).format(name=name, before=_sets(reading.before), after=_sets(reading.after), least=least)


def _months(count: int) -> str:
    return ngettext("{count} month", "{count} months", count).format(count=count)


def _sets(count: PlaceCount | None) -> str:
    return grouped_words(count.sets if count else 0)


def _expected_words(reading: VisitReading, before: PlaceCount, name: str) -> str:
    raw, drawn = before.contaminated / before.sets, reading.expected or 0.0
    counts = _counts(before)
    if drawn >= raw:
        words = _(
            "{name} had {counts}, {raw}; it was not expected to fall by itself, but to be seen near {drawn} next."
        )
    elif reading.was_worst:
        words = _(
            "{name} had {counts}, {raw}, and was the highest of all. Selected because it was worst: some fall is "
            "expected anyway, to about {drawn}, whatever is done."
        )
    else:
        words = _("{name} had {counts}, {raw}; by itself it was expected to fall to about {drawn}.")
    return words.format(name=name, counts=counts, raw=share_words(raw), drawn=share_words(drawn))


def _came_words(after: PlaceCount) -> str:
    return _("Afterwards it had {counts}, {share}.").format(
        counts=_counts(after), share=share_words(after.contaminated / after.sets)
    )


def _counts(count: PlaceCount) -> str:
    return _("{count} of {sets} sets").format(count=grouped_words(count.contaminated), sets=grouped_words(count.sets))


def _left_words(reading: VisitReading) -> str:
    left, interval = reading.left or 0.0, reading.left_interval
    if interval is None:
        return ""
    words = {
        (True, True): _("More is left than that and what the other places did meanwhile: {left} ({low} to {high})."),
        (True, False): _("It is higher than that and than the other places explain: {left} ({low} to {high})."),
    }.get((beyond(reading), left < 0)) or _(
        "What is left beyond that and beyond what the other places did meanwhile, {left} ({low} to {high}), cannot "
        "be told from chance."
    )  # fmt: skip
    return words.format(left=_points(left), low=_points(interval.low), high=_points(interval.high))


def _points(change: float) -> str:
    sign = "+" if change > 0 else "\u2212" if change < 0 else ""
    return _("{change} points").format(change=f"{sign}{decimal_words(f'{100 * abs(change):.1f}')}")


def _cause_words() -> str:
    return _("Before and after cannot show what caused it.")


def _figures(reading: VisitReading, name: str) -> tuple[Figure, ...]:
    figures = [
        _share_figure(key, label, count)
        for key, label, count in (
            ("before", _("{name}, before").format(name=name), reading.before),
            ("after", _("{name}, after").format(name=name), reading.after),
        )
        if count is not None
    ]
    if reading.expected is None or reading.expected_interval is None or reading.left_interval is None:
        return tuple(figures)
    expected, left = reading.expected_interval, reading.left_interval
    figures.insert(1, Figure(
        key="expected", label=_("Expected next by itself"), value=reading.expected, unit="proportion",
        low=expected.low, high=expected.high, level=expected.level, method=_("beta-binomial, from all places before"),
        definition=_("its own counts before the visit weighed against what is usual"),
    ))  # fmt: skip
    figures += [
        Figure(
            key="others_change", label=_("What all other places changed by"), value=reading.others_change,
            unit="proportion", numerator=reading.others_after[0], denominator=reading.others_after[1],
            definition=_("their share afterwards minus their share before"),
        ),
        Figure(
            key="left", label=_("Change beyond both"), value=reading.left, unit="proportion", low=left.low,
            high=left.high, level=left.level, method=left.method,
            definition=_("share afterwards, minus what was expected, minus what the others changed by"),
        ),
    ]  # fmt: skip
    return tuple(figures)


def _share_figure(key: str, label: str, count: PlaceCount) -> Figure:
    interval = wilson_interval(count.contaminated, count.sets)
    return Figure(
        key=key, label=label, value=count.contaminated / count.sets, unit="proportion", low=interval.low,
        high=interval.high, level=interval.level, method=interval.method, numerator=count.contaminated,
        denominator=count.sets, definition=_("contaminated sets over counted sets"),
    )  # fmt: skip


def _cautions(reading: VisitReading) -> tuple[str, ...]:
    found = [_("A visit is seldom all that happened: write down what else began or ended in these months.")]
    if reading.was_worst:
        found.insert(0, _("Selected because it was worst: some fall is expected anyway."))
    return tuple(found)


def _table(reading: VisitReading, name: str) -> AnswerTable:
    rows: list[tuple[Cell, ...]] = []
    for label, count in ((_("before"), reading.before), (_("after"), reading.after)):
        pair = (count.contaminated, count.sets) if count else (0, 0)
        rows.append((name, label, *_row(pair)))
    rows += [
        (_("all others"), label, *_row(pair))
        for label, pair in ((_("before"), reading.others_before), (_("after"), reading.others_after))
    ]
    return AnswerTable(
        title=_("Before and after"),
        columns=(_("Place"), _("When"), _("Sets"), _("Contaminated"), _("Contaminated, %")),
        rows=tuple(rows),
    )


def _row(pair: tuple[int, int]) -> tuple[Cell, ...]:
    return pair[1], pair[0], round(100 * pair[0] / pair[1], 1) if pair[1] else None


def _picture(reading: VisitReading, *, title: str) -> dict[str, Any]:
    if reading.before is None or reading.after is None or reading.expected_interval is None:
        return {}
    before, after = (wilson_interval(one.contaminated, one.sets) for one in (reading.before, reading.after))
    rows = [
        IntervalRow(
            name=_("before"), value=reading.before.contaminated / reading.before.sets, low=before.low,
            high=before.high, words=_counts(reading.before),
        ),
        IntervalRow(
            name=_("expected by itself"), value=reading.expected, low=reading.expected_interval.low,
            high=reading.expected_interval.high, words=_("whatever is done"),
        ),
        IntervalRow(
            name=_("after"), value=reading.after.contaminated / reading.after.sets, low=after.low, high=after.high,
            words=_counts(reading.after), stands_out=beyond(reading),
        ),
    ]  # fmt: skip
    target = reading.policy.target
    return build_interval_picture(
        rows, title=title, line=target, line_words=_("target {share}").format(share=share_words(target))
    )
