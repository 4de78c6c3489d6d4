"""P9, the sheet for a month that jumped: five steps in a fixed order, one line for the decision, one page."""

from __future__ import annotations

from datetime import date

from cubital.answers.spike import Found, SpikeSheet, spike_title
from cubital.domain.errors import RequestProblem
from cubital.domain.words import _, day_words
from cubital.papers.figure_words import unbroken
from cubital.papers.typeset import PageTooLong, PaperSize, Sheet, typeset

SIZES = (10.5, 9.5, 8.5)  # points of the lines; the largest that fits one page is taken


def print_spike_page(sheet: SpikeSheet, *, made_on: date, receipt: str = "", paper: PaperSize = PaperSize.A4) -> bytes:
    """The sheet as PDF, one page. ``RequestProblem`` where the words are too many even in the smallest type."""
    for size in SIZES:
        try:
            return typeset(
                Sheet(
                    template="spike",
                    title=spike_title(sheet),
                    data=_words(sheet, size=size, made_on=made_on, receipt=receipt),
                    made_on=made_on,
                    paper=paper,
                )
            )
        except PageTooLong:
            continue
    raise RequestProblem(
        _("the names on this sheet are too long for one page."),
        fix=_("Shorten the unit's name under Files, then print again."),
    )


def found_words(found: Found) -> str:
    """The word in a step's box."""
    return {
        Found.NOTHING: _("nothing found"),
        Found.LOOK: _("look here"),
        Found.NOT_CHECKED: _("could not look"),
    }[found]


def _words(sheet: SpikeSheet, *, size: float, made_on: date, receipt: str) -> dict[str, object]:
    return {
        "size": size,
        "heading": spike_title(sheet),
        "private": _(
            "Working sheet with small counts: it stays with those who investigate. No name, no rate of a person."
        ),
        "sentence": unbroken(sheet.sentence),
        "steps": [
            {
                "title": step.title, "found": found_words(step.found), "loud": step.found is Found.LOOK,
                "lines": [unbroken(line) for line in step.lines],
            }
            for step in sheet.steps
        ],
        "order": _("Go from top to bottom; a later step is read only when the ones before it are settled."),
        "notes": _("Seen on site"),
        "proposal_title": _("What the steps suggest"),
        "proposal": unbroken(sheet.proposal),
        "decision_title": _("Decision"),
        "choices": [_("cause found"), _("none found"), _("not yet")],
        "cause": _("Cause, and what is done about it"),
        "signed": [_("Name and role"), _("Day")],
        "foot": " · ".join(part for part in (_("Printed {day}").format(day=day_words(made_on)), receipt) if part),
    }  # fmt: skip
