"""The committee's packs: made from what may leave, kept as they were, printed again as they were."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any

from cubital.answers.owner_words import name_trouble
from cubital.answers.restated import EarlierPack, Restatement, Said, build_restated_answer, find_restatements
from cubital.domain.answer import Answer, Receipt, Verdict
from cubital.domain.errors import RequestProblem
from cubital.domain.words import _
from cubital.papers.out_files import write_whole
from cubital.papers.pack_page import PackContent, beside_words, build_pack, check_fits, print_pack_page
from cubital.workspace import records
from cubital.workspace.actions import action_log_answer
from cubital.workspace.facilities import facility_key
from cubital.workspace.opening import Workspace
from cubital.workspace.pack_answers import PackAnswers, pack_answers
from cubital.workspace.pack_gathering import PackAsk
from cubital.workspace.pack_notes import pack_files, pack_times, restated_reasons
from cubital.workspace.printing import paper_size
from cubital.workspace.receipts import keep_receipt, receipt_words
from cubital.workspace.snapshots import last_batch_number
from cubital.workspace.writing import hold_workspace, note_change, one_transaction

__all__ = ["Pack", "PackAsk", "PackWords", "get_pack", "list_packs", "make_pack", "print_pack"]
QUESTION = "pack"
PARTS = ("quarter", "units", "hours")
_MOST_LETTERS = 400


@dataclass(frozen=True, kw_only=True)
class PackWords:
    """What the educator adds: a line of their own, and the one thing that is asked. Empty lets the answer say it."""

    message: str = ""
    ask: str = ""


@dataclass(frozen=True, kw_only=True)
class Pack:
    """One pack that was made. ``made_on`` is the day it carries; ``sentence`` and ``ask`` are what it says and asks;
    ``receipts`` are codes. ``restated`` is how many earlier figures it put right.
    """

    number: int
    made_on: date
    from_month: str
    to_month: str
    facility: str | None
    place: str
    sentence: str
    verdict: Verdict
    ask: str
    batch: int
    receipts: tuple[str, ...]
    fingerprint: str
    restated: int
    said: Mapping[str, Any]


def make_pack(workspace: Workspace, *, ask: PackAsk, words: PackWords | None = None, today: date | None = None) -> Pack:
    """Makes and keeps one pack; nothing is written to a file.

    The guard's note is kept first, then the receipts, then the pack: a note of a table that never left does no harm.
    The pack is set on both papers before it is kept, so that one which does not fit is none. Errors as for
    ``pack_answers``; ``RequestProblem`` where the words name a person or are too long.
    """
    said_words = _checked(words or PackWords())
    figures = pack_answers(workspace, ask)
    codes = tuple(dict.fromkeys(_keep_receipts(workspace, figures)))
    with hold_workspace(workspace):
        earlier, batches = _earlier(workspace, ask.facility)
        restated = find_restatements(
            earlier, months={one.first: one for one in figures.months}, charter=figures.charter,
            reasons=restated_reasons(workspace, earlier, batches=batches),
        )  # fmt: skip
        note = build_restated_answer(restated, earlier=earlier)
        content = _content(
            workspace, figures, words=said_words, codes=codes, restated=note,
            since=max(batches.values(), default=0), made_on=today or _today(), number=_next_number(workspace),
        )  # fmt: skip
        built = build_pack(content)
        check_fits(built)
        return _keep(workspace, figures, content, built=built, codes=codes, restated=restated)


def print_pack(workspace: Workspace, *, number: int, out: Path, paper: str = "a4") -> Pack:
    """Writes a kept pack to ``out`` exactly as it was made. ``RequestProblem`` for an unknown number or paper."""
    size = paper_size(paper)
    found = get_pack(workspace, number)
    write_whole(out, print_pack_page(found.said["printed"], paper=size))
    return found


def list_packs(workspace: Workspace) -> tuple[Pack, ...]:
    """Every pack, oldest first."""
    entries = records.CommitteePack.objects.using(workspace.alias).select_related("facility").order_by("number")
    return tuple(_pack_of(entry) for entry in entries)


def get_pack(workspace: Workspace, number: int) -> Pack:
    """The pack of that number; ``RequestProblem`` where there is none."""
    for pack in list_packs(workspace):
        if pack.number == number:
            return pack
    raise RequestProblem(
        _("there is no pack {number}.").format(number=number), fix=_("See them with: cubital pack list.")
    )


def default_ask(verdict: Verdict) -> str:
    """What is asked where the educator asks for nothing else."""
    if verdict is Verdict.SIGNAL:
        return _("To note the signal, and to agree which role looks at the sets behind it, and by when.")
    if verdict is Verdict.WITHIN_VARIATION:
        return _("To note the quarter and keep to the plan; no new action is asked for.")
    return _("To note the counts, and that they are too few or too small to compare.")


def _checked(words: PackWords) -> PackWords:
    for text in (words.message, words.ask):
        trouble = name_trouble(text)
        if trouble:
            raise RequestProblem(trouble, fix=_("A pack names units and roles, never a person: write the role."))
        if len(text) > _MOST_LETTERS:
            raise RequestProblem(
                _("that is {count} letters long.").format(count=len(text)),
                fix=_("Say it in at most {most} letters.").format(most=_MOST_LETTERS),
            )
    return PackWords(message=" ".join(words.message.split()), ask=" ".join(words.ask.split()))


def _keep_receipts(workspace: Workspace, figures: PackAnswers) -> list[str]:
    asked = {
        "from_month": figures.ask.from_month, "to_month": figures.ask.to_month, "facility": figures.ask.facility,
        "left_before": figures.left_before,
    }  # fmt: skip
    return [
        keep_receipt(workspace, question=QUESTION, asked={**asked, "part": part}, answer=part_of(figures, part))
        for part in PARTS
    ]


def part_of(figures: PackAnswers, part: str) -> Answer:
    """One of the pack's answers by its name in a receipt."""
    return {"quarter": figures.quarter, "units": figures.units, "hours": figures.hours}[part]


