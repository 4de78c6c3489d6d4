"""The log of actions: opened, noted on, moved, done, dropped, opened again. Nothing in it is ever overwritten."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, date, datetime

from cubital.answers.action_log import build_action_log
from cubital.answers.owner_words import owner_advice, owner_trouble
from cubital.domain.actions import Action, ActionStep, StepKind
from cubital.domain.answer import Answer
from cubital.domain.errors import RequestProblem
from cubital.domain.words import _, day_words
from cubital.workspace import records
from cubital.workspace.asked_places import find_place
from cubital.workspace.facilities import facility_key
from cubital.workspace.opening import Workspace
from cubital.workspace.unit_names import unit_key
from cubital.workspace.units import list_units
from cubital.workspace.writing import hold_workspace, note_change, one_transaction

MOST_LETTERS = 400
_OWNER_LETTERS = 120


@dataclass(frozen=True, kw_only=True)
class NewAction:
    """An action as it is agreed: what, by which role, by when, and why. No facility means the whole network."""

    words: str
    owner: str
    due_on: date
    because: str = ""
    facility: str | None = None
    unit: str | None = None
    opened_on: date | None = None


def open_action(workspace: Workspace, *, action: NewAction) -> Action:
    """Opens an action. ``RequestProblem`` where words, owner or day will not do, or the place is unknown."""
    opened = action.opened_on or _today()
    words = _tidy(action.words, what=_("what is to be done is missing."))
    owner = _checked_owner(action.owner)
    if action.due_on < opened:
        raise _due_problem(action.due_on, opened)
    asked = action.facility is not None or action.unit is not None
    place = find_place(workspace, facility=action.facility, unit=action.unit) if asked else None
    with hold_workspace(workspace), one_transaction(workspace) as database:
        log = records.PlannedAction.objects.using(database)
        last = log.order_by("-number").first()
        facility = (
            records.Facility.objects.using(database).get(key=facility_key(place.facility))
            if place and place.facility
            else None
        )
        entry = log.create(
            number=last.number + 1 if last else 1, facility=facility,
            unit_key=(place.unit or "") if place else "", words=words, owner=owner,
            because=" ".join(action.because.split())[:MOST_LETTERS], opened_on=opened, due_on=action.due_on,
            noted_at=datetime.now(UTC),
        )  # fmt: skip
        note_change(workspace, action="open_action", subject=f"action {entry.number}", owner=owner)
    return get_action(workspace, entry.number)


def note_on_action(workspace: Workspace, *, number: int, words: str, on: date | None = None) -> Action:
    """Keeps a remark beside an open action; errors as for ``finish_action``."""
    said = _tidy(words, what=_("the remark is empty."))
    return _add(workspace, number=number, step=ActionStep(on=on or _today(), kind=StepKind.NOTED, words=said))


def move_action(
    workspace: Workspace, *, number: int, due_on: date | None = None, owner: str = "", words: str = "",
    on: date | None = None,
) -> Action:  # fmt: skip
    """Gives an open action another day, another owner, or both; what was agreed before stays in its story.

    ``RequestProblem`` where neither changes, or as for ``finish_action``.
    """
    found, day = get_action(workspace, number), on or _today()
    new_owner = _checked_owner(owner) if owner.strip() else ""
    new_owner = "" if new_owner == found.owner else new_owner
    new_due = None if due_on == found.due_on else due_on
    if not new_owner and new_due is None:
        raise RequestProblem(
            _("action {number} has this owner and this day already.").format(number=number),
            fix=_("Give another day or another owner."),
        )
    if new_due is not None and new_due < day:
        raise _due_problem(new_due, day)
    said = " ".join(words.split())[:MOST_LETTERS]
    step = ActionStep(on=day, kind=StepKind.MOVED, words=said, owner=new_owner, due_on=new_due)
    return _add(workspace, number=number, step=step)


def finish_action(
    workspace: Workspace, *, number: int, dropped: bool = False, words: str = "", on: date | None = None
) -> Action:
    """Says that an open action is done, or dropped with its reason.

    ``RequestProblem`` where there is no such action, it is closed already, it is dropped without a reason, or the day
    lies before its last step or in the future.
    """
    if dropped:
        words = _tidy(words, what=_("an action is dropped for a reason, and the reason is missing."))
    kind = StepKind.DROPPED if dropped else StepKind.DONE
    said = " ".join(words.split())[:MOST_LETTERS]
    return _add(workspace, number=number, step=ActionStep(on=on or _today(), kind=kind, words=said))


def reopen_action(workspace: Workspace, *, number: int, words: str, on: date | None = None) -> Action:
    """Opens a closed action again, with the reason."""
    said = _tidy(words, what=_("an action is opened again for a reason, and the reason is missing."))
    return _add(workspace, number=number, step=ActionStep(on=on or _today(), kind=StepKind.REOPENED, words=said))


def get_action(workspace: Workspace, number: int) -> Action:
    """The action of that number; ``RequestProblem`` where there is none."""
    for found in list_actions(workspace):
        if found.number == number:
            return found
    raise RequestProblem(
        _("there is no action {number}.").format(number=number), fix=_("The list of actions shows their numbers.")
    )


def list_actions(workspace: Workspace) -> tuple[Action, ...]:
    """Every action with its story, oldest first; units under the names of today."""
    found = records.PlannedAction.objects.using(workspace.alias).select_related("facility").order_by("number")
    entries = list(found.prefetch_related("steps"))
    names = _unit_names(workspace) if any(entry.unit_key for entry in entries) else {}
    return tuple(_action_of(entry, names) for entry in entries)


def action_log_answer(workspace: Workspace, *, today: date | None = None, facility: str | None = None) -> Answer:
    """The log in one answer, as it stood at the end of ``today``: all, or one facility's and what is everywhere."""
    found = [one for one in list_actions(workspace) if facility is None or one.facility in (None, facility)]
    return build_action_log(found, today=today or _today())


