"""What changed together, and what can be tested with the diary as it stands."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

from cubital.answers.counted_words import capital
from cubital.answers.diary_entry import kind_words
from cubital.answers.diary_reading import FEWEST, CanTest, ChangeTest, DiaryReading, Overlap, Side
from cubital.domain.answer import Answer, AnswerTable, Check, Figure, Receipt, Verdict
from cubital.domain.diary import DiaryEntry
from cubital.domain.words import _, day_words, grouped_words, month_words, ngettext

MOST_OVERLAPS = 8  # a longer list is not read
MOST_CONTROLS = 4


def build_diary_answer(reading: DiaryReading, *, receipt: Receipt | None = None) -> Answer:
    """Every change of care with what could show whether it worked; overlaps as checks that did not pass."""
    return Answer(
        question=_("What can be tested, and what changed together?"),
        verdict=_verdict(reading),
        sentence=_sentence(reading),
        figures=_figures(reading),
        cautions=_cautions() if reading.tests else (),
        table=_table(reading) if reading.tests else None,
        receipt=receipt,
        checks=_checks(reading),
    )


def entry_words(entry: DiaryEntry) -> str:
    """``2 June 2025, Marrowby General, ED: Collection kit in use``."""
    place = _(" ({place})").format(place=entry.place) if entry.place else ""
    return _("{day}{place}: {words}").format(day=span_words(entry), place=place, words=entry.words)


def span_words(entry: DiaryEntry) -> str:
    """The day on which it began, and until when where it ended."""
    if entry.until is None or entry.until == entry.on:
        return day_words(entry.on)
    return _("{start} to {end}").format(start=day_words(entry.on), end=day_words(entry.until))


def overlap_words(overlap: Overlap) -> str:
    """The warning about two changes that came together."""
    first, second = overlap.first, overlap.second
    if overlap.days == 0:
        apart = _("on one day")
    else:
        apart = ngettext("{count} day apart", "{count} days apart", overlap.days).format(count=overlap.days)
    values = {"first": entry_words(first), "second": entry_words(second), "apart": apart}
    if overlap.definition:
        counting = first if first.kind.changes_counting else second
        return _(
            "Definition changed here: {first}, and {second}, {apart}. A jump there may be the {kind} and not the care."
        ).format(kind=kind_words(counting.kind), **values)
    if first.kind.changes_counting:
        return _("Two changes of how sets are counted came together: {first}, and {second}, {apart}.").format(**values)
    return _("Two things changed together: {first}, and {second}, {apart}.").format(**values)


def can_test_words(test: ChangeTest) -> str:
    """How far this change can be tested, as a sentence without its place."""
    if test.state is CanTest.COMPARED:
        return _("before and after, against units without it")
    if test.state is CanTest.ALONE:
        return _("before and after only: no unit to compare with")
    if test.state is CanTest.TOGETHER:
        return _("cannot be told apart from what came with it")
    if test.state is CanTest.OUTSIDE:
        return _("outside the months of the data")
    return _short_words(test)


def change_words(test: ChangeTest) -> str:
    """All that can be said about one change: how far it can be tested, against what, with how much, and its company."""
    said = [capital(can_test_words(test))]
    if test.controls:
        said[0] = _("{words}: {names}").format(words=said[0], names=_names(test.controls))
    if test.state is not CanTest.OUTSIDE:
        said.append(
            _("{before} before it, {after} after it").format(
                before=_side_words(test.before), after=_side_words(test.after)
            )
        )
    if test.companions:
        said.append(_("With it came: {changes}").format(changes="; ".join(one.words for one in test.companions)))
    return ". ".join(said) + "."


def _side_words(side: Side) -> str:
    months = ngettext("{count} month", "{count} months", side.months).format(count=side.months)
    sets = ngettext("{count} set", "{count} sets", side.sets).format(count=grouped_words(side.sets))
    return _("{months} with {sets}").format(months=months, sets=sets)


def _short_words(test: ChangeTest) -> str:
    if test.before.months < FEWEST:
        return ngettext(
            "only {count} month with sets before it; {fewest} are needed",
            "only {count} months with sets before it; {fewest} are needed",
            test.before.months,
        ).format(count=test.before.months, fewest=FEWEST)
    more = FEWEST - test.after.months
    return ngettext(
        "too early: {count} more month is needed", "too early: {count} more months are needed", more
    ).format(count=more)


def _verdict(reading: DiaryReading) -> Verdict:
    states = {test.state for test in reading.tests}
    if not states:
        return Verdict.REFUSED
    if states & {CanTest.COMPARED, CanTest.ALONE}:
        return Verdict.ESTIMATE
    return Verdict.NOT_IDENTIFIABLE if CanTest.TOGETHER in states else Verdict.TOO_FEW


def _sentence(reading: DiaryReading) -> str:
    if not reading.entries:
        return _(
            "The diary is empty: note what changed, where and on which day, and it can be said what can be tested."
        )
    if not reading.tests:
        return _("The diary holds no change of care yet, only changes of how sets are named or counted.")
    counts = Counter(test.state for test in reading.tests)
    parts = [words for words in (_part(state, counts[state]) for state in CanTest) if words]
    changes = ngettext("Of {count} change of care", "Of {count} changes of care", len(reading.tests)).format(
        count=grouped_words(len(reading.tests))
    )
    return capital(_("{changes}, {parts}.").format(changes=changes, parts=_joined(parts))) + _span(reading)


def _part(state: CanTest, count: int) -> str:
    if not count:
        return ""
    words = {
        CanTest.COMPARED: ngettext(
            "{count} can be tested against units without it", "{count} can be tested against units without them", count
        ),
        CanTest.ALONE: ngettext(
            "{count} can be tested by before and after alone", "{count} can be tested by before and after alone", count
        ),
        CanTest.TOGETHER: ngettext(
            "{count} cannot be told apart from what changed with it",
            "{count} cannot be told apart from what changed with them",
            count,
        ),
        CanTest.SHORT: ngettext("{count} has too few months", "{count} have too few months", count),
        CanTest.OUTSIDE: ngettext("{count} lies outside the data", "{count} lie outside the data", count),
    }  # fmt: skip
    return words[state].format(count=grouped_words(count))


def _joined(parts: Sequence[str]) -> str:
    if len(parts) < 2:
        return "".join(parts)
    return _("{most} and {last}").format(most=", ".join(parts[:-1]), last=parts[-1])


def _span(reading: DiaryReading) -> str:
    if reading.first_month is None or reading.last_month is None:
        return " " + _("No set is dated yet.")
    return " " + _("The data run from {first} to {last}.").format(
        first=month_words(reading.first_month, with_year=True), last=month_words(reading.last_month, with_year=True)
    )


def _figures(reading: DiaryReading) -> tuple[Figure, ...]:
    counts = Counter(test.state for test in reading.tests)
    rows = (
        ("changes", _("Changes of care"), len(reading.tests), _("entries in force that change how sets are collected")),
        (
            "compared", _("Testable against other units"), counts[CanTest.COMPARED],
            _("units that had everything else the same at that time, with months on both sides"),
        ),
        ("alone", _("Before and after only"), counts[CanTest.ALONE], _("nothing else noted, no unit to compare with")),
        (
            "together", _("Cannot be told apart"), counts[CanTest.TOGETHER],
            _("something else is noted within the window at every unit it reached"),
        ),
        (
            "overlaps", _("Changed together"), len(reading.overlaps),
            _("pairs of entries at one place within {days} days").format(days=reading.window),
        ),
    )  # fmt: skip
    return tuple(
        Figure(key=key, label=label, value=float(value), unit="", definition=words) for key, label, value, words in rows
    )


def _checks(reading: DiaryReading) -> tuple[Check, ...]:
    if not reading.entries:
        return ()
    if not reading.overlaps:
        words = _("No two entries at one place lie within {days} days of each other.").format(days=reading.window)
        return (Check(key="overlaps", passed=True, words=words),)
    shown = sorted(reading.overlaps, key=lambda one: max(one.first.on, one.second.on), reverse=True)[:MOST_OVERLAPS]
    checks = [Check(key="overlap", passed=False, words=overlap_words(one)) for one in shown]
    left = len(reading.overlaps) - len(shown)
    if left:
        words = ngettext(
            "{count} earlier pair of entries also came within {days} days.",
            "{count} earlier pairs of entries also came within {days} days.",
            left,
        ).format(count=left, days=reading.window)
        checks.append(Check(key="overlap", passed=False, words=words))
    return tuple(checks)


def _cautions() -> tuple[str, ...]:
    return (
        _("Only what stands in the diary is known here; what nobody noted may have changed as well."),
        _("That a change can be tested does not say that there are sets enough: ask 'Did it work?' for that."),
        _("Changes of one kind at two units within the window are taken for the same change."),
    )  # fmt: skip


def _table(reading: DiaryReading) -> AnswerTable:
    return AnswerTable(
        title=_("Every change of care and what can be tested"),
        columns=(
            _("Entry"), _("Day"), _("Place"), _("What"), _("What can be tested"), _("Months before"),
            _("Months after"), _("Sets before"), _("Sets after"), _("Compared with"), _("Came with it"),
        ),
        rows=tuple(
            (
                test.entry.number or "–", test.entry.on.isoformat(), test.entry.place, test.entry.words,
                can_test_words(test), test.before.months, test.after.months, test.before.sets, test.after.sets,
                _names(test.controls), "; ".join(_short(one) for one in test.companions),
            )
            for test in reading.tests
        ),
    )  # fmt: skip


def _short(entry: DiaryEntry) -> str:
    """The number by which the list names an entry; its words where it has none."""
    return _("entry {number}").format(number=entry.number) if entry.number else entry.words


def _names(names: Sequence[str]) -> str:
    left = len(names) - MOST_CONTROLS
    shown = "; ".join(names[:MOST_CONTROLS])
    if left <= 0:
        return shown
    return _("{names} and {count} more").format(names=shown, count=left)
