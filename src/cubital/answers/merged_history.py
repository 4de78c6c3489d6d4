"""Two hospitals merged, or a definition changed: is the rise real? Both histories at one definition and one mix."""

from __future__ import annotations

from typing import Any

from cubital.answers.merged_picture import build_merged_picture
from cubital.answers.merged_reading import (
    LEAST_MONTHS,
    LEAST_SETS,
    HistoryReading,
    MergedReading,
    Pair,
    Rise,
    SideRate,
)
from cubital.domain.answer import Answer, AnswerTable, Cell, Figure, Receipt, Verdict
from cubital.domain.words import _, decimal_words, grouped_words, month_words, share_words
from cubital.stats.two_proportions import difference_newcombe

MUCH_COVERED = 0.9  # below this share of the mix a history is compared only in part; common practice, no source

_VERDICTS = {
    Rise.BOTH: Verdict.SIGNAL,
    Rise.SOME: Verdict.ESTIMATE,
    Rise.NEITHER: Verdict.WITHIN_VARIATION,
    Rise.THIN: Verdict.TOO_FEW,
    Rise.APART: Verdict.NOT_IDENTIFIABLE,
    Rise.ONE_SIDED: Verdict.NOT_IDENTIFIABLE,
}


def build_merged_answer(
    reading: MergedReading, *, by: str, restated: bool = False, receipt: Receipt | None = None
) -> Answer:
    """The whole answer. ``by`` names the mix in words; ``restated`` says that the figures before the break were made
    under another definition at the time, and that the raw line shows them so.
    """
    sentence = merged_sentence(reading, by=by)
    return Answer(
        question=_("Two histories became one. Is the rise real?"),
        verdict=_VERDICTS[reading.rise],
        sentence=sentence,
        figures=_figures(reading, by),
        cautions=_cautions(reading, by, restated=restated),
        picture=_picture(reading, sentence),
        table=_table(reading),
        receipt=receipt,
    )


def _picture(reading: MergedReading, sentence: str) -> dict[str, Any]:
    return build_merged_picture(reading, title=sentence) if reading.histories else {}


def merged_sentence(reading: MergedReading, *, by: str) -> str:
    """The raw change first, then what each history did at one definition and one mix, then what that means."""
    if reading.whole is None:
        return _refusal(reading)
    return " ".join((
        _raw_words(reading),
        *(_history_words(one) for one in reading.histories),
        _meaning_words(reading).format(by=by),
    ))  # fmt: skip


def _refusal(reading: MergedReading) -> str:
    names = ", ".join(reading.lacking) or _("nothing")
    month = month_words(reading.at, with_year=True)
    if reading.rise is Rise.THIN:
        return _(
            "Too few to say: {names} needs at least {sets} sets in {months} months before and from {month} on."
        ).format(names=names, sets=LEAST_SETS, months=LEAST_MONTHS, month=month)
    if reading.rise is Rise.APART:
        return _(
            "{names} draws under no condition that the common mix holds: the histories cannot be compared."
        ).format(names=names)
    return _(
        "Two histories with sets both before and from {month} on are needed to tell a rise from the merger; this holds "
        "not for: {names}."
    ).format(month=month, names=names)


def _raw_words(reading: MergedReading) -> str:
    before, after = (_sum(reading, late=late) for late in (False, True))
    return _("As counted, all together went from {before} to {after} from {month} on.").format(
        before=_pair_words(before), after=_pair_words(after), month=month_words(reading.at, with_year=True)
    )


def _sum(reading: MergedReading, *, late: bool) -> Pair:
    pairs = [pair for month, pair in reading.raw if (month >= reading.at) == late]
    return sum(x for x, _n in pairs), sum(n for _x, n in pairs)


def _pair_words(pair: Pair) -> str:
    if not pair[1]:
        return _("no sets")
    return _("{count} of {sets} sets, {share},").format(
        count=grouped_words(pair[0]), sets=grouped_words(pair[1]), share=share_words(pair[0] / pair[1])
    )


def _history_words(one: HistoryReading) -> str:
    words = (
        _("{name} went from {before} to {after} at one definition and mix ({change} points; {low} to {high}).")
        if one.moved
        else _("{name} did not move beyond chance at one definition and mix: {before} to {after} ({change} points; "
               "{low} to {high}).")
    )  # fmt: skip
    return words.format(
        name=one.name, before=share_words(one.before.rate), after=share_words(one.after.rate),
        change=_points(one.change), low=_points(one.interval.low), high=_points(one.interval.high),
    )  # fmt: skip


