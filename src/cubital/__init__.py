"""Cubital: how blood is collected for culture, from the laboratory's file to the sentence for the meeting.

Everything that the command line and the pages do is here for Python too::

    import cubital

    with cubital.open_workspace("a folder") as workspace:
        cubital.take_file(workspace, file="marrowby.csv", facility="Marrowby General", timezone="America/Chicago")
        print(cubital.month_answer(workspace, month="2025-11").sentence)

Names are loaded when they are first used, so that ``import cubital`` costs nothing.
"""

from __future__ import annotations

from importlib import import_module
from typing import Any

__version__ = "0.1.0"

PUBLIC = {
    "open_workspace": "cubital.workspace.opening",
    "take_file": "cubital.workspace.taking",
    "preview_file": "cubital.workspace.taking",
    "take_movements": "cubital.workspace.moving",
    "rename_unit": "cubital.workspace.units",
    "list_batches": "cubital.workspace.batches",
    "month_answer": "cubital.workspace.months",
    "signal_answer": "cubital.workspace.months",
    "ask_counts": "cubital.workspace.signals",
    "ask_place": "cubital.workspace.signals",
    "lock_baseline": "cubital.workspace.baselines",
    "list_baselines": "cubital.workspace.baselines",
    "propose_new_baseline": "cubital.workspace.baselines",
    "list_entries": "cubital.workspace.diary",
    "note_entry": "cubital.workspace.diary",
    "correct_entry": "cubital.workspace.diary",
    "withdraw_entry": "cubital.workspace.diary",
    "import_diary": "cubital.workspace.diary_import",
    "diary_answer": "cubital.workspace.diary_answers",
    "did_answer": "cubital.workspace.did_answers",
    "did_of_counts": "cubital.workspace.did_answers",
    "attendance_answer": "cubital.workspace.did_answers",
    "keep_receipt": "cubital.workspace.receipts",
    "again": "cubital.workspace.reproducing",
    "reconciled_answer": "cubital.workspace.reconciled_lists",
    "people_answer": "cubital.workspace.people",
    "import_roster": "cubital.workspace.staff",
    "run_bench": "cubital.workspace.judging",
    "current_charter": "cubital.workspace.charters",
    "save_charter": "cubital.workspace.charters",
    "sign_charter": "cubital.workspace.charters",
    "published_charters": "cubital.reference.charters",
    "current_policy": "cubital.workspace.policies",
    "export_sets": "cubital.workspace.exports",
    "export_month_snapshot": "cubital.workspace.freezing",
    "make_pack": "cubital.workspace.packs",
    "list_packs": "cubital.workspace.packs",
    "print_pack": "cubital.workspace.packs",
    "build_minute": "cubital.workspace.minutes",
    "write_minute": "cubital.workspace.minutes",
    "open_action": "cubital.workspace.actions",
    "list_actions": "cubital.workspace.actions",
    "action_log_answer": "cubital.workspace.actions",
    "print_unit": "cubital.workspace.printing",
    "print_charter": "cubital.workspace.printing",
    "read_result": "cubital.intake.results",
    "answer_plan": "cubital.bedside.answering",
    "answer_split": "cubital.bedside.answering",
    "answer_stop_line": "cubital.bedside.fill_answer",
    "answer_label": "cubital.bedside.label_answer",
    "read_policy": "cubital.bedside.policy_file",
    "example_policy": "cubital.bedside.policy_file",
}
"""Each public name and the module that holds it."""

__all__ = ["PUBLIC", "__version__", *PUBLIC]  # noqa: PLE0604 -- the names are in the table above


def __getattr__(name: str) -> Any:
    if name in PUBLIC:
        return getattr(import_module(PUBLIC[name]), name)
    raise AttributeError(f"cubital has no '{name}'; it has: {', '.join(PUBLIC)}")


def __dir__() -> list[str]:
    return sorted({*globals(), *PUBLIC})
