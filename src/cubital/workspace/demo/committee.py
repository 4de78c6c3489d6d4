"""What the invented hospital's committee had before it: two packs a year apart, and two actions it agreed to."""

from __future__ import annotations

from datetime import date

from cubital.domain.words import _
from cubital.workspace.actions import NewAction, finish_action, list_actions, move_action, note_on_action, open_action
from cubital.workspace.demo.files import world_file_names
from cubital.workspace.demo.world import EMERGENCY, MARROWBY
from cubital.workspace.opening import Workspace
from cubital.workspace.packs import PackAsk, PackWords, list_packs, make_pack

# The first pack rests on the file of history alone: what its March file amends, the second pack restates.
FIRST_PACK_AFTER = next(
    name for name in world_file_names() if name.startswith(MARROWBY.name.lower()) and "-to-" in name
)
FIRST_MADE, SECOND_MADE = date(2025, 4, 10), date(2026, 4, 9)
MET = date(2025, 4, 14)


def make_first_pack(workspace: Workspace) -> None:
    """The pack of January to March 2025, where there is none yet."""
    if list_packs(workspace):
        return
    make_pack(
        workspace, ask=PackAsk(from_month="2025-01", to_month="2025-03", facility=MARROWBY.name), today=FIRST_MADE,
        words=PackWords(
            ask=_("To put a timer on every emergency trolley, and to watch sixty draws, a third of them at night.")
        ),
    )  # fmt: skip


def hold_committee(workspace: Workspace) -> None:
    """What was agreed after the first pack and what became of it; then the pack of a year later."""
    make_first_pack(workspace)
    if not list_actions(workspace):
        _agree(workspace)
    if len(list_packs(workspace)) < 2:
        make_pack(
            workspace, ask=PackAsk(from_month="2026-01", to_month="2026-03", facility=MARROWBY.name),
            today=SECOND_MADE,
            words=PackWords(ask=_("To keep the plan, and to give the night observations until the end of May.")),
        )  # fmt: skip


def _agree(workspace: Workspace) -> None:
    timers = open_action(
        workspace,
        action=NewAction(
            words=_("A timer on every trolley of the emergency department"), owner=_("emergency department lead"),
            due_on=date(2025, 6, 30), because=_("Watched draws: full dry time in about half."),
            facility=MARROWBY.name, unit=EMERGENCY.label, opened_on=MET,
        ),
    )  # fmt: skip
    watched = open_action(
        workspace,
        action=NewAction(
            words=_("Sixty watched draws, a third of them at night"), owner=_("practice education"),
            due_on=date(2025, 12, 19), facility=MARROWBY.name, opened_on=MET,
        ),
    )  # fmt: skip
    move_action(
        workspace, number=timers.number, due_on=date(2025, 9, 30), words=_("Supply delivers in August."),
        on=date(2025, 6, 16),
    )  # fmt: skip
    finish_action(workspace, number=timers.number, words=_("All 22 trolleys have one."), on=date(2025, 9, 22))
    note_on_action(
        workspace, number=watched.number, words=_("Forty-one by day are watched, six at night."), on=date(2025, 12, 12)
    )
    move_action(
        workspace, number=watched.number, due_on=date(2026, 5, 29), words=_("The nights are missing."),
        on=date(2025, 12, 15),
    )  # fmt: skip
