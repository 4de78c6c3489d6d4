"""The invented network's cultures as feeds of HL7 v2 results, as its laboratories' systems would send them.

A feed tells what the laboratories' tables tell, report by report, so that both must lead to the same sets. The three
hospitals write differently, as real ones do: 2.5.1 with a specimen segment, 2.3 with none and its own character set,
2.8 in a batch with its own separators.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import datetime
from itertools import groupby
from pathlib import Path

from cubital.workspace.demo.draws import LOCAL
from cubital.workspace.demo.layouts import LAYOUTS, Report, Row
from cubital.workspace.demo.organisms import GROWERS
from cubital.workspace.demo.world import Hospital

BLOOD_CULTURE = ("600-7", "Bacteria identified in Blood by Culture", "LN")
FOREIGN_EVERY = 331  # every so many accessions, a feed of Orrin Quay brings a specimen of another kind
_BOTTLES = {
    "AER": ("17928-3", "Bacteria identified in Blood by Aerobe culture", "LN"),
    "ANA": ("17934-1", "Bacteria identified in Blood by Anaerobe culture", "LN"),
    "PED": ("PEDBC", "Paediatric blood culture", "L"),
}
_LETTERS = {
    "preliminary": "P", "final": "F", "corrected": "C", "cancelled": "X", "rejected": "X", "p": "P", "f": "F",
    "c": "C", "x": "X", "r": "X",
}  # fmt: skip


@dataclass(frozen=True, kw_only=True)
class Dialect:
    """How one laboratory's system writes: version, line end, separators (field, then MSH-2), character set.

    ``columns`` are the places of the cells in its table; ``between`` stands between two organisms in one cell.
    """

    version: str
    line_end: str
    signs: tuple[str, str, str, str, str]
    codec: str
    charset: str
    columns: dict[str, int]
    between: str
    specimen_segment: bool = True
    batch: bool = False


def _columns(key: str, **headings: str) -> dict[str, int]:
    return {name: LAYOUTS[key].header.index(heading) for name, heading in headings.items()}


_USUAL = ("|", "^", "~", "\\", "&")
DIALECTS = {
    "M": Dialect(
        version="2.5.1", line_end="\r", signs=_USUAL, codec="utf-8", charset="UNICODE UTF-8", between="; ",
        columns=_columns("M", accession="ACC_NO", birth="DOB", unit="LOC", bottle="BOTTLE", site="SITE",
                         collector="COLLECTOR", status="STATUS", result="RESULT"),
    ),
    "T": Dialect(
        version="2.3", line_end="\r\n", signs=_USUAL, codec="cp1252", charset="8859/1", between=" / ",
        specimen_segment=False,
        columns=_columns("T", accession="Accession", birth="Birth", unit="Ward", collector="Drawn by",
                         status="Status", result="Organism"),
    ),
    "O": Dialect(
        version="2.8", line_end="\r", signs=("#", ":", "+", "?", "*"), codec="utf-8", charset="UNICODE UTF-8",
        between="\n", batch=True,
        columns=_columns("O", accession="Specimen ID", birth="Date of birth", unit="Location", site="Body site",
                         collector="Collected by", status="Result status", isolate="Isolate",
                         result="Organism identified"),
    ),
}  # fmt: skip


class FeedWriter:
    """Writes segments in a hospital's dialect; ``offsets`` puts the offset from UTC behind every time."""

    def __init__(self, hospital: Hospital, *, offsets: bool = False) -> None:
        self.dialect = DIALECTS[hospital.key]
        self.hospital = hospital.full_name
        self.offsets = offsets
        self.field, self.component, self.repetition, self.escape, self.subcomponent = self.dialect.signs
        self._escapes = str.maketrans(
            {
                self.escape: f"{self.escape}E{self.escape}",
                self.field: f"{self.escape}F{self.escape}",
                self.component: f"{self.escape}S{self.escape}",
                self.repetition: f"{self.escape}R{self.escape}",
                self.subcomponent: f"{self.escape}T{self.escape}",
            }
        )

    def segment(self, name: str, fields: dict[int, str]) -> str:
        """A segment from its fields by number, already escaped."""
        last = max(fields, default=0)
        return self.field.join([name, *(fields.get(number, "") for number in range(1, last + 1))])

    def parts(self, *texts: str) -> str:
        """A field of several components."""
        return self.component.join(text.translate(self._escapes) for text in texts).rstrip(self.component)

    def time(self, moment: datetime | None) -> str:
        if moment is None:
            return ""
        wall = moment.astimezone(LOCAL)
        return f"{wall:%Y%m%d%H%M}" + (f"{wall:%z}" if self.offsets else "")

    def header(self, control: str, sent: datetime) -> str:
        fields = {
            3: self.parts("LIS"), 4: self.parts(self.hospital), 5: self.parts("QUALITY"), 6: self.parts(self.hospital),
            7: self.time(sent), 9: self.parts("ORU", "R01", *(["ORU_R01"] if self.dialect.version > "2.3" else [])),
            10: self.parts(control), 11: "P", 12: self.dialect.version, 18: self.dialect.charset,
        }  # fmt: skip
        rest = self.segment("", fields).split(self.field)[3:]
        return self.field.join([f"MSH{''.join(self.dialect.signs)}", *rest])