def _content(
    workspace: Workspace, figures: PackAnswers, *, words: PackWords, codes: Sequence[str], restated: Answer, since: int,
    made_on: date, number: int,
) -> PackContent:  # fmt: skip
    actions = action_log_answer(workspace, today=made_on, facility=figures.ask.facility)
    files, files_words = pack_files(workspace, facility=figures.ask.facility, since_batch=since)
    return PackContent(
        number=number, place=figures.place_name, from_month=figures.ask.from_month, to_month=figures.ask.to_month,
        made_on=made_on, message=words.message, ask=words.ask or default_ask(figures.quarter.verdict),
        quarter=figures.quarter, units=figures.units, hours=figures.hours,
        actions=actions, restated=restated, files=files, files_words=files_words,
        times=pack_times(figures.quarter, figures.times), receipts=_receipt_lines(figures, codes),
    )  # fmt: skip


def _receipt_lines(figures: PackAnswers, codes: Sequence[str]) -> tuple[str, ...]:
    names = (_("Quarter"), _("Units"), _("Hours"))
    lines = [f"{name}: {receipt_words(code)}" for name, code in zip(names, codes, strict=False)]
    receipt: Receipt | None = figures.quarter.receipt
    if receipt is not None:
        version = _("Cubital {version}").format(version=receipt.code)
        lines.append(" · ".join((receipt.data, receipt.charter, receipt.policy, version)))
    lines.append(_("Table {number} of those that left this workspace.").format(number=figures.left_table))
    return tuple(lines)


def _earlier(workspace: Workspace, facility: str | None) -> tuple[list[EarlierPack], dict[int, int]]:
    """The packs of the same place, oldest first, with the batch that each rests on."""
    packs = [pack for pack in list_packs(workspace) if pack.facility == facility]
    earlier = [
        EarlierPack(
            number=pack.number, on=pack.made_on, charter=pack.said["charter"],
            said=tuple(Said(first=a, last=b, contaminated=x, sets=n) for a, b, x, n in pack.said["figures"]),
        )
        for pack in packs
    ]  # fmt: skip
    return earlier, {pack.number: pack.batch for pack in packs}


def _next_number(workspace: Workspace) -> int:
    last = records.CommitteePack.objects.using(workspace.alias).order_by("-number").first()
    return last.number + 1 if last else 1


def _keep(
    workspace: Workspace, figures: PackAnswers, content: PackContent, *, built: Mapping[str, Any],
    codes: Sequence[str], restated: Sequence[Restatement],
) -> Pack:  # fmt: skip
    said = {
        "printed": built, "charter": figures.charter, "figures": _said_figures(figures), "place": figures.place_name,
        "beside": beside_words(figures.quarter),
        "sentence": figures.quarter.sentence, "verdict": figures.quarter.verdict.value, "ask": content.ask,
        "restated": [list(row) for row in content.restated.table.rows] if content.restated.table else [],
        "restated_sentence": content.restated.sentence,
    }  # fmt: skip
    fingerprint = hashlib.sha256(json.dumps(said, sort_keys=True, ensure_ascii=False).encode()).hexdigest()
    with one_transaction(workspace) as database:
        facility = (
            records.Facility.objects.using(database).get(key=facility_key(figures.ask.facility))
            if figures.ask.facility
            else None
        )
        entry = records.CommitteePack.objects.using(database).create(
            number=content.number, made_at=datetime.now(UTC), from_month=figures.ask.from_month,
            to_month=figures.ask.to_month, facility=facility, batch=last_batch_number(workspace), said=said,
            receipts=[code for code in codes if code], left_table=figures.left_table, fingerprint=fingerprint,
        )  # fmt: skip
        note_change(
            workspace, action="make_pack", subject=f"pack {content.number}", fingerprint=fingerprint,
            restated=len(restated),
        )  # fmt: skip
    return _pack_of(entry)


def _said_figures(figures: PackAnswers) -> list[list[str | int | None]]:
    """Every figure that was said of the place: its months, and the quarter."""
    held = {one.first: one for one in figures.months}
    months = [held[month] for month in figures.ask.months]
    counts = [one.contaminated for one in months]
    whole = Said(
        first=figures.ask.from_month, last=figures.ask.to_month,
        contaminated=figures.quarter.figure("contamination").numerator, sets=sum(one.sets for one in months),
    )  # fmt: skip
    said = [*figures.months, *([whole] if len(counts) > 1 else [])]
    return [[one.first, one.last, one.contaminated, one.sets] for one in said]


def _pack_of(entry: records.CommitteePack) -> Pack:
    said = entry.said
    return Pack(
        number=entry.number, made_on=date.fromisoformat(said["printed"]["made_on"]), from_month=entry.from_month,
        to_month=entry.to_month, facility=entry.facility.name if entry.facility else None, place=said["place"],
        sentence=said["sentence"], verdict=Verdict(said["verdict"]), ask=said["ask"], batch=entry.batch,
        receipts=tuple(entry.receipts), fingerprint=entry.fingerprint, restated=len(said["restated"]), said=said,
    )  # fmt: skip


def _today() -> date:
    return date.today()  # noqa: DTZ011 - a paper carries the day of the desk
