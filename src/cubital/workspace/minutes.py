"""Drafts the minute of the meeting that had a pack before it."""

from __future__ import annotations

from datetime import date
from pathlib import Path

from cubital.answers.owner_words import name_trouble
from cubital.domain.actions import Action
from cubital.domain.errors import RequestProblem
from cubital.domain.words import _, day_words
from cubital.papers.minute_page import MinuteContent, Outcome, minute_text, print_minute_page
from cubital.papers.out_files import write_whole
from cubital.workspace.actions import list_actions
from cubital.workspace.opening import Workspace
from cubital.workspace.packs import Pack, get_pack
from cubital.workspace.printing import paper_size

TEXT_SUFFIXES = (".txt", ".text", ".md")


def build_minute(
    workspace: Workspace, *, pack: int, outcome: Outcome = Outcome.OPEN, wording: str = "", on: date | None = None
) -> MinuteContent:
    """The minute of the meeting ``on`` a day (none is the pack's own), from that pack and the actions opened since.

    ``RequestProblem`` for an unknown pack, a day before it, a changed decision without its wording, or words that
    name a person.
    """
    found = get_pack(workspace, pack)
    day = on or found.made_on
    _check(found, outcome=outcome, wording=wording, on=day)
    opened = [one for one in list_actions(workspace) if found.made_on <= one.opened_on <= day]
    return MinuteContent(
        title=found.said["printed"]["heading"], held_on=day, pack=found.number, pack_day=found.made_on,
        fingerprint=found.fingerprint, receipts=found.receipts,
        sentence=found.sentence, beside=found.said["beside"], ask=found.ask, outcome=outcome,
        wording=" ".join(wording.split()), actions=tuple(_action_words(one, day) for one in opened),
        restated=found.said["restated_sentence"],
        restated_lines=tuple(
            _("{months}: {before} in {pack}; {now} today, because {why}.").format(
                months=row[0], before=row[1], pack=row[2], now=row[3], why=row[4]
            )
            for row in found.said["restated"]
        ),
    )  # fmt: skip


def write_minute(content: MinuteContent, *, out: Path, paper: str = "a4") -> None:
    """Writes the minute to ``out``: plain text where the name ends in .txt, else one page as PDF."""
    size = paper_size(paper)
    if out.suffix.casefold() in TEXT_SUFFIXES:
        write_whole(out, minute_text(content).encode())
    else:
        write_whole(out, print_minute_page(content, paper=size))


def _check(found: Pack, *, outcome: Outcome, wording: str, on: date) -> None:
    if on < found.made_on:
        raise RequestProblem(
            _("the meeting of {day} was before pack {number} was made.").format(day=day_words(on), number=found.number),
            fix=_("Give the day of the meeting."),
        )
    if outcome is Outcome.CHANGED and not wording.strip():
        raise RequestProblem(
            _("what was decided instead is missing."), fix=_("Give the words that the committee agreed to.")
        )
    trouble = name_trouble(wording)
    if trouble:
        raise RequestProblem(trouble, fix=_("A minute names roles, never a person: write the role."))


def _action_words(one: Action, day: date) -> str:
    then = one.as_of(day) or one
    return _("Action {number}: {words} Owner: {owner}. Due: {due}. Opened: {opened}.").format(
        number=one.number, words=f"{one.words.rstrip('.')}.", owner=then.owner, due=day_words(then.due_on),
        opened=day_words(one.opened_on),
    )  # fmt: skip
