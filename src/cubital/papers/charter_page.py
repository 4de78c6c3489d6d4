"""The charter on one page: what was agreed, what it does to the numbers, and who signed."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Any

from cubital.domain.charter import Charter, Signature
from cubital.domain.errors import RequestProblem
from cubital.domain.words import _, day_words, grouped_words, share_words
from cubital.papers.charter_words import charter_choices
from cubital.papers.figure_words import unbroken
from cubital.papers.typeset import PageTooLong, PaperSize, Sheet, typeset

EMPTY_LINES = 3  # education, laboratory, infection prevention
FEWEST_SIGNERS = 2  # a charter is an agreement: where one has signed, a line stays for the other


@dataclass(frozen=True)
class CharterLayout:
    """Points for the words, and how many definitions of the bench are shown."""

    size: float
    bench: int


LAYOUTS = (
    CharterLayout(12, 8),
    CharterLayout(11, 8),
    CharterLayout(10, 8),
    CharterLayout(9.5, 5),
    CharterLayout(8.5, 4),
    CharterLayout(7.5, 4),
)


@dataclass(frozen=True, kw_only=True)
class BenchLine:
    """One definition on the same data: counts, share (0 to 1; none without sets), whether it is this charter's.

    A ``hidden`` line keeps its name and shows no counts: they are small, or they would give small ones away.
    """

    name: str
    numerator: int
    denominator: int
    rate: float | None
    is_this: bool = False
    hidden: bool = False


@dataclass(frozen=True, kw_only=True)
class CharterPage:
    """What stands on the page.

    ``bench_scope`` says on which data the lines were counted, ``kept`` how to count them again.
    """

    charter: Charter
    list_title: str
    made_on: date
    signatures: tuple[Signature, ...] = ()
    bench: tuple[BenchLine, ...] = ()
    bench_scope: str = ""
    kept: str = ""


def print_charter_page(page: CharterPage, *, paper: PaperSize = PaperSize.A4) -> bytes:
    """The page as PDF, exactly one page; ``RequestProblem`` where the words are too many for any layout."""
    for layout in LAYOUTS:
        try:
            return typeset(_sheet(page, layout, paper))
        except PageTooLong:
            continue
    raise RequestProblem(
        _("the charter's words are too long for one sheet."),
        where=_("charter {version}").format(version=page.charter.version),
        fix=_("Shorten its name, its source or the list of units left out, then print again."),
    )


def _sheet(page: CharterPage, layout: CharterLayout, paper: PaperSize) -> Sheet:
    heading = _("What we count as a contaminated set")
    return Sheet(
        template="charter",
        title=f"{heading} – {page.charter.name}",
        data=_page_words(page, layout) | {"heading": heading, "size": layout.size},
        made_on=page.made_on,
        paper=paper,
    )


def _page_words(page: CharterPage, layout: CharterLayout) -> dict[str, Any]:
    charter = page.charter
    choices = charter_choices(charter, list_title=page.list_title)
    return {
        "name": _("Charter {version} – {name}").format(version=charter.version, name=charter.name),
        "state": _("Signed") if page.signatures else _("Draft, not signed"),
        "signed": bool(page.signatures),
        "choices_head": [_("Question"), _("What we agreed")],
        "choices": [[choice.topic, unbroken(choice.words)] for choice in choices],
        "bench_title": _("The same data under each definition: {scope}").format(scope=page.bench_scope),
        "bench_head": [_("Definition"), _("Counts"), _("Share")],
        "bench": [_bench_row(line) for line in _shown(page.bench, layout.bench)],
        "signatures_title": _("Agreed by"),
        "signatures_head": [_("Name"), _("Role"), _("Date")],
        "signatures": [[s.name, s.role, day_words(s.signed_on)] for s in page.signatures],
        "empty_lines": max(0, FEWEST_SIGNERS - len(page.signatures)) if page.signatures else EMPTY_LINES,
        "notes": [
            _("Class words are for counting, never a diagnosis."),
            _(
                "Whether growth matters for one patient is decided by medical microbiology and the treating team; "
                "surveillance definitions belong to infection prevention. Where this page and local policy differ, "
                "follow local policy."
            ),
        ],
        "foot": _foot(page),
    }


def _shown(bench: tuple[BenchLine, ...], most: int) -> list[BenchLine]:
    # This charter's own line must not fall victim to a shortage of room.
    first = sorted(bench, key=lambda line: not line.is_this)[:most]
    return [line for line in bench if line in first]


def _bench_row(line: BenchLine) -> dict[str, Any]:
    counts = _("{count} of {total}").format(count=grouped_words(line.numerator), total=grouped_words(line.denominator))
    share = unbroken(share_words(line.rate)) if line.rate is not None else "–"
    if line.hidden:
        counts, share = _("not shown to others"), "–"
    name = _("{name} (this charter)").format(name=line.name) if line.is_this else line.name
    return {"cells": [name, counts, share], "is_this": line.is_this}


def _foot(page: CharterPage) -> str:
    charter = page.charter
    parts = [
        _("Version {version}, fingerprint {digits}").format(version=charter.version, digits=charter.fingerprint()),
        _("Source: {source}").format(source=charter.source) if charter.source else "",
        _("Source's standing: {confidence}").format(confidence=charter.confidence) if charter.confidence else "",
        _("Printed {day}").format(day=day_words(page.made_on)),
        page.kept,
    ]
    return " · ".join(part for part in parts if part)
