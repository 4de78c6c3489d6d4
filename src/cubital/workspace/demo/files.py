"""Writes the invented network's files, as its laboratories would send them.

Per hospital there is one file of history, closed at the end of February 2026, and one for March. The March files
carry the last days of February again, now final, and the corrections that came in meanwhile.
"""

from __future__ import annotations

import csv
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from pathlib import Path

from cubital.workspace.demo.draws import LOCAL, Draw, draw_world
from cubital.workspace.demo.layouts import LAYOUTS, Report, Row
from cubital.workspace.demo.mess import Stay, as_first_reported, spoil
from cubital.workspace.demo.messages import write_messages
from cubital.workspace.demo.truth import TrueSet, build_truth
from cubital.workspace.demo.world import DEFAULT_SEED, HOSPITALS, TIMEZONE, Hospital

HISTORY_ENDS = date(2026, 2, 28)
MARCH_ENDS = date(2026, 3, 31)
OVERLAP = timedelta(days=2)  # a monthly export starts a little before the month, to be sure
INCUBATION = timedelta(days=3)  # negative sets younger than this are still preliminary when the file is made
DOUBLED_ROW = 397  # every so many accessions, an export repeats a row
MOVEMENTS_NAME = "marrowby-movements.csv"  # only Marrowby keeps them
FOREIGN_SPECIMENS = ("Urine", "Cerebrospinal fluid", "Wound swab")


@dataclass(frozen=True, kw_only=True)
class WorldFile:
    """One file to take in: where it lies, whose it is, and whether it lists cultures or ward movements."""

    path: Path
    facility: str
    timezone: str
    kind: str  # "cultures" or "movements"


@dataclass(frozen=True, kw_only=True)
class WrittenWorld:
    """The files in the order in which they should be taken in, and the truth about every set.

    ``messages`` say of March what the files say; none unless they were asked for.
    """

    files: tuple[WorldFile, ...]
    truth: tuple[TrueSet, ...]
    messages: tuple[WorldFile, ...] = ()


def _names(hospital: Hospital) -> tuple[str, str]:
    """The names of a hospital's two files of cultures: history, March."""
    stem = hospital.name.lower().replace(" ", "-")
    suffix = "xlsx" if hospital.key == "O" else "csv"
    return f"{stem}-2024-04-to-2026-02.{suffix}", f"{stem}-2026-03.{suffix}"


def world_file_names() -> tuple[str, ...]:
    """The names of every file of the network, in the order in which they are taken in."""
    return (MOVEMENTS_NAME, *(name for hospital in HOSPITALS for name in _names(hospital)))


def write_world(folder: Path, *, seed: int = DEFAULT_SEED, messages: Path | None = None) -> WrittenWorld:
    """Writes every file of the network into ``folder``, which must exist. The truth is given back, not written.

    March goes once more, as messages, into the folder ``messages`` where one is named.
    """
    files: list[WorldFile] = []
    sent: list[WorldFile] = []
    truth: list[TrueSet] = []
    for hospital, draws in zip(HOSPITALS, draw_world(seed), strict=True):
        stays = spoil(draws, hospital, seed=seed)
        if stays:
            movements = _write_movements(folder / MOVEMENTS_NAME, stays)
            files.append(_world_file(movements, hospital, "movements"))
        for name, reports in zip(_names(hospital), (_history(draws), _march(draws)), strict=True):
            files.append(_world_file(_write_cultures(folder / name, hospital, reports), hospital, "cultures"))
        if messages is not None:
            sent.append(_world_file(write_messages(messages, hospital, list(_march(draws))), hospital, "cultures"))
        truth += build_truth(draws)
    return WrittenWorld(files=tuple(files), truth=tuple(truth), messages=tuple(sent))


def _world_file(path: Path, hospital: Hospital, kind: str) -> WorldFile:
    return WorldFile(path=path, facility=hospital.name, timezone=TIMEZONE, kind=kind)


def _history(draws: Iterable[Draw]) -> Iterator[Report]:
    for draw in draws:
        if draw.local.date() <= HISTORY_ENDS:
            yield _report(draw, as_first_reported(draw, HISTORY_ENDS), ends=HISTORY_ENDS)


