"""What was decided, and what became of it? The log of actions with owners, days and ages in one answer."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from cubital.domain.actions import Action, StepKind
from cubital.domain.answer import Answer, AnswerTable, Cell, Figure, Verdict
from cubital.domain.words import _, day_words, ngettext

_OLD_MOVES = 2  # an action whose day was moved more often than this is worth a word


def build_action_log(actions: Sequence[Action], *, today: date) -> Answer:
    """The log as it stands on ``today``: open ones first, the longest overdue on top, then those that were closed.

    ``too_few`` where no action was ever opened.
    """
    held = [found for found in (one.as_of(today) for one in actions) if found is not None]
    ordered = sorted(held, key=lambda one: _rank(one, today))
    return Answer(
        question=_("What was decided, and what became of it?"),
        verdict=Verdict.ESTIMATE if held else Verdict.TOO_FEW,
        sentence=action_sentence(held, today=today),
        figures=_figures(held, today) if held else (),
        cautions=_cautions(held),
        table=_table(ordered, today) if held else None,
    )


def action_sentence(actions: Sequence[Action], *, today: date) -> str:
    """``Two actions are open, one of them overdue by 12 days; they are 41 days old on average. Three are done.``"""
    if not actions:
        return _("No action has been opened yet.")
    open_ones = [one for one in actions if one.is_open]
    late = [one for one in open_ones if one.overdue_days(today)]
    parts = []
    if open_ones:
        parts.append(_open_words(open_ones, late, today))
    else:
        parts.append(_("No action is open."))
    done = sum(_closed_as(one, StepKind.DONE) for one in actions)
    dropped = sum(_closed_as(one, StepKind.DROPPED) for one in actions)
    if done:
        parts.append(ngettext("{count} is done.", "{count} are done.", done).format(count=done))
    if dropped:
        parts.append(ngettext("{count} was dropped.", "{count} were dropped.", dropped).format(count=dropped))
    return " ".join(parts)


def _open_words(open_ones: Sequence[Action], late: Sequence[Action], today: date) -> str:
    count = len(open_ones)
    ages = _days_words(round(_average_age(open_ones, today)))
    if count == 1:
        only = open_ones[0]
        state = (
            _("overdue by {days}").format(days=_days_words(only.overdue_days(today)))
            if late
            else _("due on {day}").format(day=day_words(only.due_on))
        )
        return _("One action is open, {state}; it is {ages} old.").format(state=state, ages=ages)
    if not late:
        return _("{count} actions are open and none is overdue; they are {ages} old on average.").format(
            count=count, ages=ages
        )
    worst = max(one.overdue_days(today) for one in late)
    return ngettext(
        "{count} actions are open, {late} of them overdue, by {worst}; they are {ages} old on average.",
        "{count} actions are open, {late} of them overdue, the longest by {worst}; they are {ages} old on average.",
        len(late),
    ).format(count=count, late=len(late), worst=_days_words(worst), ages=ages)


def _days_words(days: int) -> str:
    return ngettext("{count} day", "{count} days", days).format(count=days)


def _average_age(actions: Sequence[Action], today: date) -> float:
    return sum(one.age_days(today) for one in actions) / len(actions)


def _closed_as(one: Action, kind: StepKind) -> bool:
    return one.closed_by is not None and one.closed_by.kind is kind


def _figures(actions: Sequence[Action], today: date) -> tuple[Figure, ...]:
    open_ones = [one for one in actions if one.is_open]
    late = sum(one.overdue_days(today) > 0 for one in open_ones)
    done = [one for one in actions if _closed_as(one, StepKind.DONE)]
    in_time = sum(one.closed_by is not None and one.closed_by.on <= one.due_on for one in done)
    return (
        Figure(
            key="open", label=_("Open actions"), value=len(open_ones), unit="actions",
            definition=_("opened and neither done nor dropped"),
        ),
        Figure(
            key="overdue", label=_("Overdue"), value=late, unit="actions", definition=_("open and past their day"),
        ),
        Figure(
            key="average_age", label=_("Average age of the open ones"),
            value=_average_age(open_ones, today) if open_ones else None, unit="days",
            definition=_("whole days since each was opened"), note="" if open_ones else _("no action is open"),
        ),
        Figure(
            key="done_in_time", label=_("Done by their day"), value=in_time if done else None, unit="actions",
            definition=_("of those that were done; a moved day counts as the day"),
            note="" if done else _("none is done yet"),
        ),
    )  # fmt: skip


def _cautions(actions: Sequence[Action]) -> tuple[str, ...]:
    moved = [one for one in actions if one.is_open and one.moves > _OLD_MOVES]
    words = tuple(
        _("The day of action {number} was moved {count} times; ask whether it is the right action.").format(
            number=one.number, count=one.moves
        )
        for one in moved
    )
    return (*words, _("That an action is done does not say that it worked; that is another question."))


def _rank(one: Action, today: date) -> tuple[int, int, date, int]:
    return (0 if one.is_open else 1, -one.overdue_days(today), one.due_on, one.number)


def _table(actions: Sequence[Action], today: date) -> AnswerTable:
    return AnswerTable(
        title=_("Actions on {day}").format(day=day_words(today)),
        columns=(
            _("Number"), _("Action"), _("Where"), _("Owner"), _("Opened"), _("Due"), _("State"), _("Days old"),
        ),
        rows=tuple(_row(one, today) for one in actions),
    )  # fmt: skip


def _row(one: Action, today: date) -> tuple[Cell, ...]:
    return (
        one.number, one.words, one.place, one.owner, day_words(one.opened_on), due_words(one),
        state_words(one, today), one.age_days(today),
    )  # fmt: skip


def due_words(one: Action) -> str:
    """The day, and the day that was agreed first where it was moved."""
    if one.due_on == one.first_due:
        return day_words(one.due_on)
    return _("{day} (first {before})").format(day=day_words(one.due_on), before=day_words(one.first_due))


def state_words(one: Action, today: date) -> str:
    """``overdue by 12 days``, ``open``, ``done on 3 May 2026``, ``dropped on ...``."""
    closed = one.closed_by
    if closed is not None:
        words = _("done on {day}") if closed.kind is StepKind.DONE else _("dropped on {day}")
        return words.format(day=day_words(closed.on))
    late = one.overdue_days(today)
    return _("overdue by {days}").format(days=_days_words(late)) if late else _("open")
