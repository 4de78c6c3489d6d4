"""Is a place different once its patients, hours and methods are allowed for? The standardised comparison in words."""

from __future__ import annotations

from typing import Any

from cubital.answers.interval_picture import IntervalRow, build_ratio_picture
from cubital.answers.places import PlacesSetting, guard_words
from cubital.answers.places_reading import Side
from cubital.answers.standardised_reading import StandardisedPlace, StandardisedReading
from cubital.domain.answer import Answer, AnswerTable, Cell, Check, Figure, Receipt, Verdict
from cubital.domain.words import _, decimal_words, grouped_words, ngettext, share_words

MOST_NAMED = 3
ENOUGH_SHARED = 0.8  # a smaller share of comparable sets is a warning; common practice, no source


def build_standardised_answer(
    reading: StandardisedReading, *, setting: PlacesSetting, by: str, receipt: Receipt | None = None
) -> Answer:
    """The whole answer; ``by`` names in words what is allowed for: "age group, hour and method"."""
    sentence = standardised_sentence(reading, setting=setting, by=by)
    return Answer(
        question=_("Which place differs, allowing for {by}?").format(by=by),
        verdict=_verdict(reading),
        sentence=sentence,
        figures=(*_figures(reading, setting), *setting.company),
        cautions=(*guard_words(setting), *_cautions(reading, setting, by)),
        picture=_picture(reading, setting, title=sentence),
        table=standardised_table(reading, setting),
        receipt=receipt,
        checks=_checks(reading, by),
    )


def _verdict(reading: StandardisedReading) -> Verdict:
    if not reading.places:
        return Verdict.NOT_IDENTIFIABLE if not reading.strata else Verdict.TOO_FEW
    if sum(one.shown for one in reading.places) < 2:
        return Verdict.TOO_FEW
    return Verdict.SIGNAL if any(one.side is not Side.WITHIN for one in reading.places) else Verdict.WITHIN_VARIATION


def standardised_sentence(reading: StandardisedReading, *, setting: PlacesSetting, by: str) -> str:
    """Overlap first, then who still stands out and how much of it the mix explains."""
    if not reading.places:
        return _not_comparable(reading, by)
    if sum(one.shown for one in reading.places) < 2:
        return _("Fewer than two places have {least} comparable sets: too few to say.").format(
            least=reading.policy.min_sets
        )
    out = [one for side in (Side.ABOVE, Side.BELOW) for one in reading.standing_out(side)]
    if not out:
        return _(
            "Allowing for {by}, no place can be told apart from the others: what is left is no more than chance"
            "{usual}. No action on a single place."
        ).format(by=by, usual=_(" and the usual differences make") if reading.widened else _(" makes"))
    return " ".join(_place_words(one, setting, by=by, first=not rank) for rank, one in enumerate(out[:MOST_NAMED]))


def _not_comparable(reading: StandardisedReading, by: str) -> str:
    if len(reading.counts) < 2:
        return _("Only one place has sets: a comparison needs two.")
    if not reading.strata:
        return _(
            "These places cannot be compared: no two of them drew a set with the same {by}. What would be needed are "
            "sets of both under the same conditions."
        ).format(by=by)
    return _("None of {sets} comparable sets is contaminated: no place can be told from another.").format(
        sets=grouped_words(reading.covered)
    )


def _place_words(one: StandardisedPlace, setting: PlacesSetting, *, by: str, first: bool) -> str:
    above = one.side is Side.ABOVE
    allowed = _("Allowing for {by}, ").format(by=by) if first else ""
    if one.count.key in setting.hidden:
        words = _("{allowed}{name} still stands out above.") if above else _("{allowed}{name} still stands out below.")
        return words.format(allowed=allowed, name=one.count.name)
    words = (
        _("{allowed}{name} still stands out above: {seen} contaminated of {sets} sets where {expected} would be "
          "expected, {ratio} times as many{spread}.")
        if above
        else _("{allowed}{name} still stands out below: {seen} contaminated of {sets} sets where {expected} would be "
               "expected, {ratio} times as many{spread}.")
    )  # fmt: skip
    said = words.format(
        allowed=allowed, name=one.count.name, seen=grouped_words(one.observed), sets=grouped_words(one.covered),
        expected=_number(one.expected), ratio=_number(one.ratio or 0.0), spread=_spread_words(one),
    )  # fmt: skip
    return f"{said} {_explained_words(one, by)}".strip()


def _spread_words(one: StandardisedPlace) -> str:
    if one.interval is None:
        return ""
    return _(" ({low} to {high})").format(low=_number(one.interval.low), high=_number(one.interval.high))


def _explained_words(one: StandardisedPlace, by: str) -> str:
    """Of what lies beyond the common share, how much comes with the mix; nothing where the mix works against it."""
    if one.excess <= 0:
        return ""
    if one.explained <= 0:
        return _("None of what lies beyond the common share comes with {by}.").format(by=by)
    return _("Of {excess} beyond the common share, {part} come with {by}.").format(
        excess=_number(one.excess), by=by, part=_number(min(one.explained, one.excess))
    )


