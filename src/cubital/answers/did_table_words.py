"""What is said of a table of before and after: what came, what can be told apart, what to decide; never a cause."""

from __future__ import annotations

from cubital.answers.counted_words import capital
from cubital.answers.did_split import FallSplit
from cubital.answers.did_table_reading import DidReading, DidState, Naive, Pair, TermFit
from cubital.answers.did_terms import AT, CHANGE, CONSTANT, PERIOD, Term
from cubital.answers.did_wording import (
    factor_words,
    joined_words,
    points_words,
    range_words,
    ratio_words,
    rows_words,
    unknowns_words,
)
from cubital.domain.words import _, grouped_words, ngettext, number_words, share_words
from cubital.stats.identifiability import Identifiability


def did_table_sentence(reading: DidReading) -> str:
    """The sentence to say aloud."""
    parts = {
        DidState.NAIVE: _naive_sentence,
        DidState.UNNAMED: _unnamed_sentence,
        DidState.TANGLED: _tangled_sentence,
        DidState.THIN: _thin_sentence,
        DidState.UNBOUNDED: _unbounded_sentence,
        DidState.SAID: _said_sentence,
    }[reading.state](reading)
    return " ".join(part for part in parts if part)


def _naive_sentence(reading: DidReading) -> list[str]:
    naive = reading.naive
    if naive is None:
        return [_("Both a before and an after are needed to compare two times; this table has only one of them.")]
    if not naive.before[0]:
        return [naive_words(naive), _("Nothing was contaminated there before: there was nothing to fall.")]
    interval = naive.ratio.interval
    return [
        naive_words(naive),
        _("That is {ratio} times as often ({range}).").format(
            ratio=ratio_words(naive.ratio.estimate), range=range_words(interval)
        ),
        _(
            "It describes two times and no more: with nobody who went without it, whatever else changed is in it too. "
            "Before and after cannot show a cause."
        ),
    ]


def _unnamed_sentence(reading: DidReading) -> list[str]:
    return [
        _(
            "No column says what differed between the {count} units, so nothing can be compared: name the unit where "
            "it began, or add a column for it."
        ).format(count=number_words(len(reading.table.places)))
    ]  # fmt: skip


def _tangled_sentence(reading: DidReading) -> list[str]:
    found = reading.whole
    if found is None:
        return []
    open_terms = [fit for fit in reading.fits if fit.term.factor in reading.asked]
    return [
        naive_words(reading.naive),
        _("What is behind it cannot be told apart here: {why}.").format(why=apart_words(reading, found)),
        fit_words(open_terms[0]) if open_terms else "",
        _("Counts from a unit where only one of them began would tell."),
    ]


def _thin_sentence(reading: DidReading) -> list[str]:
    held, whole = sum(row.contaminated for row in reading.table.rows), reading.whole
    return [
        naive_words(reading.naive),
        _(
            "There are {held} contaminated sets for {unknowns}: too few to tell. About {needed} are needed, {more} "
            "more than there are."
        ).format(
            held=grouped_words(held), unknowns=unknowns_words(whole.rank if whole else 0),
            needed=grouped_words(reading.events_needed), more=grouped_words(reading.events_needed - held),
        ),
    ]  # fmt: skip


def _unbounded_sentence(reading: DidReading) -> list[str]:
    return [
        naive_words(reading.naive),
        _("One of the groups has no contaminated set, or nothing else: how much it differs has no bound yet."),
    ]


def _said_sentence(reading: DidReading) -> list[str]:
    fits = [fit for factor in reading.asked for fit in reading.fits_of(factor)]
    fits.sort(key=lambda fit: not fit.beyond)
    units = ngettext(
        "In {count} unit, with all else in the table held equal:",
        "All {count} units together, with all else in the table held equal:", len(reading.table.places),
    ).format(count=number_words(len(reading.table.places)))  # fmt: skip
    return [
        naive_words(reading.naive),
        f"{units} {'; '.join(fit_words(fit, sentence=False) for fit in fits)}.",
        split_words(reading.split),
        *(_decision(fit) for fit in fits),
        _("None of this shows a cause."),
    ]


def naive_words(naive: Naive | None) -> str:
    """``M emergency went from 4.4 % (119 of 2,700) to 2.7 % (75 of 2,750), before and after alone.``"""
    if naive is None:
        return ""
    return _("{place} went from {before} to {after}, before and after alone.").format(
        place=naive.place or _("It"), before=_pair_words(naive.before), after=_pair_words(naive.after)
    )


