"""We had none for two months; celebrate? The gap since the last contamination, and whether gaps grow short."""

from __future__ import annotations

from typing import Any

from cubital.answers.charts.gaps import MIN_GAPS, GapReading, Gaps, GapUnit, read_gaps
from cubital.answers.charts.kinds import ChartKind
from cubital.answers.palette import ACCENT, INK, MUTED
from cubital.answers.picture_parts import end_labels, frame, rule_across
from cubital.answers.signal_reading import Baseline
from cubital.domain.answer import Answer, AnswerTable, Figure, Receipt, Verdict
from cubital.domain.words import _, decimal_words, grouped_words, ngettext, share_words
from cubital.stats.proportions import wilson_interval


def build_gap_answer(gaps: Gaps, *, kind: ChartKind = ChartKind.GAPS, receipt: Receipt | None = None) -> Answer:
    """Is the present gap long enough to celebrate, or have the latest been short enough to worry?

    ``kind`` is ``GAPS`` for sets and ``TIMES`` for days; any other is a ``ValueError``.
    """
    if kind not in (ChartKind.GAPS, ChartKind.TIMES) or (kind is ChartKind.TIMES) != (gaps.unit == "days"):
        raise ValueError("a chart of gaps takes sets, a chart of times days")
    reading = read_gaps(gaps)
    sentence = _sentence(reading)
    return Answer(
        question=_("We have had none for a while: celebrate? Or do they come closer together?"),
        verdict=_verdict(reading),
        sentence=sentence,
        figures=_figures(reading),
        cautions=_cautions(reading),
        picture=_picture(reading, title=sentence),
        table=_table(reading),
        receipt=receipt,
    )


def _verdict(reading: GapReading) -> Verdict:
    if reading.state is Baseline.THIN:
        return Verdict.TOO_FEW
    if reading.state is not Baseline.SOUND:
        return Verdict.REFUSED
    return Verdict.SIGNAL if reading.is_long or reading.is_short else Verdict.WITHIN_VARIATION


def units_words(count: int, unit: GapUnit) -> str:
    """``120 clean sets``, ``60 days``."""
    words = (
        ngettext("{count} clean set", "{count} clean sets", count)
        if unit == "sets"
        else ngettext("{count} day", "{count} days", count)
    )
    return words.format(count=grouped_words(count))


def _sentence(reading: GapReading) -> str:
    gaps = reading.gaps
    if reading.state is Baseline.THIN:
        return _thin_sentence(reading)
    if reading.state is not Baseline.SOUND:
        return _(
            "Contaminations follow one another with hardly anything between them, which cannot be right; check how the "
            "sets were counted before judging."
        )
    values = {
        "gap": units_words(gaps.open, gaps.unit), "usual": units_words(round(reading.mean), gaps.unit),
        "share": share_words(reading.chance or 0.0), "limit": units_words(reading.limit or 0, gaps.unit),
        "cost": _cost_words(reading),
    }  # fmt: skip
    if reading.is_long:
        words = _(
            "{gap} since the last contamination is a signal: better than before. Usual are {usual}, and chance alone "
            "makes such a gap in {share} of cases. Find out what changed and keep it. {cost}"
        )
    elif reading.is_short:
        words = _(
            "Contaminations come closer together than chance alone would bring them: worse than before. Usual are "
            "{usual} from one to the next. Look at what changed since they grew close. {cost}"
        )
    else:
        words = _(
            "{gap} since the last contamination: too early to celebrate and no reason to worry. Usual are {usual}, and "
            "a gap this long comes in {share} of cases by chance; {limit} would be a signal. {cost}"
        )
    return words.format(**values)


def _thin_sentence(reading: GapReading) -> str:
    gaps = reading.gaps
    held = len(gaps.closed) if gaps.baseline is None else gaps.baseline
    words = ngettext(
        "Too few to say: {held} gap between contaminations is known, and it takes {least}; still missing: {missing}.",
        "Too few to say: {held} gaps between contaminations are known, and it takes {least}; still missing: {missing}.",
        held,
    ).format(held=held, least=MIN_GAPS, missing=MIN_GAPS - held)
    if gaps.unit == "sets" and not gaps.closed and gaps.open:
        high = wilson_interval(0, gaps.open).high
        words += " " + _("With none in {sets} the true rate may still be as high as {high}.").format(
            sets=grouped_words(gaps.open), high=share_words(high)
        )
    return words


def _cost_words(reading: GapReading) -> str:
    unit = reading.gaps.unit
    wolf, found = round(reading.false_alarm_sets or 0), round(reading.found_sets or 0)
    template = (
        _("This chart cries wolf about once in {wolf} sets, and finds a doubled rate after about {found} sets.")
        if unit == "sets"
        else _("This chart cries wolf about once in {wolf} days, and finds a doubled rate after about {found} days.")
    )
    return template.format(wolf=grouped_words(two_digits(wolf)), found=grouped_words(two_digits(found)))


