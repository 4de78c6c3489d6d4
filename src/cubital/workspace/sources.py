"""What each source of files taught us: columns, settled questions, confirmed organisms."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict
from typing import Any

from cubital.domain.places import SourceMemory
from cubital.workspace import records
from cubital.workspace.opening import Workspace
from cubital.workspace.writing import note_change, one_transaction


def recall_source(workspace: Workspace, source: str, *, answers: Mapping[str, str] | None = None) -> SourceMemory:
    """What is remembered of ``source``, with fresh ``answers`` on top; empty for a new one."""
    entry = records.SourceMemory.objects.using(workspace.alias).filter(source=source).first()
    if entry is None:
        return SourceMemory(answers=dict(answers or {}))
    return SourceMemory(columns=entry.columns, answers={**entry.answers, **(answers or {})}, organisms=entry.organisms)


def list_sources(workspace: Workspace) -> tuple[str, ...]:
    """The names of all sources, in order."""
    found = records.SourceMemory.objects.using(workspace.alias).order_by("source")
    return tuple(found.values_list("source", flat=True))


def teach_source(
    workspace: Workspace,
    *,
    source: str,
    columns: Mapping[str, str] | None = None,
    answers: Mapping[str, str] | None = None,
    organisms: Mapping[str, str] | None = None,
) -> SourceMemory:
    """Adds what a person confirmed on the matching page; an empty organism key means that the text names none."""
    with one_transaction(workspace):
        known = recall_source(workspace, source)
        memory = SourceMemory(
            columns={**known.columns, **(columns or {})},
            answers={**known.answers, **(answers or {})},
            organisms={**known.organisms, **(organisms or {})},
        )
        record_source(workspace, source=source, memory=memory)
        note_change(
            workspace, action="teach_source", subject=source,
            columns=len(columns or {}), answers=len(answers or {}), organisms=len(organisms or {}),
        )  # fmt: skip
    return memory


def record_source(workspace: Workspace, *, source: str, memory: SourceMemory) -> None:
    """Stores the memory of a source; to be called inside the transaction of the change that taught it."""
    records.SourceMemory.objects.using(workspace.alias).update_or_create(source=source, defaults=plain_memory(memory))


def plain_memory(memory: SourceMemory) -> dict[str, Any]:
    """The memory as plain data, the form in which records keep it."""
    return {name: dict(value) for name, value in asdict(memory).items()}