def _pair_words(pair: Pair) -> str:
    return _("{share} ({count} of {sets})").format(
        share=share_words(pair[0] / pair[1]), count=grouped_words(pair[0]), sets=grouped_words(pair[1])
    )


def fit_words(fit: TermFit, *, sentence: bool = True) -> str:
    """One thing that differed, with its odds ratio and whether that is beyond chance."""
    words = (
        _("with {what} about {ratio} times as many sets are contaminated ({range}), a difference beyond chance")
        if fit.beyond
        else _("with {what} about {ratio} times as many ({range}), which cannot be told from no difference")
    ).format(what=term_words(fit.term), ratio=ratio_words(fit.ratio), range=range_words(fit.interval))
    return capital(f"{words}.") if sentence else words


def term_words(term: Term) -> str:
    """``phlebotomist instead of nurse``; a yes and no names its column: ``kit``."""
    if term.column == PERIOD:
        return _("after instead of before")
    if term.factor == CHANGE:
        return _("what began there")
    if {term.level, term.usual} <= {"yes", "no", "sí", "si", "x", "-", "1", "0"}:
        return _("{factor} ({level} instead of {usual})").format(factor=term.factor, level=term.level, usual=term.usual)
    return _("{level} instead of {usual}").format(level=term.level, usual=term.usual)


def split_words(split: FallSplit | None) -> str:
    """How much of the fall lies within the same way of collecting, where the two parts go the same way."""
    if split is None or split.mix_share is None or split.fall < 0:
        return ""
    return _(
        "Of its fall of {fall}, {within} lie within the same {factor} ({levels}) and {mix} ({share}) in another mix of "
        "{factor}."
    ).format(
        fall=points_words(split.fall), within=points_words(split.within), mix=points_words(split.mix),
        share=share_words(split.mix_share, 0), levels=joined_words(split.levels), factor=split.factor,
    )  # fmt: skip


def _decision(fit: TermFit) -> str:
    name = fit.term.level if fit.term.factor != CHANGE and fit.term.level not in ("yes", "no") else fit.term.factor
    name = _("what began there") if fit.term.factor == CHANGE else name
    if not fit.beyond:
        return _("Do not renew {name} on this evidence; plan a trial of it alone.").format(name=name)
    if fit.ratio < 1:
        return _("Carrying on with {name} fits these counts.").format(name=name)
    return _("Look at {name} again before carrying on with it.").format(name=name)


def open_caution(fit: TermFit) -> str:
    """What an interval around 1 still holds, so that nobody reads it as nothing."""
    words = _("Not “{name} does nothing”: the interval includes a {part} reduction.") if fit.interval.low < 1 else ""
    name = fit.term.factor if fit.term.factor != CHANGE else _("what began there")
    return words.format(name=name, part=share_words(1 - fit.interval.low, 0))


def range_as_counts(fit: TermFit) -> str:
    """``38 % fewer to 42 % more`` by the odds."""
    return _("{low} to {high}").format(low=factor_words(fit.interval.low), high=factor_words(fit.interval.high))


def apart_words(reading: DidReading, found: Identifiability) -> str:
    """``three rows, four unknowns: kit and period begin together``."""
    rows = len(reading.table.of_place(reading.focal)) if found is reading.alone else len(reading.table.rows)
    groups = "; ".join(_together(reading, alias.columns) for alias in found.aliases)
    return _("{rows}, {unknowns}: {groups}").format(
        rows=rows_words(rows), unknowns=unknowns_words(len(found.columns)), groups=groups
    )


def _together(reading: DidReading, columns: tuple[str, ...]) -> str:
    """Which of them always go together: the factors first, then the period, then places."""
    factors = [name for term in reading.terms if term.column in columns for name in [_column_name(reading, term)]]
    places = [name.removeprefix(AT) for name in columns if name.startswith(AT)]
    names = [*dict.fromkeys(factors), *places]
    if PERIOD in columns:
        return _("{names} begin together").format(names=joined_words(names))
    if len(names) > 1 and set(columns) != {CONSTANT}:
        return _("{names} always go together").format(names=joined_words(names))
    return _("{names} is the same in every row").format(names=joined_words(names))


def _column_name(reading: DidReading, term: Term) -> str:
    if term.column == PERIOD:
        return _("period")
    several = sum(one.factor == term.factor for one in reading.terms) > 1
    return f"{term.factor} {term.level}" if several else term.factor
