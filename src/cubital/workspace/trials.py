"""Trials whose analysis was written before their data: sealed, listed, read again, never changed."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime
from typing import Any

from cubital.answers.trial_checks import is_tangled
from cubital.domain.charter import UnitOfCount
from cubital.domain.errors import CharterProblem, RequestProblem, WorkspaceProblem
from cubital.domain.trial import TrialPlan, build_plan_dict, fingerprint_of, read_plan
from cubital.domain.words import _, day_words
from cubital.workspace import records
from cubital.workspace.charters import CharterVersion, current_charter, get_charter
from cubital.workspace.diary import list_entries
from cubital.workspace.opening import Workspace
from cubital.workspace.snapshots import last_batch_number
from cubital.workspace.trial_counts import trial_days
from cubital.workspace.units import list_units
from cubital.workspace.writing import hold_workspace, note_change, one_transaction

LONGEST_NAME = 120


@dataclass(frozen=True, kw_only=True)
class SealedTrial:
    """One plan as it was sealed: its number, its fingerprint (64 digits), by whom in which role, when, on which data.

    ``replaced_by`` are the numbers of later plans that name this one.
    """

    number: int
    plan: TrialPlan
    fingerprint: str
    sealed_by: str
    role: str
    sealed_at: datetime
    batch: int
    replaced_by: tuple[int, ...] = ()


def seal_protocol(workspace: Workspace, *, plan: TrialPlan, by: str, role: str, late: bool = False) -> SealedTrial:
    """Seals a plan for good: nothing of it can be changed, only replaced by another one that names it.

    The last day of data that was in is written into the plan before its fingerprint is taken. ``RequestProblem`` where
    a name or role is missing, a unit is unknown, the charter is not the one in force, another change cannot be told
    from the trial, the plan that it replaces does not exist, it is sealed already, or data of its days are there and
    ``late`` was not said. A plan sealed late says so in everything that is made of it.
    """
    name, position = (" ".join(text.split()) for text in (by, role))
    _check_people(name, position)
    with hold_workspace(workspace), one_transaction(workspace) as database:
        whole = _ready(workspace, plan, late=late)
        last = _rows(workspace).order_by("-number").first()
        entry = records.TrialProtocol.objects.using(database).create(
            number=last.number + 1 if last else 1, name=whole.name, plan=build_plan_dict(whole),
            fingerprint=whole.fingerprint(), sealed_by=name, role=position, sealed_at=datetime.now(UTC),
            batch=last_batch_number(workspace), data_to=whole.data_to.isoformat() if whole.data_to else "",
            replaces=whole.replaces,
        )  # fmt: skip
        note_change(
            workspace, action="seal_trial", subject=f"trial {entry.number}", name=whole.name,
            fingerprint=entry.fingerprint, role=position, late=whole.late,
        )  # fmt: skip
    return get_protocol(workspace, entry.number)


def list_protocols(workspace: Workspace) -> tuple[SealedTrial, ...]:
    """Every sealed plan, oldest first; errors as for ``get_protocol``."""
    return tuple(_sealed(workspace, entry) for entry in _rows(workspace).order_by("number"))


def get_protocol(workspace: Workspace, number: int) -> SealedTrial:
    """One sealed plan; ``RequestProblem`` where there is none of that number.

    ``WorkspaceProblem`` where what is kept is no longer what was sealed.
    """
    entry = _rows(workspace).filter(number=number).first()
    if entry is None:
        raise RequestProblem(
            _("there is no trial {number}.").format(number=number), fix=_("The list of trials shows their numbers.")
        )
    return _sealed(workspace, entry)


def charter_of(workspace: Workspace, plan: TrialPlan) -> CharterVersion:
    """The charter that the plan counts by; ``WorkspaceProblem`` where it is no longer the same."""
    try:
        found = get_charter(workspace, plan.charter)
    except CharterProblem as problem:
        raise WorkspaceProblem(
            _("the charter that this trial counts by is not in this workspace."), where=plan.name,
            fix=_("Open the workspace in which it was sealed."),
        ) from problem  # fmt: skip
    if found.fingerprint != plan.charter_fingerprint:
        raise WorkspaceProblem(
            _("charter {version} is no longer the one that this trial was sealed with.").format(version=plan.charter),
            where=plan.name, fix=_("Restore the workspace from a backup."),
        )  # fmt: skip
    return found


def plan_from_file(plain: object, *, where: str) -> TrialPlan:
    """A plan that somebody wrote or changed by hand; ``RequestProblem`` says what is wrong with it."""
    try:
        if not isinstance(plain, Mapping):
            raise ValueError("this is no plan of a trial")
        return read_plan(plain)
    except ValueError as error:
        raise RequestProblem(
            _("this plan cannot be used: {reason}.").format(reason=error), where=where,
            fix=_("Make it anew with 'cubital trial plan --out', and change only what you understand."),
        ) from None  # fmt: skip


def last_day_of(workspace: Workspace, plan: TrialPlan) -> date | None:
    """The last day of data in the plan's units; none before the first file."""
    charter = get_charter(workspace, plan.charter).charter
    return max((cell.day for cell in trial_days(workspace, plan, charter) if cell.day is not None), default=None)


