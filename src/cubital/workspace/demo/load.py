"""Loads the invented network into a workspace the way a person would: file by file, through the front door."""

from __future__ import annotations

import tempfile
from collections.abc import Callable
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path

from cubital.bedside.policy_file import example_policy
from cubital.domain.errors import RequestProblem
from cubital.domain.words import _
from cubital.workspace.batches import list_batches
from cubital.workspace.charters import current_charter, sign_charter
from cubital.workspace.collecting import (
    approve_collection_policy,
    list_collection_policies,
    mark_demo,
    save_collection_policy,
)
from cubital.workspace.demo.committee import FIRST_PACK_AFTER, hold_committee, make_first_pack
from cubital.workspace.demo.costs import keep_demo_costs
from cubital.workspace.demo.diary import keep_demo_diary
from cubital.workspace.demo.files import WorldFile, world_file_names, write_world
from cubital.workspace.demo.staff import write_staff_lists
from cubital.workspace.demo.world import DEFAULT_SEED, EMERGENCY, HOSPITALS, LAST_MONTH, MARROWBY
from cubital.workspace.moving import take_movements
from cubital.workspace.opening import Workspace
from cubital.workspace.places import last_place, remember_place
from cubital.workspace.policies import approve_policy, current_policy, save_policy
from cubital.workspace.staff import import_roster, list_stays
from cubital.workspace.taking import take_file
from cubital.workspace.units import rename_unit

Progress = Callable[[str, float], None]

SIGNED_ON = date(2026, 1, 12)
SIGNERS = (  # invented people, like everyone here
    ("Ada Ferro", "practice educator"),
    ("Ben Ruiz", "medical microbiology"),
)
APPROVER = "Cleo Marsh, quality committee"


def load_demo(workspace: Workspace, *, progress: Progress | None = None, seed: int = DEFAULT_SEED) -> None:
    """Takes in every file of the network, names its renamed unit, signs its charter and approves its policies.

    Only into a workspace that is empty or holds this network already: the approvals are those of invented people, so
    ``RequestProblem`` where other data are present. A second call adds nothing.
    """
    tell = progress or _tell_nobody
    taken = _files_taken(workspace)
    mark_demo(workspace)
    if taken != set(world_file_names()):
        tell(_("Inventing the network"), 0.0)
        with tempfile.TemporaryDirectory(prefix="cubital-demo-", ignore_cleanup_errors=True) as folder:
            _take_all(workspace, write_world(Path(folder), seed=seed).files, taken=taken, tell=tell)
    _settle(workspace, seed=seed)
    tell(_("The invented network is loaded"), 1.0)


def _tell_nobody(step: str, fraction: float) -> None:
    """Progress where nobody watches."""


def _files_taken(workspace: Workspace) -> set[str]:
    """The network's files that are in already; other files are a reason to stop."""
    names = {batch.file_name for batch in list_batches(workspace)}
    if names - set(world_file_names()):
        raise RequestProblem(
            _("this workspace holds other data, and the invented network does not belong beside them."),
            where=str(workspace.folder),
            fix=_("Load it into a folder of its own: cubital --workspace demo-workspace demo."),
        )
    return names


def _take_all(workspace: Workspace, files: tuple[WorldFile, ...], *, taken: set[str], tell: Progress) -> None:
    waiting = [file for file in files if file.path.name not in taken]
    for place, file in enumerate(waiting):

        def tell_part(step: str, fraction: float, place: int = place, name: str = file.path.name) -> None:
            tell(f"{name}: {step}", (place + min(fraction, 0.99)) / len(waiting))

        _take(workspace, file, tell_part)
        if file.path.name == FIRST_PACK_AFTER:
            make_first_pack(workspace)


def _take(workspace: Workspace, file: WorldFile, tell: Progress) -> None:
    if file.kind == "movements":
        take_movements(workspace, file=file.path, facility=file.facility, timezone=file.timezone, accept=True)
        return
    take_file(
        workspace, file=file.path, facility=file.facility, timezone=file.timezone, accept=True, progress=tell
    )  # fmt: skip


def _settle(workspace: Workspace, *, seed: int) -> None:
    """What people would have agreed: the renamed unit, the charter, the policy; and the place to start from."""
    for hospital in HOSPITALS:
        if hospital.renaming:
            change = hospital.renaming
            rename_unit(workspace, facility=hospital.name, old=change.old, new=change.new, on=change.on)
    charter = current_charter(workspace)
    if not charter.signatures:
        for name, role in SIGNERS:
            sign_charter(workspace, version=charter.version, name=name, role=role, on=SIGNED_ON)
    if not current_policy(workspace).approved_by:
        _approve_thresholds(workspace)
    if not list_stays(workspace):
        _list_staff(workspace, seed=seed)
    if not list_collection_policies(workspace):
        _approve_collecting(workspace)
    keep_demo_diary(workspace)
    hold_committee(workspace)
    keep_demo_costs(workspace)
    if last_place(workspace) is None:
        remember_place(workspace, month=LAST_MONTH, facility=MARROWBY.name, unit=EMERGENCY.label)


def _list_staff(workspace: Workspace, *, seed: int) -> None:
    """The hospitals' staff lists; as everywhere, the names in them are not kept."""
    with tempfile.TemporaryDirectory(prefix="cubital-demo-", ignore_cleanup_errors=True) as folder:
        for file in write_staff_lists(Path(folder), seed=seed):
            import_roster(workspace, file=file.path, facility=file.facility)


def _approve_thresholds(workspace: Workspace) -> None:
    """The example thresholds, under a name that says that they are invented."""
    example = replace(current_policy(workspace), name=_("Example policy of the invented Vellorin network"))
    saved = save_policy(workspace, policy=example)
    on, review_by = _a_year_from_today()
    approve_policy(workspace, version=saved.version, approved_by=APPROVER, on=on, review_by=review_by)


def _approve_collecting(workspace: Workspace) -> None:
    """The example of a policy on collecting; only a workspace marked as a demonstration allows it."""
    saved = save_collection_policy(workspace, policy=example_policy())
    on, review_by = _a_year_from_today()
    approve_collection_policy(workspace, version=saved.version, approved_by=APPROVER, on=on, review_by=review_by)


def _a_year_from_today() -> tuple[date, date]:
    """Day of approval and day of review: the demonstration works on any day it is loaded."""
    today = date.today()  # noqa: DTZ011 approvals carry the local day
    return today, today + timedelta(days=365)
