"""From a path to tables of text with a header, whatever the file is."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path

from cubital.domain.errors import FileProblem, Question
from cubital.domain.places import SourceMemory
from cubital.domain.words import _
from cubital.intake.delimited import SheetText, find_table
from cubital.intake.roles import header_score
from cubital.intake.source_files import FileKind, SourceFile, open_source
from cubital.intake.text_files import copy_as_utf8
from cubital.intake.workbooks import read_workbook


@dataclass(frozen=True, kw_only=True)
class OpenedFile:
    """The readable tables of one file and how they were found.

    ``lines`` is counted for text files only; ``marked`` is false when neither ``=`` nor ``#`` occurs in the file.
    ``left_out`` names sheets without a usable table and how many rows they have. ``roles`` says what the columns are
    (heading to role) where the kind of file fixes it and nothing need be recognised; ``questions`` are what a reader of
    messages could not settle, such as a laboratory's own code.
    """

    name: str
    kind: FileKind
    encoding: str
    sheets: tuple[SheetText, ...]
    left_out: tuple[tuple[str, int], ...] = ()
    notes: tuple[str, ...] = ()
    lines: int = 0
    marked: bool = True
    roles: Mapping[str, str] = field(default_factory=dict)
    questions: tuple[Question, ...] = ()

    @property
    def main(self) -> SheetText:
        """The sheet whose header decides."""
        return self.sheets[0]


def open_file(path: Path, scratch: Path, *, memory: SourceMemory | None = None) -> OpenedFile:
    """Opens a text file, a gzipped one, a workbook or a file of messages.

    ``memory`` holds what the source said of its own codes; only messages need it.
    Raises ``FileProblem`` for everything that is no table; see ``source_files``, ``text_files``, ``delimited`` and
    ``workbooks`` for each.
    """
    source = open_source(path, scratch)
    if source.kind is FileKind.MESSAGES:
        return _open_messages(source, scratch, memory.answers if memory else {})
    if source.kind is FileKind.RESOURCES:
        return _open_resources(source, scratch)
    if source.kind is FileKind.WORKBOOK:
        sheets, left_out = read_workbook(source, scratch)
        return OpenedFile(
            name=source.name,
            kind=source.kind,
            encoding="",
            sheets=sheets,
            left_out=left_out,
            notes=source.notes + tuple(_sheet_notes(left_out)),
        )
    copy = copy_as_utf8(source, scratch)
    sheet = find_table(copy.path, name=source.name, score=header_score)
    _refuse_one_column(sheet, source.name)
    return OpenedFile(
        name=source.name,
        kind=source.kind,
        encoding=copy.encoding,
        sheets=(sheet,),
        notes=source.notes,
        lines=copy.lines,
        marked=copy.marked,
    )


def _open_messages(source: SourceFile, scratch: Path, answers: Mapping[str, str]) -> OpenedFile:
    """HL7 v2, through ``intake.hl7``."""
    from cubital.intake.hl7.reading import read_message_file

    table = read_message_file(source.path, name=source.name, scratch=scratch, answers=answers)
    return OpenedFile(
        name=source.name,
        kind=source.kind,
        encoding="",
        sheets=(table.sheet,),
        notes=source.notes + table.notes,
        marked=False,
        roles=table.roles,
        questions=table.questions,
    )


def _open_resources(source: SourceFile, scratch: Path) -> OpenedFile:
    """FHIR, through ``intake.fhir``."""
    from cubital.intake.fhir.reading import read_resources

    table = read_resources(source.path, name=source.name, scratch=scratch)
    return OpenedFile(
        name=source.name,
        kind=source.kind,
        encoding="utf-8",
        sheets=(table.sheet,),
        notes=source.notes + table.notes,
        marked=False,
        roles=table.roles,
    )


def _sheet_notes(left_out: tuple[tuple[str, int], ...]) -> list[str]:
    return [
        _("Sheet '{sheet}' holds no table of this kind; it was not read.").format(sheet=name) for name, _n in left_out
    ]


def _refuse_one_column(sheet: SheetText, name: str) -> None:
    if len(sheet.headers) < 2:
        raise FileProblem(
            _("every row is one single cell: nothing separates the columns, or something unusual does."),
            where=name,
            fix=_("Export it with commas, semicolons, tabs or bars between the columns, or as XLSX."),
        )
