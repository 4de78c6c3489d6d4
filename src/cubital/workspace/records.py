"""The record tables, importable first and by anyone: Django is set up on the way in."""

from __future__ import annotations

from cubital.workspace.opening import prepare_django

prepare_django()

from cubital.workspace.models import (  # noqa: E402 - models can only be imported once Django is set up
    ActionStep,
    AuditLine,
    Baseline,
    Batch,
    CareSetting,
    CharterRecord,
    CollectionPolicyRecord,
    CommitteePack,
    Compaction,
    CostTable,
    DiaryEntry,
    Facility,
    FeedbackLetter,
    KeptReceipt,
    LastPlace,
    LeftTable,
    LotStay,
    PlannedAction,
    PolicyRecord,
    Promise,
    SetDispute,
    SourceMemory,
    StaffMember,
    StaffStay,
    TrialLook,
    TrialProtocol,
    UnitName,
    UnitRename,
)

__all__ = [
    "ActionStep",
    "AuditLine",
    "Baseline",
    "Batch",
    "CareSetting",
    "CharterRecord",
    "CollectionPolicyRecord",
    "CommitteePack",
    "Compaction",
    "CostTable",
    "DiaryEntry",
    "Facility",
    "FeedbackLetter",
    "KeptReceipt",
    "LastPlace",
    "LeftTable",
    "LotStay",
    "PlannedAction",
    "PolicyRecord",
    "Promise",
    "SetDispute",
    "SourceMemory",
    "StaffMember",
    "StaffStay",
    "TrialLook",
    "TrialProtocol",
    "UnitName",
    "UnitRename",
]