def _points(change: float) -> str:
    sign = "+" if change > 0 else "\u2212" if change < 0 else ""
    return f"{sign}{decimal_words(f'{100 * abs(change):.1f}')}"


def _meaning_words(reading: MergedReading) -> str:
    if reading.rise is Rise.BOTH:
        return _("The rise is there in every history: it is not made by the merger.")
    if reading.rise is Rise.SOME:
        names = ", ".join(one.name for one in reading.histories if one.moved and one.change > 0)
        return _("The rise is there in {names} alone: look there, not at the merger.").format(names=names)
    before, after = (_sum(reading, late=late) for late in (False, True))
    rose = difference_newcombe(*after, x2=before[0], n2=before[1])
    if rose.interval.low <= 0:
        return _("There is no rise beyond chance to explain. No action on the rate.")
    if any(one.moved for one in reading.histories):
        return _("No history rose: what changed is who draws how much, or the definition ({by} allowed for).")
    return _(
        "The rise is in neither history: what changed is who draws how much, or the definition ({by} allowed for). "
        "No action on the rate."
    )


def _figures(reading: MergedReading, by: str) -> tuple[Figure, ...]:
    if reading.whole is None:
        return ()
    figures = []
    for place, one in enumerate((*reading.histories, reading.whole)):
        name = one.name or _("all together")
        figures.append(Figure(
            key=f"change_{place}", label=_("Change: {name}").format(name=name), value=one.change, unit="proportion",
            low=one.interval.low, high=one.interval.high, level=one.interval.level,
            method=_("direct standardisation to the mix before; normal interval from the strata"),
            definition=_("share from the break on minus before, at one definition and the same {by}").format(by=by),
        ))  # fmt: skip
        figures.append(_side_figure(one.before, f"before_{place}", _("{name}, before").format(name=name)))
        figures.append(_side_figure(one.after, f"after_{place}", _("{name}, from the break on").format(name=name)))
    return tuple(figures)


def _side_figure(side: SideRate, key: str, label: str) -> Figure:
    return Figure(
        key=key, label=label, value=side.rate, unit="proportion", numerator=side.raw[0], denominator=side.raw[1],
        definition=_("contaminated sets over counted sets at the common mix; the counts are those as counted"),
        note="" if side.covered >= MUCH_COVERED
        else _("only {share} of the common mix is drawn here").format(share=share_words(side.covered, 0)),
    )  # fmt: skip


def _cautions(reading: MergedReading, by: str, *, restated: bool) -> tuple[str, ...]:
    found = []
    if restated:
        found.append(
            _("Definition changed here. Before the break the raw line shows what was said at the time; the other lines "
              "count everything anew.")
        )  # fmt: skip
    found.append(
        _("Allowed for here: {by}. What the file does not hold (patients, crowding, laboratory) may still explain a "
          "rise.").format(by=by)
    )  # fmt: skip
    part = [one.name for one in reading.histories if min(one.before.covered, one.after.covered) < MUCH_COVERED]
    if part:
        found.append(_("Only a part of the common mix is drawn at: {names}.").format(names=", ".join(part)))
    return tuple(found)


def _table(reading: MergedReading) -> AnswerTable | None:
    if not reading.raw:
        return None
    shares = {(name, month): rate for name, rows in reading.months.items() for month, rate in rows}
    names = [one.name for one in reading.histories]
    rows: list[tuple[Cell, ...]] = []
    for month, (contaminated, sets) in reading.raw:
        raw = round(100 * contaminated / sets, 1) if sets else None
        found = (shares.get((name, month)) for name in names)
        rows.append((
            month_words(month, with_year=True), _("from the break on") if month >= reading.at else _("before"), sets,
            contaminated, raw, *(None if rate is None else round(100 * rate, 1) for rate in found),
        ))  # fmt: skip
    columns = (
        _("Month"), _("Side"), _("Sets"), _("Contaminated"), _("As counted, %"),
        *(_("{name} at the common mix, %").format(name=name) for name in names),
    )  # fmt: skip
    return AnswerTable(title=_("Month by month, both ways"), columns=columns, rows=tuple(rows))
