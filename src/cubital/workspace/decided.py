"""What medical microbiology decided about doubtful sets, as it stands now or stood at a moment."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import date, datetime

from cubital.domain.decisions import Decision
from cubital.workspace import records
from cubital.workspace.opening import Workspace


@dataclass(frozen=True, kw_only=True)
class SetSaid:
    """One decision about one set. ``initials`` and ``role`` say who answers for it; ``month`` is the set's month."""

    number: int
    facility: str
    accession: str
    month: str
    decision: Decision
    initials: str
    role: str
    why: str
    on: date
    noted_at: datetime
    withdrawn_at: datetime | None = None
    withdrawn_why: str = ""

    def stands(self, at: datetime | None) -> bool:
        """Whether it holds at that moment; none means now."""
        if at is None:
            return self.withdrawn_at is None
        return self.noted_at <= at and (self.withdrawn_at is None or self.withdrawn_at > at)


def list_decisions(workspace: Workspace) -> tuple[SetSaid, ...]:
    """Every decision that was ever noted, withdrawn ones included, the first one first."""
    found = records.SetDecision.objects.using(workspace.alias).select_related("facility").order_by("number")
    every = tuple(
        SetSaid(
            number=one.number, facility=one.facility.name, accession=one.accession, month=one.seen["month"],
            decision=Decision(one.decision), initials=one.initials, role=one.role, why=one.why, on=one.decided_on,
            noted_at=one.noted_at, withdrawn_at=one.withdrawn_at, withdrawn_why=one.withdrawn_why,
        )
        for one in found
    )  # fmt: skip
    return every if workspace.pinned is None else _then(every, dict(workspace.pinned.decisions))


def _then(every: Iterable[SetSaid], noted: Mapping[int, bool]) -> tuple[SetSaid, ...]:
    """Those that were noted by the day of a pin, each withdrawn only if it was by then."""
    return tuple(
        one if noted[one.number] else replace(one, withdrawn_at=None, withdrawn_why="")
        for one in every
        if one.number in noted
    )


def decision_rows(workspace: Workspace, *, at: datetime | None = None) -> list[tuple[str, str, str]]:
    """The rows of the judge's table ``decisions``: hospital, accession and decision of everything that stands."""
    return [(one.facility, one.accession, one.decision) for one in list_decisions(workspace) if one.stands(at)]


def decision_state(workspace: Workspace) -> tuple[int, int]:
    """How many decisions were noted and how many withdrawn: with another pair sets may count otherwise."""
    if workspace.pinned is not None:
        return len(workspace.pinned.decisions), sum(withdrawn for _number, withdrawn in workspace.pinned.decisions)
    found = records.SetDecision.objects.using(workspace.alias)
    return found.count(), found.filter(withdrawn_at__isnull=False).count()
