"""Fills a Typst template with plain data and gives back one accessible page (PDF/UA-1).

Data reach the template as a JSON file in memory, never as markup. The template sees our type family and the fonts
inside the Typst library, never those of the machine, so that the same data give the same bytes anywhere.
"""

from __future__ import annotations

import json
import re
import unicodedata
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from datetime import UTC, date, datetime
from enum import StrEnum
from functools import lru_cache, partial
from importlib import resources
from typing import Any

from cubital.domain.errors import MachineProblem
from cubital.domain.receipt_code import JOINER, RECEIPT_CODE
from cubital.domain.words import _, current_language
from cubital.papers.fonts import FONT_FOLDER
from cubital.papers.processes import OneProcess

PDF_STANDARD = "ua-1"
STAND_IN = "□"  # for a letter that no font at hand can write
LAST_LATIN = 0x24F  # the end of the block Latin Extended-B; our type has what our languages use of it
_TOO_LONG = "page-is-too-long"  # the same word as in templates/house.typ
_UNWRITABLE = re.compile(r'the text `"(.+)"` could not be displayed')
_CODE_POINT = re.compile(r"\\u\{([0-9a-f]+)\}")  # how the typesetter writes a letter that it cannot show either
_typst = OneProcess("The typesetter")


class PaperSize(StrEnum):
    A4 = "a4"
    LETTER = "letter"


class PageTooLong(Exception):
    """The words do not fit on one page in this layout; the caller tries a tighter one."""


@dataclass(frozen=True, kw_only=True)
class Sheet:
    """One page to be set: template, document title, plain data, SVG pictures by name, and the day on its foot."""

    template: str
    title: str
    data: Mapping[str, Any]
    made_on: date
    paper: PaperSize = PaperSize.A4
    pictures: Mapping[str, str] = field(default_factory=dict)


def typeset(sheet: Sheet) -> bytes:
    """The sheet as PDF bytes: tagged, titled, fonts embedded, one page; the same bytes for the same sheet.

    Raises
    ------
    PageTooLong
        More than one page would be needed.
    MachineProblem
        The typesetter failed for another reason; its own words are in the message.
    """
    data = _in_every_text(_page_data(sheet), lambda text: held_codes(_without_control_characters(text)))
    for _attempt in range(20):  # each round replaces at least one letter, and most words have fewer foreign ones
        try:
            return _compile(sheet, data)
        except _UnwritableText as problem:
            data = _in_every_text(data, partial(_with_stand_ins, letters=problem.letters))
    raise MachineProblem(
        _("the page holds letters that no font here can write."), fix=_("Write names in Latin letters.")
    )


def held_codes(text: str) -> str:
    """The text with every code of a receipt held together, so that no line ends within it."""
    return RECEIPT_CODE.sub(lambda code: code[0].replace("-", f"-{JOINER}"), text)


class _UnwritableText(Exception):
    def __init__(self, letters: str) -> None:
        self.letters = letters
        super().__init__(letters)


def _page_data(sheet: Sheet) -> dict[str, Any]:
    return {
        **sheet.data,
        "title": sheet.title,
        "language": current_language(),
        "paper": "a4" if sheet.paper is PaperSize.A4 else "us-letter",
        "made": [sheet.made_on.year, sheet.made_on.month, sheet.made_on.day],
    }


def _in_every_text(data: Any, change: Callable[[str], str]) -> Any:
    if isinstance(data, str):
        return change(data)
    if isinstance(data, Mapping):
        return {key: _in_every_text(value, change) for key, value in data.items()}
    if isinstance(data, list | tuple):
        return [_in_every_text(value, change) for value in data]
    return data


def _compile(sheet: Sheet, data: Mapping[str, Any]) -> bytes:
    import typst

    _typst.check()
    compile_files: Any = typst.compile  # its type stub does not know files in memory
    files = {
        "main.typ": _template(sheet.template),
        "house.typ": _template("house"),
        "data.json": json.dumps(data).encode(),
        **{f"{name}.svg": svg.encode() for name, svg in sheet.pictures.items()},
    }
    midnight = datetime(sheet.made_on.year, sheet.made_on.month, sheet.made_on.day, tzinfo=UTC)
    try:
        made = compile_files(files, format="pdf", pdf_standards=[PDF_STANDARD], timestamp=midnight, font_paths=_fonts())
    except typst.TypstError as problem:
        raise _named_problem(str(problem.message)) from problem
    return bytes(made)


def _named_problem(message: str) -> Exception:
    if _TOO_LONG in message:
        return PageTooLong(message)
    found = _UNWRITABLE.search(message)
    if found:
        return _UnwritableText(_CODE_POINT.sub(lambda code: chr(int(code.group(1), 16)), found.group(1)))
    return MachineProblem(_("the page could not be set: {reason}").format(reason=message))


@lru_cache
def _template(name: str) -> bytes:
    return (resources.files("cubital.papers") / "templates" / f"{name}.typ").read_bytes()


@lru_cache
def _fonts() -> Any:
    import typst

    return typst.Fonts(include_system_fonts=False, include_embedded_fonts=True, font_paths=[str(FONT_FOLDER)])


def _without_control_characters(text: str) -> str:
    spaced = re.sub(r"[\t\r\n\x0b\x0c]+", " ", unicodedata.normalize("NFC", text))
    return "".join(letter for letter in spaced if unicodedata.category(letter) not in {"Cc", "Cf", "Co", "Cs", "Cn"})


def _with_stand_ins(text: str, letters: str) -> str:
    foreign = {letter for letter in letters if ord(letter) > LAST_LATIN and letter != STAND_IN}
    if not foreign:
        # A letter of our own is named where a mark that belongs to no font here stands on it; without marks it is rare.
        bare = "".join(letter for letter in text if not unicodedata.category(letter).startswith("M"))
        if bare != text:
            return bare
        foreign = {letter for letter in letters if ord(letter) > 0x7F}
    # One foreign letter is never alone: East Asian scripts and pictographs, which no font here has, go in one round.
    return "".join(STAND_IN if letter in foreign or ord(letter) >= 0x2E80 else letter for letter in text)