def _number(value: float) -> str:
    return decimal_words(f"{value:.1f}")


def _figures(reading: StandardisedReading, setting: PlacesSetting) -> tuple[Figure, ...]:
    if not reading.sets:
        return ()
    method = (
        _("indirect standardisation to all places together; usual differences added on the square root's scale")
        if reading.widened
        else _("indirect standardisation to all places together; exact Poisson")
    )
    figures = [
        Figure(
            key="comparable", label=_("Sets that can be compared"), value=reading.covered / reading.sets,
            unit="proportion", numerator=reading.covered, denominator=reading.sets, method=method,
            definition=_("sets whose conditions at least two places share, over all sets"),
        )
    ]  # fmt: skip
    if reading.covered and not setting.hide_total:
        figures.insert(0, Figure(
            key="contamination", label=_("Contaminated, all together"), value=reading.contaminated / reading.covered,
            unit="proportion", numerator=reading.contaminated, denominator=reading.covered,
            definition=_("contaminated sets over comparable sets, all places together"),
        ))  # fmt: skip
    return tuple(figures)


def _cautions(reading: StandardisedReading, setting: PlacesSetting, by: str) -> tuple[str, ...]:
    found = [
        _("Allowed for here: {by}. How ill the patients were, how hard their veins are and how crowded it was are "
          "not in the file, so they may still explain a difference.").format(by=by)
    ]  # fmt: skip
    alone = [one.count.name for one in reading.places if one.count.one_person and one.count.key not in setting.hidden]
    if alone:
        found.append(
            _("{names}: one person drew everything that has a known collector, so no percentage is shown here.").format(
                names=", ".join(alone[:MOST_NAMED])
            )
        )
    return tuple(found)


def _checks(reading: StandardisedReading, by: str) -> tuple[Check, ...]:
    if not reading.sets:
        return ()
    share = reading.covered / reading.sets
    left = reading.sets - reading.covered
    words = ngettext(
        "{count} set ({share}) was drawn under conditions ({by}) that no other place shares; it is left out.",
        "{count} sets ({share}) were drawn under conditions ({by}) that no other place shares; they are left out.",
        left,
    )
    every = _("Every set was drawn under conditions ({by}) that another place shares.")
    return (
        Check(
            key="overlap", passed=share >= ENOUGH_SHARED,
            words=(words if left else every).format(
                count=grouped_words(left), share=share_words(left / reading.sets), by=by
            ),
        ),
    )  # fmt: skip


def standardised_table(reading: StandardisedReading, setting: PlacesSetting) -> AnswerTable | None:
    """One row per place: compared sets, seen, expected, and the two beside each other."""
    if not reading.places:
        return None
    places = list(reading.places)
    if not setting.ordered:
        places.sort(key=lambda one: ({Side.ABOVE: 0, Side.WITHIN: 1, Side.BELOW: 2}[one.side], -one.covered))
    return AnswerTable(
        title=_("Seen and expected"),
        columns=(
            setting.heading, _("Sets compared"), _("Not comparable"), _("Contaminated"), _("Expected"),
            _("Times expected"), _("From"), _("To"), _("Compared with the others"),
        ),
        rows=tuple((one.count.name, *_cells(one, hidden=one.count.key in setting.hidden)) for one in places),
    )  # fmt: skip


def _cells(one: StandardisedPlace, *, hidden: bool) -> tuple[Cell, ...]:
    words = {
        Side.ABOVE: _("stands out above"),
        Side.BELOW: _("stands out below"),
        Side.WITHIN: _("like the others") if one.shown else _("too few to say"),
    }
    counts: tuple[Cell, ...] = (one.covered, one.count.sets - one.covered)
    if hidden:
        return (_("hidden"), _("hidden"), _("hidden"), None, None, None, None, words[one.side])
    if not one.shown or one.ratio is None or one.interval is None:
        return (*counts, one.observed, round(one.expected, 1), None, None, None, words[one.side])
    ratio = (round(value, 2) for value in (one.ratio, one.interval.low, one.interval.high))
    return (*counts, one.observed, round(one.expected, 1), *ratio, words[one.side])


def _picture(reading: StandardisedReading, setting: PlacesSetting, *, title: str) -> dict[str, Any]:
    rows = [
        IntervalRow(
            name=one.count.name, value=one.ratio, low=one.interval.low, high=one.interval.high,
            words=_("{seen} seen, {expected} expected").format(seen=one.observed, expected=_number(one.expected)),
            stands_out=one.side is not Side.WITHIN,
        )
        for one in reading.places
        if one.shown and one.interval and one.ratio is not None and one.count.key not in setting.hidden
    ]  # fmt: skip
    return build_ratio_picture(rows, title=title, line_words=_("as expected"))
