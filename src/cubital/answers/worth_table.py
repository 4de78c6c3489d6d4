"""Reads a hand-kept table of inputs, and writes one; every problem of the table is said at once."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from difflib import get_close_matches

from cubital.answers.hand_tables import Columns, HandRow, hand_rows, refuse_problems
from cubital.answers.worth_inputs import INDEX, KNOWN, input_label, kinds_of
from cubital.domain.costs import MONEY, CostInput, CostTable, InputKind, Origin, RangeShape, input_problems
from cubital.domain.errors import FileProblem
from cubital.domain.words import _, choose_language, current_language

HEADINGS = (
    "option", "input", "low", "likely", "high", "unit", "kind", "from", "currency", "year", "source", "given by",
    "shape",
)  # fmt: skip
_NUMBER = re.compile(r"(\d[\d\u00a0\u202f ]*)([.,]\d+)?\s*(%?)")
_DOUBTFUL = re.compile(r"(?!0[.,])\d{1,3}[.,]\d{3}")


@dataclass
class _Building:
    """What has been read so far."""

    inputs: list[CostInput]
    index: dict[int, float]
    index_source: str
    names: set[str]


def cost_columns() -> Columns:
    """What the columns may be called, in English and in the current language."""
    return Columns(
        names={
            "input": ("entrada", "dato", "name"), "option": ("choice", "opción"), "low": ("mínimo", "bajo"),
            "likely": ("value", "probable", "valor"), "high": ("máximo", "alto"), "unit": ("unidad",),
            "kind": ("clase", "tipo"), "from": ("origin", "origen"), "currency": ("moneda",), "year": ("año",),
            "source": ("fuente",), "given by": ("who gave it", "dado por", "quién lo dio"), "shape": ("forma",),
        },
        needed=("input", "likely", "source"),
        advice=_(
            "Give one row per input with the columns input, low, likely, high, unit, kind, from, currency, year, "
            "source, given by; option where there are several choices."
        ),
    )  # fmt: skip


def parse_costs(rows: Iterable[Sequence[object]], *, where: str) -> CostTable:
    """The table of inputs in ``rows``. One ``FileProblem`` names every row that is wrong and what to do."""
    columns = cost_columns()
    found = hand_rows(([_plain(cell) for cell in row] for row in rows), columns, where=where)
    building = _Building(inputs=[], index={}, index_source="", names=set())
    known = _known_names()
    for row in found:
        _read_row(row, building, known)
    refuse_problems(found, where=where, advice=columns.advice)
    index = tuple(sorted(building.index.items()))
    return CostTable(inputs=tuple(building.inputs), index=index, index_source=building.index_source)


def read_input_cells(key: str, cells: Mapping[str, str]) -> tuple[CostInput | None, tuple[str, ...]]:
    """One input from texts by column, and what is wrong with it in words, as for a row of a table."""
    row = HandRow(number=0, cells=cells)
    found = _read_input(row, key)
    start = _("row {row}: {words}").format(row=0, words="")
    return found, tuple(words.removeprefix(start) for words in row.problems)


def cost_rows(table: CostTable) -> list[list[str]]:
    """The table as rows of text with its headings, such that ``parse_costs`` reads the same table from it."""
    rows = [list(HEADINGS)]
    for one in table.inputs:
        low, high = ("", "") if one.is_fixed else (exact_words(one.low), exact_words(one.high))
        rows.append([
            one.option, input_label(one.key), low, exact_words(one.likely), high, one.unit, one.kind.value,
            one.origin.value, one.currency, str(one.year or ""), one.source, one.given_by,
            "" if one.is_fixed else one.shape.value,
        ])  # fmt: skip
    for year, value in table.index:
        rows.append(
            ["", input_label(INDEX), "", exact_words(value), "", "", "", "", "", str(year), table.index_source, "", ""]
        )
    return rows


def exact_words(value: float) -> str:
    """Every digit of the number, without an exponent, and never such that it may be read as thousands."""
    text = format(Decimal(repr(float(value))), "f")
    text = text.removesuffix(".0")
    return f"{text}0" if _DOUBTFUL.fullmatch(text) else text


def _plain(cell: object) -> object:
    """A number of a workbook's cell is no doubtful text: written so that it stays what it is."""
    return exact_words(cell) if isinstance(cell, float) and not cell.is_integer() else cell


