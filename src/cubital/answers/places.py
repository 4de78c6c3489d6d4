"""Which place really differs? Places side by side in words, figures, a funnel or a ladder, and a table."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from cubital.answers.funnel_picture import build_funnel_picture
from cubital.answers.interval_picture import IntervalRow, build_interval_picture
from cubital.answers.places_reading import PlaceReading, PlacesReading, Side
from cubital.answers.places_words import NOTHING_HIDDEN, places_cautions, places_sentence
from cubital.domain.answer import Answer, AnswerTable, Cell, Check, Figure, Receipt, Verdict
from cubital.domain.words import _, decimal_words, grouped_words, ngettext, share_words
from cubital.stats.proportions import wilson_interval

FUNNEL_FROM = 5  # fewer places are read more easily as a ladder
MUCH_UNKNOWN = 0.05  # above this the sets without a place could change the order; common practice, no source


@dataclass(frozen=True, kw_only=True)
class PlacesSetting:
    """What is known around the counts.

    ``heading`` names the column of places. ``empty`` are places without a set, ``unplaced`` the sets (contaminated,
    sets) that name none. ``ordered`` keeps the order given (hours, weekdays, ages) and draws a ladder. The counts of
    ``hidden`` places are withheld, and ``hide_total`` those of all; ``hidden_sets`` are places whose number of sets is
    withheld too. ``guarded`` says that small counts were looked for at all. ``company`` are the figures that stand
    beside contamination.
    """

    heading: str
    empty: tuple[str, ...] = ()
    unplaced: tuple[int, int] = (0, 0)
    ordered: bool = False
    hidden: frozenset[str] = NOTHING_HIDDEN
    hidden_sets: frozenset[str] = NOTHING_HIDDEN
    hide_total: bool = False
    guarded: bool = False
    small: tuple[int, int] = (1, 4)
    company: tuple[Figure, ...] = ()


def build_places_answer(reading: PlacesReading, *, setting: PlacesSetting, receipt: Receipt | None = None) -> Answer:
    """The whole answer; a refusal in words where places cannot be compared."""
    sentence = places_sentence(reading, hidden=setting.hidden, whole=not setting.hide_total)
    return Answer(
        question=_("Which place really differs from the others?"),
        verdict=places_verdict(reading),
        sentence=sentence,
        figures=(*_figures(reading, setting), *setting.company),
        cautions=(*guard_words(setting), *places_cautions(reading, hidden=setting.hidden, empty=setting.empty)),
        picture=_picture(reading, setting, title=sentence),
        table=places_table(reading, setting),
        receipt=receipt,
        checks=_checks(reading, setting),
    )


def places_verdict(reading: PlacesReading) -> Verdict:
    """A signal where a place stands out; no comparison is not identifiable, no event is too few."""
    if not reading.places:
        return Verdict.NOT_IDENTIFIABLE if len(reading.counts) == 1 else Verdict.TOO_FEW
    if sum(one.shown for one in reading.places) < 2:
        return Verdict.TOO_FEW
    return Verdict.SIGNAL if any(one.side is not Side.WITHIN for one in reading.places) else Verdict.WITHIN_VARIATION


def guard_words(setting: PlacesSetting) -> tuple[str, ...]:
    """What is hidden and why, or that nothing was looked for."""
    if not setting.guarded:
        return (_("Small counts are not hidden here: they can point to single people. Do not pass this on as it is."),)
    low, high = setting.small
    if not setting.hidden and not setting.hide_total:
        return ()
    words = ngettext(
        "The counts of {count} place are hidden: from {low} to {high} they can point to single people, and the ones "
        "beside them would give these away. This holds for this table alone: two tables with different months can be "
        "subtracted.",
        "The counts of {count} places are hidden: from {low} to {high} they can point to single people, and the ones "
        "beside them would give these away. This holds for this table alone: two tables with different months can be "
        "subtracted.",
        len(setting.hidden),
    )
    return (words.format(count=len(setting.hidden), low=low, high=high),)


def _figures(reading: PlacesReading, setting: PlacesSetting) -> tuple[Figure, ...]:
    figures = []
    if reading.sets and not setting.hide_total:
        interval = wilson_interval(reading.contaminated, reading.sets)
        figures.append(Figure(
            key="contamination", label=_("Contaminated, all together"), value=reading.rate, unit="proportion",
            low=interval.low, high=interval.high, level=interval.level, method=interval.method,
            numerator=reading.contaminated, denominator=reading.sets,
            definition=_("contaminated sets over counted sets, all places together"),
        ))  # fmt: skip
    if reading.prior:
        figures.append(Figure(
            key="usual_difference", label=_("What places usually differ by"), value=reading.prior.sd,
            unit="proportion", method=_("beta-binomial model, fitted to these counts"),
            definition=_("two of three places have a true share within this much of the common one"),
        ))  # fmt: skip
        figures.append(_limits_figure(reading))
    worst = reading.worst
    if worst and worst.count.key not in setting.hidden:
        figures += _worst_figures(worst)
    return tuple(figures)


def _limits_figure(reading: PlacesReading) -> Figure:
    """How wide the funnel was drawn, and by which way."""
    spread = reading.spread
    value = spread.phi if spread else 1.0
    if not reading.widened or spread is None:
        method = _("exact binomial limits, not widened")
    elif reading.policy.widening == "multiplicative":
        method = _("every place's variance times {phi}, outermost tenth drawn in").format(
            phi=decimal_words(f"{max(1.0, spread.phi):.2f}")
        )
    else:
        method = _("a variance of {tau2} added to every place on the arcsine scale, outermost tenth drawn in").format(
            tau2=decimal_words(f"{spread.tau2:.5f}")
        )
    return Figure(
        key="spread", label=_("Spread of places, times what chance alone makes"), value=value, unit="",
        method=method, definition=_("about 1: no more than chance; above it the funnel is drawn wider where that "
                                    "much is seldom made by chance"),
    )  # fmt: skip


def _worst_figures(worst: PlaceReading) -> list[Figure]:
    return [
        Figure(
            key="worst_now", label=_("Highest share: {name}").format(name=worst.count.name), value=worst.rate,
            unit="proportion", low=worst.interval.low, high=worst.interval.high, level=worst.interval.level,
            method=worst.interval.method, numerator=worst.count.contaminated, denominator=worst.count.sets,
            definition=_("contaminated sets over counted sets of that place"),
        ),
        Figure(
            key="worst_expected", label=_("What to expect of it next, if nothing is done"), value=worst.estimate,
            unit="proportion", low=worst.estimate_interval.low, high=worst.estimate_interval.high,
            level=worst.estimate_interval.level, method=_("drawn together with the others, beta-binomial"),
            definition=_("its own counts weighed against what is usual"),
        ),
    ]  # fmt: skip


def places_table(reading: PlacesReading, setting: PlacesSetting) -> AnswerTable | None:
    """One row per place, counts first; those that stand out on top unless the order means something."""
    if not reading.counts:
        return None
    found = {one.count.key: one for one in reading.places}
    counts = list(reading.counts)
    if not setting.ordered:
        counts.sort(key=lambda one: (_standing_rank(found.get(one.key)), -one.sets, one.name))
    rows: list[tuple[Cell, ...]] = []
    for count in counts:
        one = found.get(count.key)
        hidden = count.key in setting.hidden
        sets: Cell = _("hidden") if count.key in setting.hidden_sets else count.sets
        known = None if hidden else one
        rows.append((
            count.name, sets, _("hidden") if hidden else count.contaminated, *_rate_cells(known),
            _rank_words(known, places=len(reading.places)), _standing_words(one),
        ))  # fmt: skip
    return AnswerTable(
        title=_("Places side by side"),
        columns=(
            setting.heading, _("Sets"), _("Contaminated"), _("Contaminated, %"), _("From, %"), _("To, %"),
            _("Expected next, %"), _("Chance above target, %"), _("Place, 1 is the lowest"),
            _("Compared with the others"),
        ),
        rows=tuple(rows),
    )  # fmt: skip


def _standing_rank(one: PlaceReading | None) -> int:
    return 1 if one is None else {Side.ABOVE: 0, Side.WITHIN: 1, Side.BELOW: 2}[one.side]


def _rate_cells(one: PlaceReading | None) -> tuple[Cell, ...]:
    if one is None or not one.shown:
        return (None,) * 5
    low, high = one.interval.low, one.interval.high
    shares = [round(100 * share, 1) for share in (one.rate, low, high, one.estimate)]
    return (*shares, round(100 * one.above_target))


def _rank_words(one: PlaceReading | None, *, places: int) -> Cell:
    if one is None or not one.shown:
        return None
    low, high = one.ranks
    if low == high:
        return _("{low} of {places}").format(low=low, places=places)
    return _("{low} to {high} of {places}").format(low=low, high=high, places=places)


def _standing_words(one: PlaceReading | None) -> str:
    if one is None:
        return _("not comparable")
    if not one.shown:
        return _("one person") if one.count.one_person else _("too few to say")
    words = {
        Side.ABOVE: _("stands out above"),
        Side.BELOW: _("stands out below"),
        Side.WITHIN: _("like the others"),
    }
    return words[one.side]


def _checks(reading: PlacesReading, setting: PlacesSetting) -> tuple[Check, ...]:
    _contaminated, sets = setting.unplaced
    whole = reading.sets + sets
    if not whole:
        return ()
    if sets:
        words = ngettext(
            "{count} set ({share}) does not say where it belongs here; it is given to no place.",
            "{count} sets ({share}) do not say where they belong here; they are given to no place.",
            sets,
        ).format(count=grouped_words(sets), share=share_words(sets / whole))
    else:
        words = _("Every set says where it belongs.")
    return (Check(key="placed", passed=sets / whole <= MUCH_UNKNOWN, words=words),)


def _picture(reading: PlacesReading, setting: PlacesSetting, *, title: str) -> dict[str, Any]:
    shown = [one for one in reading.places if one.shown and one.count.key not in setting.hidden]
    if len(shown) >= FUNNEL_FROM and not setting.ordered:
        return build_funnel_picture(reading, shown, title=title)
    return build_ladder_picture(reading, setting, title=title)


def build_ladder_picture(reading: PlacesReading, setting: PlacesSetting, *, title: str) -> dict[str, Any]:
    """One row per place with its interval and its counts; hidden and thin ones stand there without a dot."""
    if not reading.places:
        return {}
    rows = [_ladder_row(one, setting) for one in reading.places]
    target = reading.policy.target
    return build_interval_picture(
        rows, title=title, line=target, line_words=_("target {share}").format(share=share_words(target))
    )


def _ladder_row(one: PlaceReading, setting: PlacesSetting) -> IntervalRow:
    if one.count.key in setting.hidden:
        return IntervalRow(name=one.count.name, value=None, low=None, high=None, words=_("hidden"))
    counts = _("{count} of {sets}").format(
        count=grouped_words(one.count.contaminated), sets=grouped_words(one.count.sets)
    )
    if not one.shown:
        return IntervalRow(name=one.count.name, value=None, low=None, high=None, words=counts)
    return IntervalRow(
        name=one.count.name, value=one.rate, low=one.interval.low, high=one.interval.high, words=counts,
        stands_out=one.side is not Side.WITHIN,
    )  # fmt: skip


def unique_names(counts: Sequence[tuple[str, str]]) -> dict[str, str]:
    """A name for every key, no two alike: the key is put behind a name that two places share."""
    names = [name for _key, name in counts]
    return {key: name if names.count(name) == 1 else f"{name} ({key})" for key, name in counts}