def write_hl7_feed(path: Path, reports: Iterable[Report], *, offsets: bool = False, doubled: int = 0) -> Path:
    """Writes the messages of one hospital's ``reports``; every ``doubled``-th accession sends its last one again.

    ``offsets`` writes every time with its offset from UTC, which no table of the laboratories has.
    """
    waiting = iter(reports)
    first = next(waiting)
    writer = FeedWriter(first.draw.hospital, offsets=offsets)
    dialect = writer.dialect
    count = 0
    with path.open("w", encoding=dialect.codec, newline="") as stream:
        if dialect.batch:
            stream.write(_envelope("FHS", dialect) + _envelope("BHS", dialect))
        for report in (first, *waiting):
            messages = list(messages_of(report, writer))
            if dialect.batch and report.draw.accession % FOREIGN_EVERY == 0:
                messages.append(_foreign_message(report, writer))
            if doubled and report.draw.accession % doubled == 0:
                messages.append(messages[-1])
            stream.write("".join(messages))
            count += len(messages)
        if dialect.batch:
            stream.write(f"BTS{dialect.signs[0]}{count}{dialect.line_end}FTS{dialect.signs[0]}1{dialect.line_end}")
    return path


def _foreign_message(report: Report, writer: FeedWriter) -> str:
    """A culture of something else, which a careless feed brings along."""
    draw = report.draw
    test, time = writer.parts("UCX", "Urine culture", "L"), writer.time(draw.collected)
    segments = [
        writer.header(f"{draw.hospital.key}9{draw.accession}", draw.received),
        writer.segment("PID", {1: "1", 3: writer.parts(str(draw.patient))}),
        writer.segment("OBR", {1: "1", 3: writer.parts(f"9{draw.accession}"), 4: test, 7: time, 25: "F"}),
        writer.segment("OBX", {1: "1", 2: "ST", 3: test, 5: "No growth", 11: "F"}),
        writer.segment("SPM", {1: "1", 4: writer.parts("UR", "Urine", "HL70487")}),
    ]  # fmt: skip
    return writer.dialect.line_end.join([*segments, ""])


def _envelope(name: str, dialect: Dialect) -> str:
    return f"{name}{''.join(dialect.signs)}{dialect.line_end}"


def messages_of(report: Report, writer: FeedWriter) -> Iterator[str]:
    """One message per state of the report: the stain, then the result."""
    columns = writer.dialect.columns
    rows = LAYOUTS[report.draw.hospital.key].rows(report)
    by_status = sorted(rows, key=lambda row: _letter(row, columns) != "P")
    for number, (letter, states) in enumerate(groupby(by_status, key=lambda row: _letter(row, columns)), start=1):
        segments = _segments(report, list(states), letter, writer=writer, number=number)
        yield writer.dialect.line_end.join([*segments, ""])


def _letter(row: Row, columns: dict[str, int]) -> str:
    return _LETTERS[str(row[columns["status"]]).lower()]


def _segments(report: Report, rows: list[Row], letter: str, *, writer: FeedWriter, number: int) -> Iterator[str]:
    draw, first = report.draw, rows[0]
    cells = {name: first[place] for name, place in writer.dialect.columns.items()}
    accession = str(cells["accession"])
    yield writer.header(f"{draw.hospital.key}{draw.accession}-{number}", draw.received)
    yield writer.segment("PID", {1: "1", 3: writer.parts(str(draw.patient), "", "", draw.hospital.name, "MR"),
                                 7: _birth(cells["birth"])})  # fmt: skip
    yield writer.segment("PV1", {1: "1", 2: "I", 3: writer.parts(str(cells["unit"]))})
    yield writer.segment("ORC", {1: "RE", 3: writer.parts(accession)})
    yield writer.segment("OBR", _request(report, accession, str(cells["collector"]), letter=letter, writer=writer))
    observations = [one for row in rows for one in _observations(row, writer)]
    for place, (test, isolate, kind, value) in enumerate(observations, start=1):
        fields = {1: str(place), 2: kind, 3: writer.parts(*test), 4: isolate, 5: value, 11: letter}
        yield writer.segment("OBX", fields)
    if writer.dialect.specimen_segment:
        yield _specimen(report, str(cells.get("site", "")), writer)


def _birth(cell: object) -> str:
    if isinstance(cell, datetime):
        return f"{cell:%Y%m%d}"
    parts = str(cell).replace("/", "-").split("-")
    return "".join(parts if len(parts[0]) == 4 else reversed(parts))


def _request(report: Report, accession: str, collector: str, *, letter: str, writer: FeedWriter) -> dict[int, str]:
    """OBR; without a specimen segment it also says what was sent, in the field of old versions."""
    draw = report.draw
    source = {} if writer.dialect.specimen_segment else {15: writer.parts("BLD")}
    return {
        1: "1", 3: writer.parts(accession), 4: writer.parts(*BLOOD_CULTURE), 7: writer.time(draw.stated_collected),
        10: writer.parts(collector), 14: writer.time(draw.received), **source, 25: letter,
    }  # fmt: skip


def _specimen(report: Report, site: str, writer: FeedWriter) -> str:
    draw = report.draw
    fields = {
        1: "1", 4: writer.parts("BLD", "Whole blood", "HL70487"), 8: writer.parts("", site, "L") if site else "",
        17: writer.time(draw.stated_collected), 18: writer.time(draw.received),
    }  # fmt: skip
    return writer.segment("SPM", fields)


def _observations(row: Row, writer: FeedWriter) -> Iterator[tuple[tuple[str, str, str], str, str, str]]:
    """OBX-3, OBX-4, the type and the value of each result in a row: organisms coded by name, everything else text."""
    columns = writer.dialect.columns
    test = _BOTTLES[str(row[columns["bottle"]])] if "bottle" in columns else BLOOD_CULTURE
    isolate = str(row[columns["isolate"]]) if "isolate" in columns else ""
    for text in str(row[columns["result"]]).split(writer.dialect.between):
        if text in _SPELLINGS:
            yield test, isolate, "CWE", writer.parts("", text, "L")
        else:
            yield test, isolate, "ST", writer.parts(text)


_SPELLINGS = frozenset(spelling for grower in GROWERS.values() for spelling in grower.spellings)
