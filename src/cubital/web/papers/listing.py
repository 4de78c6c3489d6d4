"""What can be printed or saved: what each is for, who reads it, when it was last made, and where it is made."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from django.urls import reverse

from cubital.domain.words import _, day_words
from cubital.workspace.left_tables import list_left_tables
from cubital.workspace.opening import Workspace
from cubital.workspace.packs import list_packs


@dataclass(frozen=True, kw_only=True)
class PaperLine:
    """One thing to take along. ``last`` is empty where Cubital does not remember when it was made."""

    name: str
    purpose: str
    reader: str
    last: str
    url: str
    button: str


@dataclass(frozen=True, kw_only=True)
class PaperGroup:
    """Papers for the same readers."""

    title: str
    note: str
    lines: tuple[PaperLine, ...]


def list_papers(workspace: Workspace) -> tuple[PaperGroup, ...]:
    """Everything, by who may read it. Nothing is made here: each line leads to where it is made."""
    last = _last_days(workspace)
    return (
        PaperGroup(
            title=_("For others"), note=_("Small counts are hidden, beside everything that left before."),
            lines=_for_others(last),
        ),
        PaperGroup(
            title=_("For decisions"), note=_("Their inputs and assumptions stand on them."), lines=_for_decisions(last)
        ),
        PaperGroup(
            title=_("For the bedside"), note=_("No counts; from your own approved policy."), lines=_for_bedside()
        ),
        PaperGroup(
            title=_("To keep or to work with"), note=_("Private: small counts stand in them."), lines=_for_work()
        ),
    )  # fmt: skip


def _last_days(workspace: Workspace) -> dict[str, str]:
    """By kind of paper, the day on which one was last made."""
    days: dict[str, date] = {}
    for table in list_left_tables(workspace):
        days[table.face] = table.left_on
    packs = list_packs(workspace)
    if packs:
        days["pack"] = packs[-1].made_on
    return {kind: day_words(day) for kind, day in days.items()}


def _line(name: str, purpose: str, reader: str, *, page: str, button: str, last: str = "") -> PaperLine:
    return PaperLine(name=name, purpose=purpose, reader=reader, last=last, url=reverse(page), button=button)


def _for_others(last: dict[str, str]) -> tuple[PaperLine, ...]:
    return (
        _line(
            _("Committee pack"), _("Six pages: message, chart, drivers, actions, data, ask"),
            _("quality committee"), page="pack", button=_("Make a pack"), last=last.get("pack", ""),
        ),
        _line(
            _("Draft minute"), _("Decision, owner, day, in words for an audit"), _("secretary"),
            page="pack", button=_("From a pack"),
        ),
        _line(
            _("Page for the wall"), _("One unit's month, legible from two metres"), _("staff room, manager"),
            page="month", button=_("From the month"), last=last.get("unit page", ""),
        ),
        _line(
            _("Counts for others"), _("Unit-month counts with totals, as a spreadsheet"), _("network, registry"),
            page="month", button=_("From the month"), last=last.get("counts", ""),
        ),
        _line(
            _("Definition charter"), _("One page with signatures, so that nobody argues about the count"), _("all"),
            page="charter", button=_("From the charter"),
        ),
    )  # fmt: skip


def _for_decisions(last: dict[str, str]) -> tuple[PaperLine, ...]:
    return (
        _line(
            _("Business case"), _("What a change would cost and save, with every input"), _("director, finance"),
            page="costs", button=_("From costs and plans"), last=last.get("business case", ""),
        ),
        _line(
            _("Trial protocol and result"), _("The analysis written before the data, and what it came to"),
            _("value analysis"), page="trial", button=_("From a trial"),
        ),
        _line(
            _("Log of actions"), _("What was decided, which role answers, by when"), _("quality committee"),
            page="actions", button=_("Open the log"),
        ),
    )  # fmt: skip


def _for_bedside() -> tuple[PaperLine, ...]:
    return (
        _line(
            _("Bedside sheets"), _("Volume chart, short-draw card, badge card, stop line, leaflet"),
            _("ward wall, trolley, collector, patient"), page="bedside", button=_("From the bedside page"),
        ),
        _line(
            _("Label position sheet"), _("True size, with a ruler to check"), _("trolley, laboratory bench"),
            page="bedside", button=_("From the bedside page"),
        ),
    )  # fmt: skip


def _for_work() -> tuple[PaperLine, ...]:
    return (
        _line(
            _("Sheet for a month that jumped"), _("Data, mix, place and time, supplies, people last"),
            _("those who investigate"), page="month", button=_("From the month"),
        ),
        _line(
            _("Spreadsheet of sets"), _("Every set with class and reason"), _("laboratory, analyst"),
            page="month", button=_("From the month"),
        ),
        _line(
            _("Frozen month"), _("Answer, sets, charter and fingerprints in one packed folder"), _("audit"),
            page="month", button=_("From the month"),
        ),
        _line(
            _("Letter to one person"), _("Own draws, clean ones first"), _("that person alone"),
            page="people", button=_("From people"),
        ),
    )  # fmt: skip
