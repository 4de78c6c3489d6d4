"""From a file of resources to the lines that the common way of every file reads on."""

from __future__ import annotations

import gc
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import NamedTuple

from cubital.domain.errors import FileProblem
from cubital.domain.words import _
from cubital.intake.delimited import SheetText
from cubital.intake.fhir.gathering import Export
from cubital.intake.fhir.members import open_members, refusing_damage
from cubital.intake.fhir.rows import BACKGROUND, RowMaker
from cubital.intake.fhir.streams import ResourceStream
from cubital.intake.message_rows import MessageRow, MessageSheet

UNREADABLE_SHARE = 0.5  # beyond it the file is no export at all


class ResourceTable(NamedTuple):
    """The lines of an export as a table; ``roles`` is heading to role, ``notes`` are sentences to show."""

    sheet: SheetText
    roles: dict[str, str]
    notes: tuple[str, ...]


def read_resources(path: Path, *, name: str, scratch: Path) -> ResourceTable:
    """Reads a bundle, newline-delimited JSON, or an archive of such files.

    Resources that results only point at are counted as lines, too, so that every resource of the file is accounted for.
    Raises ``FileProblem`` for another version of FHIR, for text that is no JSON, and for a file without any resource.
    """
    with MessageSheet(scratch) as sheet:
        with no_search_for_loops(), refusing_damage(name):
            notes = _write_lines(path, sheet, name)
        return ResourceTable(sheet.finish(name), dict(sheet.roles), notes)


def _write_lines(path: Path, sheet: MessageSheet, name: str) -> tuple[str, ...]:
    export = Export(name)
    notes = _gather(path, export, sheet, name)
    sheet.extend(RowMaker(export).rows())
    return notes


@contextmanager
def no_search_for_loops() -> Iterator[None]:
    """Pauses the interpreter's search for objects that hold one another: the many records here never do.

    It would look through all of them again and again, which doubles the time.
    """
    was_on = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was_on:
            gc.enable()


def _gather(path: Path, export: Export, sheet: MessageSheet, name: str) -> tuple[str, ...]:
    """Reads every resource into the export; those that hold no result become lines at once."""
    number = unreadable = 0
    later_pages = False
    for member in open_members(path, name=name):
        stream = ResourceStream(member.stream, where=member.where)
        start = number
        for sent in stream:
            number = start + sent.number
            if sent.resource is None:
                unreadable += 1
                sheet.add(MessageRow(number, reference=member.name, loss="unreadable_message"))
            elif not export.add(sent, number):
                kind = sent.resource.get("resourceType")
                reference = kind if type(kind) is str else ""
                sheet.add(MessageRow(number, reference=reference[:60], loss=BACKGROUND))
        later_pages = later_pages or stream.later_pages
    _refuse_unreadable(unreadable, number, name)
    return _notes(export, later_pages)


def _refuse_unreadable(unreadable: int, number: int, name: str) -> None:
    if unreadable > UNREADABLE_SHARE * number:
        raise FileProblem(
            _("{count} of {all} lines are no JSON.").format(count=unreadable, all=number),
            where=name,
            fix=_("Export it again, as one bundle or as one resource per line (NDJSON)."),
        )


def _notes(export: Export, later_pages: bool) -> tuple[str, ...]:
    notes = []
    if later_pages:
        notes.append(_("This is one page of a search; the pages after it are not in the file."))
    if export.findings and not export.has_specimens:
        notes.append(_("The file has results, but no Specimen: without it neither set nor collection time is sure."))
    return tuple(notes)
