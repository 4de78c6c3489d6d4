"""The diary of the invented network: what changed where, as an educator would have noted it."""

from __future__ import annotations

from datetime import date

from cubital.answers.diary_entry import Draft, diary_text
from cubital.domain.diary import ChangeKind
from cubital.workspace.demo.world import EMERGENCY, MARROWBY, THISTLECOMBE
from cubital.workspace.diary import list_entries
from cubital.workspace.diary_import import import_diary
from cubital.workspace.opening import Workspace

NOTED_BY = "practice educator"
STARTED = date(2025, 10, 1)
# None of these has an effect in the invented cultures: whoever asks whether the kit worked finds chance and company.
# Kit and phlebotomists began on one day at one unit and apart at two others, so that they can be told apart only there.
CHANGES = (
    Draft(
        kind=ChangeKind.TRAINING, on=date(2024, 9, 9), until=date(2024, 9, 13), facility=MARROWBY.name,
        words="Refresher week: skin preparation, drying time, order of draw",
    ),
    Draft(
        kind=ChangeKind.ANALYSER, on=date(2024, 11, 4), facility=THISTLECOMBE.name,
        words="New analyser and incubation in the laboratory",
    ),
    Draft(kind=ChangeKind.POLICY, on=date(2025, 4, 1), words="Policy on collecting: two sets from two sites"),
    Draft(
        kind=ChangeKind.KIT, on=STARTED, facility=MARROWBY.name, unit=EMERGENCY.label,
        words="Collection kit in use",
    ),
    Draft(
        kind=ChangeKind.STAFFING, on=STARTED, facility=MARROWBY.name, unit=EMERGENCY.label,
        words="Phlebotomists collect from 07:00 to 19:00",
    ),
    Draft(
        kind=ChangeKind.KIT, on=STARTED, facility=MARROWBY.name, unit="SHORT STAY", words="Collection kit in use",
    ),
    Draft(
        kind=ChangeKind.STAFFING, on=STARTED, facility=THISTLECOMBE.name, unit="A&E",
        words="Phlebotomists collect from 07:00 to 19:00",
    ),
    Draft(
        kind=ChangeKind.FEEDBACK, on=date(2026, 1, 19), facility=MARROWBY.name,
        words="Units see their own months on the wall",
    ),
)  # fmt: skip


def keep_demo_diary(workspace: Workspace) -> None:
    """Notes the network's changes where nothing is noted yet."""
    if not any(entry.number for entry in list_entries(workspace)):
        import_diary(workspace, diary_text(CHANGES), noted_by=NOTED_BY)