def _ready(workspace: Workspace, plan: TrialPlan, *, late: bool) -> TrialPlan:
    charter = current_charter(workspace)
    if (plan.charter, plan.charter_fingerprint) != (charter.version, charter.fingerprint):
        raise RequestProblem(
            _("the plan counts by charter {then}, and charter {now} is in force.").format(
                then=plan.charter, now=charter.version
            ),
            fix=_("Make the plan anew."),
        )
    if charter.charter.unit_of_count is not UnitOfCount.SET:
        raise RequestProblem(
            _("the charter in force does not count sets, and a trial compares sets."),
            fix=_("Choose a charter that counts sets."),
        )
    _check_places(workspace, plan)
    _check_tangles(workspace, plan)
    whole = replace(plan, data_to=last_day_of(workspace, plan))
    _check_new(workspace, whole)
    if whole.late and not late:
        raise RequestProblem(
            _(
                "data up to {data} are in, and the trial starts on {start}: it can no longer be written beforehand."
            ).format(data=day_words(whole.data_to or whole.start), start=day_words(whole.start)),
            fix=_("Choose a later start. Or seal it as late; then everything made of it says so."),
        )
    return whole


def _check_people(name: str, role: str) -> None:
    if not name or not role:
        raise RequestProblem(
            _("a trial needs a person who answers for it."), fix=_("Say who seals it and in which role.")
        )
    if max(len(name), len(role)) > LONGEST_NAME:
        raise RequestProblem(_("the name or the role is too long."), fix=_("Shorten it."))


def _check_places(workspace: Workspace, plan: TrialPlan) -> None:
    known = {(unit.facility, unit.current_key) for unit in list_units(workspace)}
    places = {(one.facility, one.unit): one.place for one in plan.stretches}
    unknown = sorted(words for place, words in places.items() if place not in known)
    if unknown:
        raise RequestProblem(
            _("the laboratory's files know no unit {names}, so its sets cannot be counted.").format(
                names=", ".join(unknown[:6])
            ),
            fix=_("A bay that is no unit of its own can take turns by day or week instead."),
        )
    if len(plan.name) > LONGEST_NAME:
        raise RequestProblem(_("the name of the trial is too long."), fix=_("Shorten it."))


def _check_tangles(workspace: Workspace, plan: TrialPlan) -> None:
    tangles = [entry for entry in list_entries(workspace) if is_tangled(entry, plan.stretches, design=plan.design)]
    if tangles:
        raise RequestProblem(
            _("{words} ({day}) falls together with this trial on one side only: the two cannot be separated.").format(
                words=tangles[0].words, day=day_words(tangles[0].on)
            ),
            fix=_("Move the start, leave that unit out, or let every unit have both ways in turn."),
        )


def _check_new(workspace: Workspace, plan: TrialPlan) -> None:
    numbers = set(_rows(workspace).values_list("number", flat=True))
    if plan.replaces is not None and plan.replaces not in numbers:
        raise RequestProblem(
            _("there is no trial {number} to replace.").format(number=plan.replaces),
            fix=_("The list of trials shows their numbers."),
        )
    same = _rows(workspace).filter(fingerprint=plan.fingerprint()).first()
    if same is not None:
        raise RequestProblem(
            _("this plan is sealed already, as trial {number}.").format(number=same.number),
            fix=_("Nothing was changed."),
        )


def _sealed(workspace: Workspace, entry: records.TrialProtocol) -> SealedTrial:
    plan = _sound_plan(entry)
    later = _rows(workspace).filter(replaces=entry.number).order_by("number")
    return SealedTrial(
        number=entry.number, plan=plan, fingerprint=entry.fingerprint, sealed_by=entry.sealed_by, role=entry.role,
        sealed_at=entry.sealed_at.astimezone(UTC), batch=entry.batch,
        replaced_by=tuple(later.values_list("number", flat=True)),
    )  # fmt: skip


def _sound_plan(entry: records.TrialProtocol) -> TrialPlan:
    """The plan where it is what was sealed, and what stands beside it says the same."""
    try:
        plan = read_plan(entry.plan)
        sound = fingerprint_of(entry.plan) == entry.fingerprint == plan.fingerprint()
        beside = (plan.data_to.isoformat() if plan.data_to else "", plan.name, plan.replaces)
        if sound and beside == (entry.data_to, entry.name, entry.replaces):
            return plan
    except ValueError:
        pass  # said below: a plan that cannot be read was changed as well
    raise WorkspaceProblem(
        _("trial {number} was changed after it was sealed: it no longer has its fingerprint.").format(
            number=entry.number
        ),
        fix=_("Compare it with the printed page, and restore the workspace from a backup made before."),
    )


def _rows(workspace: Workspace) -> Any:
    found = records.TrialProtocol.objects.using(workspace.alias)
    return found if workspace.pinned is None else found.filter(batch__lte=workspace.pinned.batch)