def _known_names() -> Mapping[str, str]:
    """Every way of writing an input, folded, to its key; both languages."""
    names = {key.replace("_", " "): key for key in (*KNOWN, INDEX)}
    before = current_language()
    try:
        for language in ("en", "es"):
            choose_language(language)
            names |= {input_label(key).casefold(): key for key in (*KNOWN, INDEX)}
    finally:
        choose_language(before)
    return names


def _unknown_words(text: str) -> str:
    """That an input is not known, with the few that look most like it; with all of them where none does."""
    labels = [input_label(one) for one in KNOWN]
    near = get_close_matches(text.casefold(), labels, n=3, cutoff=0.5)
    if near:
        return _("'{text}' is no input that is known here; meant may be: {names}").format(
            text=text[:60], names=", ".join(near)
        )
    return _("'{text}' is no input that is known here; known are {names}").format(
        text=text[:60], names=", ".join(labels)
    )


def _read_row(row: HandRow, building: _Building, known: Mapping[str, str]) -> None:
    text = row.text("input", needed=True)
    key = known.get(" ".join(text.casefold().replace("_", " ").split()))
    if key is None:
        if text:
            row.complain(_unknown_words(text))
        return
    if key == INDEX:
        _read_index(row, building)
        return
    found = _read_input(row, key)
    if found is None:
        return
    if found.name in building.names:
        row.complain(_("'{name}' is given twice").format(name=input_label(key)))
    building.names.add(found.name)
    building.inputs.append(found)


def _read_index(row: HandRow, building: _Building) -> None:
    year, value = _year(row), _value(row, "likely")
    if year is None or value is None or value <= 0:
        row.complain(_("a price index needs a year, and a value above 0 in the column likely"))
    elif year in building.index:
        row.complain(_("the price index of {year} is given twice").format(year=year))
    elif not row.text("source", needed=True):
        return
    else:
        building.index[year] = value
        building.index_source = row.text("source")


def _read_input(row: HandRow, key: str) -> CostInput | None:
    kind, origin = _kind(row, key), _origin(row)
    likely = _value(row, "likely")
    low, high = (_value(row, role, may_lack=True) for role in ("low", "high"))
    year = _year(row)
    shape = _shape(row, ranged=low is not None)
    if (low is None) != (high is None):
        row.complain(_("low and high belong together: give both, or neither where the value is known"))
    if row.problems or kind is None or origin is None or likely is None or shape is None:
        return None
    values = {
        "key": key, "option": row.text("option"), "low": likely if low is None else low, "likely": likely,
        "high": likely if high is None else high, "unit": row.text("unit"), "kind": kind, "origin": origin,
        "source": row.text("source"), "given_by": row.text("given by"), "currency": row.text("currency").upper(),
        "year": year if kind in MONEY else None, "shape": shape,
    }  # fmt: skip
    return _made(row, values)


def _made(row: HandRow, values: Mapping[str, object]) -> CostInput | None:
    unchecked = object.__new__(CostInput)  # its problems are wanted in words and all of them, not as an exception
    for name, value in values.items():
        object.__setattr__(unchecked, name, value)
    problems = input_problems(unchecked)
    for words in problems:
        row.complain(words)
    return None if problems else unchecked


