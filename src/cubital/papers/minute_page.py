"""P7, the draft minute: decision, owner, day, in words that survive an audit; as one page or as plain text."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from cubital.domain.errors import RequestProblem
from cubital.domain.words import _, day_words
from cubital.papers.figure_words import unbroken
from cubital.papers.typeset import PageTooLong, PaperSize, Sheet, typeset

SIZES = (11.0, 10.0, 9.0, 8.0)
_LINE = 88


class Outcome(StrEnum):
    """What the committee did with the ask. ``OPEN`` leaves it to be filled in."""

    AGREED = "agreed"
    CHANGED = "changed"
    NOT_AGREED = "not-agreed"
    LATER = "later"
    OPEN = "open"


@dataclass(frozen=True, kw_only=True)
class MinutePart:
    """One numbered part of the minute: paragraphs, then points."""

    title: str
    lines: tuple[str, ...] = ()
    items: tuple[str, ...] = ()


@dataclass(frozen=True, kw_only=True)
class MinuteContent:
    """What the minute is made of. ``sentence``, what stands ``beside`` it and ``ask`` are the pack's.

    ``actions`` and ``restated`` are lines; ``wording`` is what was decided instead, where it was changed.
    """

    title: str
    held_on: date
    pack: int
    pack_day: date
    fingerprint: str
    receipts: tuple[str, ...]
    sentence: str
    beside: str
    ask: str
    outcome: Outcome
    wording: str
    actions: tuple[str, ...]
    restated: str
    restated_lines: tuple[str, ...]


def minute_parts(content: MinuteContent) -> tuple[MinutePart, ...]:
    """The minute part by part, the same for page and text."""
    receipts = ", ".join(content.receipts) or _("none")
    return (
        MinutePart(
            title=_("Paper before the meeting"),
            lines=(
                _("Pack {number} of {day}, fingerprint {fingerprint}; receipts: {receipts}.").format(
                    number=content.pack, day=day_words(content.pack_day), fingerprint=content.fingerprint[:16],
                    receipts=receipts,
                ),
            ),
        ),
        MinutePart(title=_("Reported"), lines=(content.sentence, content.beside)),
        MinutePart(title=_("Asked"), lines=(content.ask,)),
        MinutePart(title=_("Decision"), lines=_decision(content)),
        MinutePart(
            title=_("Actions, with the role that answers for each"), items=content.actions,
            lines=() if content.actions else (_("No action was opened."),),
        ),
        MinutePart(title=_("Restated figures"), lines=(content.restated,), items=content.restated_lines),
        MinutePart(
            title=_("For the record"),
            items=(
                _("Figures are of units and hospitals; no figure of a person was before the meeting or asked for."),
                _("Nothing recorded here says what caused a rate, and no class is a diagnosis."),
                _("Every figure can be computed again from its receipt; figures restated later keep the old one."),
            ),
        ),
    )  # fmt: skip


def _decision(content: MinuteContent) -> tuple[str, ...]:
    words = {
        Outcome.AGREED: _("The committee agreed to what was asked, as worded above, on {day}."),
        Outcome.CHANGED: _("The committee agreed on {day}, in these words:"),
        Outcome.NOT_AGREED: _("The committee did not agree to what was asked, on {day}."),
        Outcome.LATER: _("The committee put the decision off on {day}."),
        Outcome.OPEN: _("Decision: ............................................. on {day}."),
    }[content.outcome]
    said = words.format(day=day_words(content.held_on))
    return (said, content.wording) if content.wording else (said,)


def draft_words() -> str:
    """That it is a draft, and whose it is to confirm."""
    return _("Draft, to be confirmed by the chair at the next meeting.")


def minute_heading(content: MinuteContent) -> str:
    """``Minute of 14 April 2026: Blood cultures, Marrowby: January to March 2026``."""
    return _("Minute of {day}: {title}").format(day=day_words(content.held_on), title=content.title)


def minute_text(content: MinuteContent) -> str:
    """The minute as plain text, lines of at most 88 letters."""
    lines = [minute_heading(content), "", draft_words()]
    for number, part in enumerate(minute_parts(content), start=1):
        lines += ["", f"{number}. {part.title}"]
        lines += _wrapped(part.lines, start="   ")
        lines += _wrapped(part.items, start="   - ", rest="     ")
    lines += ["", _("Confirmed by (role): ______________________   Day: ______________"), ""]
    return "\n".join(lines)


def _wrapped(words: Sequence[str], *, start: str, rest: str = "   ") -> list[str]:
    return [
        line
        for one in words
        for line in textwrap.wrap(one, _LINE, initial_indent=start, subsequent_indent=rest, break_on_hyphens=False)
    ]


def print_minute_page(content: MinuteContent, *, paper: PaperSize = PaperSize.A4) -> bytes:
    """The minute as one page. ``RequestProblem`` where the words are too many even in the smallest type."""
    for size in SIZES:
        try:
            return typeset(Sheet(
                template="minute", title=minute_heading(content), data=_data(content, size=size),
                made_on=content.held_on, paper=paper,
            ))  # fmt: skip
        except PageTooLong:
            continue
    raise RequestProblem(
        _("the words of this minute are too many for one page."),
        fix=_("Take the plain text instead: a name that ends in .txt."),
    )


def _data(content: MinuteContent, *, size: float) -> dict[str, object]:
    return {
        "size": size,
        "heading": minute_heading(content),
        "draft": draft_words(),
        "parts": [
            {
                "title": part.title, "lines": [unbroken(one) for one in part.lines],
                "items": [unbroken(one) for one in part.items],
            }
            for part in minute_parts(content)
        ],
        "signed": [_("Confirmed by (role)"), _("Day")],
        "foot": _("Drafted from pack {number}. Owners are roles; persons are not named.").format(number=content.pack),
    }  # fmt: skip
