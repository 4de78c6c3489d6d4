"""What a file of ward movements was read as, in words for the page on which a person says whether it is used."""

from __future__ import annotations

from dataclasses import dataclass

from cubital.domain.errors import Question
from cubital.domain.reconciliation import Reconciliation
from cubital.domain.words import _, grouped_words
from cubital.workspace.previewing import MovementPreview


@dataclass(frozen=True, kw_only=True)
class MovementLook:
    """Everything the page says about such a file; ``account`` counts stays, and is none while a question is open."""

    questions: tuple[Question, ...]
    account: Reconciliation | None
    change: str
    notes: tuple[str, ...]


def movement_words(preview: MovementPreview) -> MovementLook:
    """A preview of movements in words."""
    return MovementLook(
        questions=preview.questions, account=preview.reconciliation, change=_change(preview), notes=preview.notes
    )


def _change(preview: MovementPreview) -> str:
    if preview.already_taken is not None:
        return _("This very file was taken in before, as batch {number}.").format(number=preview.already_taken)
    plan = preview.plan
    if plan is None:
        return ""
    words = _(
        "Using it would add {added} stays, correct {changed} and leave {unchanged} as they are; {moved} stored sets "
        "would move to another unit."
    )
    return words.format(
        added=grouped_words(plan.added), changed=grouped_words(plan.changed), unchanged=grouped_words(plan.unchanged),
        moved=grouped_words(plan.moved_sets),
    )  # fmt: skip