def _kind(row: HandRow, key: str) -> InputKind | None:
    allowed = kinds_of(key)
    text = row.text("kind").casefold()
    if not text and len(allowed) == 1:
        return next(iter(allowed))
    found = _KINDS.get(text)
    if found is None or found not in allowed:
        names = ", ".join(kind.value for kind in InputKind if kind in allowed)
        what = _("what kind of value is '{name}'? It may be: {kinds}")
        row.complain(what.format(name=input_label(key), kinds=names))
        return None
    return found


def _origin(row: HandRow) -> Origin | None:
    found = _ORIGINS.get(row.text("from").casefold())
    if found is None:
        row.complain(_("column 'from': say local, published or assumed"))
    return found


def _shape(row: HandRow, *, ranged: bool) -> RangeShape | None:
    text = row.text("shape").casefold()
    if not ranged:
        return RangeShape.FIXED
    if not text:
        return RangeShape.TRIANGULAR
    found = _SHAPES.get(text)
    if found is None:
        row.complain(_("column 'shape': it may be {names}").format(names=", ".join(one.value for one in RangeShape)))
    return found


_KINDS = {one.value: one for one in InputKind}
_ORIGINS = {one.value: one for one in Origin}
_SHAPES = {one.value: one for one in RangeShape}


def _year(row: HandRow) -> int | None:
    text = row.text("year")
    if not text:
        return None
    if re.fullmatch(r"\d{4}", text):
        return int(text)
    row.complain(_("'{text}' is no year such as 2025").format(text=text[:20]))
    return None


def _value(row: HandRow, role: str, *, may_lack: bool = False) -> float | None:
    text = row.cells.get(role, "")
    if not text and may_lack:
        return None
    negative = text.startswith(("-", "\u2212"))
    found = _NUMBER.fullmatch(text.lstrip("-\u2212").strip())
    if found is None:
        row.complain(_("column '{column}': got '{text}', expected a number").format(column=role, text=text[:40]))
        return None
    if _DOUBTFUL.fullmatch(text.strip("-\u2212 %")):
        row.complain(
            _("column '{column}': '{text}' may be a thousand or a fraction; write {plain} or {fraction}").format(
                column=role, text=text, plain=re.sub(r"[.,]", "", text), fraction=re.sub(r"[.,]", ".", text) + "0"
            )
        )
        return None
    value = float(re.sub(r"[\u00a0\u202f ]", "", found.group(1)) + (found.group(2) or "").replace(",", "."))
    value = -value if negative else value
    return value / 100 if found.group(3) else value


def change_inputs(table: CostTable, changes: Sequence[str]) -> CostTable:
    """The table with some values replaced, to see what another value would do: ``relative risk=0.5``.

    ``relative risk=0.4..0.5..0.7`` gives a range, ``the kit: relative risk=0.5`` that of one choice alone. The rest of
    the row stays, and its source says that it was changed. ``FileProblem`` for an input that the table has not, and
    for values that are none.
    """
    rows = cost_rows(table)
    for change in changes:
        name, _sign, values = change.partition("=")
        _change_rows(rows, name.strip(), values.strip())
    return parse_costs(rows, where=_("the inputs"))


def _change_rows(rows: list[list[str]], name: str, values: str) -> None:
    known = _known_names()
    found = []
    for row in rows[1:]:
        names = (row[1], f"{row[0]}: {row[1]}")
        key = known.get(name.casefold().replace("_", " "))
        if name.casefold() in {one.casefold() for one in names} or (key and key == known[row[1].casefold()]):
            found.append(row)
    ends = values.split("..")
    if not found or not values or len(ends) not in (1, 3):
        raise FileProblem(
            _("'{change}' changes nothing here.").format(change=f"{name}={values}"[:80]),
            fix=_("Write an input of the table and its value, or low..likely..high: relative risk=0.4..0.5..0.7."),
        )
    for row in found:
        row[2:5] = ["", ends[0], ""] if len(ends) == 1 else ends
        row[10] = _("{source}; changed when it was asked").format(source=row[10])
        row[12] = "" if len(ends) == 1 else row[12]
