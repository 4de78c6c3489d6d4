"""P2 and P3: the private letter to one person, and its correction. One page, clean draws first, no one else in it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from cubital.answers.person_letter import Part, purpose_words
from cubital.domain.answer import Receipt
from cubital.domain.errors import RequestProblem
from cubital.domain.words import _, day_words, ngettext
from cubital.papers.figure_words import unbroken
from cubital.papers.typeset import PageTooLong, PaperSize, Sheet, typeset

SIZES = (12.5, 11.5, 10.5, 9.5, 9.0)  # points; 9 is the least that a letter should have (common practice, no source)
MOST_LINES = (60, 14, 10, 6)  # lines of one part that are printed one by one, tried in this order


@dataclass(frozen=True, kw_only=True)
class PersonPage:
    """``name`` stands in the address line only; without one the key does. ``parts`` as the letter's words give them."""

    heading: str
    key: str
    name: str
    parts: Sequence[Part]
    receipt: Receipt
    made_on: date


def print_person_page(page: PersonPage, *, paper: PaperSize = PaperSize.A4) -> bytes:
    """The letter as PDF, one page; a long list of changed sets is cut short with a line that says so."""
    for most in MOST_LINES:
        for size in SIZES:
            try:
                return typeset(_sheet(page, size=size, most=most, paper=paper))
            except PageTooLong:
                continue
    raise RequestProblem(
        _("the words of this letter are too long for one sheet."), fix=_("Give a shorter name or contact.")
    )


def _sheet(page: PersonPage, *, size: float, most: int, paper: PaperSize) -> Sheet:
    receipt = page.receipt
    foot = [_("Made on {day}").format(day=day_words(page.made_on)), receipt.data, receipt.charter, receipt.policy]
    return Sheet(
        template="letter",
        title=_("Private letter"),  # a name in a file's title would show in lists of files
        data={
            "size": size,
            "private": _("Private"),
            "purpose": purpose_words(),
            "to": page.name or page.key,
            "key": page.key,
            "heading": unbroken(page.heading),
            "parts": [[unbroken(head), [unbroken(line) for line in _lines(lines, most)]] for head, lines in page.parts],
            "foot": " · ".join(part for part in (*foot, _("Cubital {version}").format(version=receipt.code)) if part),
        },
        made_on=page.made_on,
        paper=paper,
    )


def _lines(lines: Sequence[str], most: int) -> list[str]:
    if len(lines) <= most:
        return list(lines)
    left = len(lines) - most + 1
    more = ngettext(
        "and {count} more set, on the list that you may see",
        "and {count} more sets, on the list that you may see",
        left,
    )
    return [*lines[: most - 1], more.format(count=left)]