def _march(draws: Iterable[Draw]) -> Iterator[Report]:
    for draw in draws:
        day = draw.local.date()
        if day > HISTORY_ENDS - OVERLAP:
            yield _report(draw, tuple(draw.organisms), ends=MARCH_ENDS)
        elif draw.first_report is not None:
            yield Report(draw=draw, status="corrected", organisms=tuple(draw.organisms))


def _report(draw: Draw, organisms: tuple[str, ...], *, ends: date) -> Report:
    if draw.call_off:
        return Report(draw=draw, status=draw.call_off.partition(" ")[0].lower(), organisms=())
    young = draw.local.date() > ends - INCUBATION
    status = "preliminary" if young and not organisms else "final"
    return Report(draw=draw, status=status, organisms=organisms, with_stain=True)


def _write_cultures(path: Path, hospital: Hospital, reports: Iterable[Report]) -> Path:
    layout = LAYOUTS[hospital.key]
    rows: list[Row] = []
    for report in reports:
        written = layout.rows(report)
        rows += written
        if report.draw.accession % DOUBLED_ROW == 0 and report.draw.local.date() <= HISTORY_ENDS - OVERLAP:
            rows.append(written[-1])
    if path.suffix == ".xlsx":
        return _write_workbook(path, hospital, layout.header, rows)
    if hospital.key == "T":  # an old Windows export: semicolons and its own code page
        return _write_text(path, layout.header, rows, delimiter=";", encoding="cp1252")
    return _write_text(path, layout.header, rows, delimiter=",", encoding="utf-8")


def _write_text(path: Path, header: Sequence[str], rows: Iterable[Row], *, delimiter: str, encoding: str) -> Path:
    with path.open("w", newline="", encoding=encoding) as handle:
        writer = csv.writer(handle, delimiter=delimiter)
        writer.writerow(header)
        writer.writerows(rows)
    return path


def _write_workbook(path: Path, hospital: Hospital, header: Sequence[str], rows: Sequence[Row]) -> Path:
    """A workbook with a cover sheet and two lines above the header, as reporting tools like to write them."""
    import xlsxwriter

    options = {"constant_memory": True, "default_date_format": "dd/mm/yyyy hh:mm"}
    with xlsxwriter.Workbook(str(path), options) as book:
        book.set_properties(
            {"created": datetime.combine(date(2026, 4, 2), time.min)}
        )  # the same file whenever it is written
        cover = book.add_worksheet("Read me")
        cover.write(0, 0, f"{hospital.full_name}: blood cultures. Practice data about an invented hospital.")
        sheet = book.add_worksheet("Cultures")
        sheet.write(0, 0, f"{hospital.full_name} - blood culture extract")
        sheet.write_row(2, 0, header)
        for number, row in enumerate((*rows, *_foreign_rows(rows)), start=3):
            _write_row(sheet, number, row)
    return path


def _write_row(sheet: object, number: int, row: Row) -> None:
    for place, cell in enumerate(row):
        if cell == "":
            continue
        if isinstance(cell, datetime):
            sheet.write_datetime(number, place, cell)  # type: ignore[attr-defined]
        else:
            sheet.write(number, place, cell)  # type: ignore[attr-defined]


def _foreign_rows(rows: Sequence[Row]) -> Iterator[Row]:
    """A few specimens of another kind, which a careless extract brings along."""
    for number, row in enumerate(rows[:: max(1, len(rows) // 12)]):
        yield (f"9{row[0]}", FOREIGN_SPECIMENS[number % 3], *row[2:9], "Final", "", "No growth")


def _write_movements(path: Path, stays: Sequence[Stay]) -> Path:
    with path.open("w", newline="", encoding="utf-8") as handle:
        writer = csv.writer(handle)
        writer.writerow(("MRN", "UNIT", "FROM_DT", "TO_DT"))
        for stay in stays:
            times = (moment.astimezone(LOCAL).strftime("%Y-%m-%d %H:%M") for moment in (stay.arrived, stay.left))
            writer.writerow((str(stay.patient), stay.unit, *times))
    return path