def _add(workspace: Workspace, *, number: int, step: ActionStep) -> Action:
    with hold_workspace(workspace), one_transaction(workspace) as database:
        found = get_action(workspace, number)
        _check_step(found, step)
        entry = records.PlannedAction.objects.using(database).get(number=number)
        records.ActionStep.objects.using(database).create(
            action=entry, on=step.on, what=step.kind.value, words=step.words, owner=step.owner, due_on=step.due_on,
            noted_at=datetime.now(UTC),
        )  # fmt: skip
        note_change(workspace, action="action_step", subject=f"action {number}", what=step.kind.value)
    return get_action(workspace, number)


def _check_step(found: Action, step: ActionStep) -> None:
    if found.is_open == (step.kind is StepKind.REOPENED):
        words = (
            _("action {number} is open already.") if found.is_open else _("action {number} is closed.")
        )  # fmt: skip
        raise RequestProblem(
            words.format(number=found.number), fix=_("Look at its story first: cubital actions list.")
        )  # fmt: skip
    last = max((one.on for one in found.steps), default=found.opened_on)
    if step.on < last:
        raise RequestProblem(
            _("the story of action {number} goes to {day} already.").format(number=found.number, day=day_words(last)),
            fix=_("Give that day or a later one."),
        )
    if step.on > _today():
        raise RequestProblem(
            _("{day} has not come yet.").format(day=day_words(step.on)), fix=_("Give today or an earlier day.")
        )


def _checked_owner(owner: str) -> str:
    trouble = owner_trouble(owner)
    if trouble:
        raise RequestProblem(trouble, fix=owner_advice())
    return " ".join(owner.split())[:_OWNER_LETTERS]


def _tidy(words: str, *, what: str) -> str:
    text = " ".join(words.split())
    if not text:
        raise RequestProblem(what, fix=_("Say it in one sentence, without names."))
    if len(text) > MOST_LETTERS:
        raise RequestProblem(
            _("that is {count} letters long.").format(count=len(text)),
            fix=_("Say it in at most {most} letters.").format(most=MOST_LETTERS),
        )
    return text


def _due_problem(due: date, start: date) -> RequestProblem:
    return RequestProblem(
        _("it is due on {due}, which is before {start}.").format(due=day_words(due), start=day_words(start)),
        fix=_("Give that day or a later one."),
    )


def _today() -> date:
    return date.today()  # noqa: DTZ011 - a log runs by the calendar of the desk


def _unit_names(workspace: Workspace) -> Mapping[tuple[str, str], tuple[str, str]]:
    """By facility and any key that a unit had: its key and its name of today."""
    held: dict[tuple[str, str], tuple[str, str]] = {}
    for unit in list_units(workspace):
        for label in (unit.current_key, unit_key(unit.unit_name), *unit.labels):
            held[unit.facility, label] = (unit.current_key, unit.unit_name)
    return held


def _action_of(entry: records.PlannedAction, names: Mapping[tuple[str, str], tuple[str, str]]) -> Action:
    facility = entry.facility.name if entry.facility else None
    key, name = names.get((facility or "", entry.unit_key), (entry.unit_key, entry.unit_key))
    place = _("everywhere") if facility is None else f"{facility} · {name}" if key else facility
    return Action(
        number=entry.number, words=entry.words, first_owner=entry.owner, first_due=entry.due_on,
        opened_on=entry.opened_on, because=entry.because, facility=facility, unit=key or None, place=place,
        steps=tuple(
            ActionStep(on=one.on, kind=StepKind(one.what), words=one.words, owner=one.owner, due_on=one.due_on)
            for one in sorted(entry.steps.all(), key=lambda one: one.pk)
        ),
    )  # fmt: skip
