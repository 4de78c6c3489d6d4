"""Counts for a fair comparison from a table: sets, contaminated, the column that divides, and what is held equal."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from cubital.answers.compared_reading import ComparedCell, ComparedMaterial, Divided
from cubital.answers.compared_words import weekend_name
from cubital.answers.observation_plan import shift_name, shift_of
from cubital.answers.small_rows import Rows, counted, named_rows, whole
from cubital.domain.errors import FileProblem
from cubital.domain.words import _

_COUNTS = ("sets", "contaminated")
_CLUSTERS = ("collector", "unit")
_DIVIDED = {"role": Divided.ROLE, "method": Divided.METHOD, "crowding": Divided.CROWDING}
_BAND_HOURS = 4  # bands begin at 3, 7, 11 …, so that none lies across the change of shifts
_FIRST_BAND = 3
_PARTS = 3  # a column of many numbers, such as patients waiting, is cut into this many equal parts


def hour_band(hour: int) -> str:
    """The band of four hours that holds ``hour``: ``07–11``."""
    start = (hour - _FIRST_BAND) // _BAND_HOURS * _BAND_HOURS + _FIRST_BAND
    return f"{start % 24:02d}–{(start + _BAND_HOURS) % 24:02d}"


def parse_comparison(table: str | Iterable[Sequence[object]], *, by: str, where: str) -> ComparedMaterial:
    """The material in a table with the columns sets, contaminated, the one to divide by, and any others to hold equal.

    ``by`` is a heading, or ``shift`` (made from the column hour) or ``weekend`` (made from weekday, 1 is Monday).
    ``hour`` is held equal in bands of four hours, ``weekday`` as weekday or weekend; ``collector``, or ``unit`` where
    there is none, says whose sets resemble each other. Rows with nothing in the column ``by`` belong to no group.

    Raises ``FileProblem`` for a column that is missing and numbers that cannot be.
    """
    by = " ".join(by.casefold().replace("_", " ").split())
    source = {"shift": "hour", "weekend": "weekday"}.get(by, by)
    rows = named_rows(table, needed=(*_COUNTS, source), where=where)
    headers = [header for header in rows[0][1] if header]
    clusters = next((column for column in _CLUSTERS if column in headers and column != by), "")
    held = tuple(h for h in headers if h not in (*_COUNTS, by, source, clusters, "collector"))
    divided = Divided(by) if by in ("shift", "weekend") else _DIVIDED.get(by, Divided.OTHER)
    cut = _cut(rows, by) if by == source else {}
    timed = "hour" in headers and by != "shift"
    cells = [
        _cell(number, row, by=by, held=held, clusters=clusters, cut=cut, timed=timed, where=where)
        for number, row in rows
    ]  # fmt: skip
    return ComparedMaterial(cells=tuple(cells), by=divided, column=by, columns=held, clusters=clusters)


def _cell(
    number: int, row: dict[str, str], *, by: str, held: Sequence[str], clusters: str, cut: dict[str, str], timed: bool,
    where: str,
) -> ComparedCell:  # fmt: skip
    sets, contaminated = counted(row, number=number, where=where)
    hour = _hour(row, number=number, where=where) if timed else None
    return ComparedCell(
        group=_group(row, by, number=number, cut=cut, where=where), sets=sets, contaminated=contaminated, hour=hour,
        cluster=row.get(clusters, ""),
        stratum=tuple(_held(row, column, number=number, where=where) for column in held),
    )  # fmt: skip


def _group(row: dict[str, str], by: str, *, number: int, cut: dict[str, str], where: str) -> str:
    if by == "shift":
        hour = _hour(row, number=number, where=where)
        return "" if hour is None else shift_name(shift_of(hour))
    if by == "weekend":
        return _weekday(row, number=number, where=where)
    return cut.get(row.get(by, ""), row.get(by, ""))


def _held(row: dict[str, str], column: str, *, number: int, where: str) -> str:
    if column == "hour":
        hour = _hour(row, number=number, where=where)
        return "" if hour is None else hour_band(hour)
    return _weekday(row, number=number, where=where) if column == "weekday" else row.get(column, "")


def _hour(row: dict[str, str], *, number: int, where: str) -> int | None:
    return whole(row, "hour", number=number, where=where, most=23) if row.get("hour") else None


def _weekday(row: dict[str, str], *, number: int, where: str) -> str:
    if not row.get("weekday"):
        return ""
    day = whole(row, "weekday", number=number, where=where, most=7)
    if not day:
        raise FileProblem(
            _("row {row}: a weekday is 1 (Monday) to 7 (Sunday).").format(row=number), where=where
        )  # fmt: skip
    return weekend_name(day - 1)


def _cut(rows: Rows, by: str) -> dict[str, str]:
    """The parts of a column that holds many different numbers, by how many sets; nothing for words or few numbers."""
    sets: dict[str, int] = {}
    for _number, row in rows:
        text = row.get(by, "")
        if text and text.replace(".", "", 1).isdecimal():
            sets[text] = sets.get(text, 0) + int(row.get("sets") or 0) if (row.get("sets") or "0").isdecimal() else 0
        elif text:
            return {}
    if len(sets) <= 2 * _PARTS or not sum(sets.values()):
        return {}
    ordered, total, before = sorted(sets, key=float), sum(sets.values()), 0
    parts: list[list[str]] = [[] for _part in range(_PARTS)]
    for text in ordered:
        parts[min(_PARTS - 1, _PARTS * before // total)].append(text)
        before += sets[text]
    return {text: f"{part[0]}–{part[-1]}" for part in parts for text in part}