def two_digits(value: int) -> int:
    """A whole number rounded to its first two digits."""
    digits = len(str(abs(value)))
    return round(value, 2 - digits) if digits > 2 else value


def _figures(reading: GapReading) -> tuple[Figure, ...]:
    gaps = reading.gaps
    unit, note = gaps.unit, "" if reading.state is Baseline.SOUND else _("too few gaps")
    rows = (
        ("open_gap", _("Since the last contamination"), float(gaps.open), "", _("the gap that is still open")),
        (
            "mean_gap", _("Usual gap"), reading.mean if gaps.closed else None, "" if gaps.closed else note,
            _("mean of the gaps of the baseline"),
        ),
        (
            "gap_limit", _("Long enough for a signal"), _number(reading.limit), note,
            _("chance alone reaches it in 0.135 %"),
        ),
        (
            "false_alarm_every", _("False alarm once in"), reading.false_alarm_sets, note,
            _("long gaps and close ones together, when nothing changes, on average"),
        ),
        (
            "found_after", _("A doubled rate is found after"), reading.found_sets, note,
            _("on average, by the sum over single sets"),
        ),
    )  # fmt: skip
    chance = Figure(
        key="gap_chance", label=_("Chance of such a gap"), unit="proportion", value=reading.chance, note=note,
        method=_("geometric law") if unit == "sets" else _("exponential law"),
        definition=_("how often chance alone makes a gap this long or longer"),
    )  # fmt: skip
    return (
        chance,
        *(Figure(key=k, label=label, value=v, unit=unit, note=n, definition=d) for k, label, v, n, d in rows),
    )


def _number(value: int | None) -> float | None:
    return None if value is None else float(value)


def _cautions(reading: GapReading) -> tuple[str, ...]:
    found = []
    if not reading.gaps.exact:
        found.append(
            _(
                "The order of sets within a month or a day is not known; contaminations are spread evenly over it, so "
                "single gaps are rounded."
            )
        )
    if reading.gaps.unit == "days":
        found.append(_("Days say little where the number of sets a day changes; the chart of sets is the safer one."))
    return tuple(found)


def _table(reading: GapReading) -> AnswerTable:
    gaps = reading.gaps
    unit = _("Clean sets before it") if gaps.unit == "sets" else _("Days before it")
    sums = reading.sums or (None,) * (len(gaps.closed) + 1)
    rows = [
        (str(number + 1), gap, None if total is None else round(total, 2))
        for number, (gap, total) in enumerate(zip(gaps.closed, sums, strict=False))
    ]
    last = sums[-1]
    rows.append((_("still open"), gaps.open, None if last is None else round(last, 2)))
    return AnswerTable(
        title=_("Every gap between contaminations"), columns=(_("Contamination"), unit, _("Running sum")),
        rows=tuple(rows),
    )  # fmt: skip


def _picture(reading: GapReading, *, title: str) -> dict[str, Any]:
    gaps = reading.gaps
    if not gaps.closed:
        return {}
    values = [*gaps.closed, gaps.open]
    rows = [
        {"number": number + 1, "gap": gap, "kind": "open" if number == len(gaps.closed) else "closed"}
        for number, gap in enumerate(values)
    ]
    top = 1.12 * max(*values, reading.limit or 0, 1)
    named = [(reading.mean, _("usual {gap}").format(gap=decimal_words(f"{reading.mean:.0f}")), INK)]
    if reading.limit is not None:
        named.append((float(reading.limit), _("signal from {gap}").format(gap=grouped_words(reading.limit)), MUTED))
    scale = {"domain": [0, top], "nice": False}
    y = {"field": "gap", "type": "quantitative", "title": None, "scale": scale, "axis": {"grid": False}}
    x = {"field": "number", "type": "ordinal", "axis": {"title": None, "labelAngle": 0, "labelOverlap": True}}
    dot = {"type": "point", "filled": True, "size": 44, "color": INK, "opacity": 1}
    ring = {"type": "point", "filled": False, "size": 160, "color": ACCENT, "strokeWidth": 2, "opacity": 1}
    return {
        **frame(title, height=240, rows=rows),
        "encoding": {"x": x},
        "layer": [
            *(rule_across(value, colour=colour, dash=[2, 4]) for value, _words, colour in named),
            *end_labels(named, span=top),
            {"mark": {"type": "line", "color": INK, "strokeWidth": 1}, "encoding": {"y": y}},
            {"mark": dot, "encoding": {"y": y}},
            {"transform": [{"filter": "datum.kind === 'open'"}], "mark": ring, "encoding": {"y": y}},
        ],
    }
