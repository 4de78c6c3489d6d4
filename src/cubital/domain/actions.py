"""What was decided to be done: by which role, by when, and everything that became of it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from enum import StrEnum


class StepKind(StrEnum):
    """What happened to an action. The value is what stands in the records."""

    MOVED = "moved"
    NOTED = "noted"
    DONE = "done"
    DROPPED = "dropped"
    REOPENED = "reopened"

    @property
    def closes(self) -> bool:
        """Whether nothing is left to do after it."""
        return self in (StepKind.DONE, StepKind.DROPPED)


@dataclass(frozen=True, kw_only=True)
class ActionStep:
    """One thing that happened to an action on a day. ``owner`` and ``due_on`` are the new ones of a move, where it
    has any.
    """

    on: date
    kind: StepKind
    words: str = ""
    owner: str = ""
    due_on: date | None = None


@dataclass(frozen=True, kw_only=True)
class Action:
    """One action with its whole story; ``first_owner`` and ``first_due`` are what was agreed when it was opened.

    ``facility`` none is the whole network, ``unit`` none the whole facility (else its current key); ``place`` says it
    in words. ``steps`` are in the order in which they were noted.
    """

    number: int
    words: str
    first_owner: str
    first_due: date
    opened_on: date
    because: str = ""
    facility: str | None = None
    unit: str | None = None
    place: str = ""
    steps: tuple[ActionStep, ...] = ()

    @property
    def owner(self) -> str:
        """The role that answers for it now."""
        return next((step.owner for step in reversed(self.steps) if step.owner), self.first_owner)

    @property
    def due_on(self) -> date:
        """The day by which it is due now."""
        return next((step.due_on for step in reversed(self.steps) if step.due_on), self.first_due)

    @property
    def closed_by(self) -> ActionStep | None:
        """The step that closed it; none while it is open."""
        turning = [step for step in self.steps if step.kind.closes or step.kind is StepKind.REOPENED]
        return turning[-1] if turning and turning[-1].kind.closes else None

    @property
    def is_open(self) -> bool:
        """Whether something is left to do."""
        return self.closed_by is None

    @property
    def moves(self) -> int:
        """How often its day was moved."""
        return sum(step.due_on is not None for step in self.steps)

    def age_days(self, today: date) -> int:
        """Whole days since it was opened, until today or until it was closed."""
        closed = self.closed_by
        return ((closed.on if closed else today) - self.opened_on).days

    def overdue_days(self, today: date) -> int:
        """Whole days past its day while it is open; 0 otherwise."""
        return max(0, (today - self.due_on).days) if self.is_open else 0

    def as_of(self, day: date) -> Action | None:
        """The action as the log had it at the end of ``day``; none where it was opened later."""
        if self.opened_on > day:
            return None
        return Action(
            number=self.number, words=self.words, first_owner=self.first_owner, first_due=self.first_due,
            opened_on=self.opened_on, because=self.because, facility=self.facility, unit=self.unit, place=self.place,
            steps=tuple(step for step in self.steps if step.on <= day),
        )  # fmt: skip
