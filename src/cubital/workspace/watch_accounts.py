"""What lies beside a taken or refused file: its account for a person to read and for a program to read on."""

from __future__ import annotations

import json
import shlex
from dataclasses import dataclass
from datetime import UTC, datetime
from itertools import islice
from pathlib import Path
from typing import Any

from cubital.domain.errors import CubitalError, QuestionsOpen
from cubital.domain.reconciliation import Tally
from cubital.domain.words import _
from cubital.store.rows import RowFate
from cubital.workspace.batches import row_fates
from cubital.workspace.moving import MovementReport
from cubital.workspace.opening import Workspace
from cubital.workspace.taking import TakeReport
from cubital.workspace.watched_folder import LandingPlace, write_whole

ROWS_TO_READ = 200  # a person reads no more; a program gets more
ROWS_TO_PASS_ON = 100_000  # beyond this the export of the batch is the better file
LOSS = "loss"


@dataclass(frozen=True, kw_only=True)
class Account:
    """The two forms of one account."""

    text: str
    data: dict[str, Any]


def taken_account(workspace: Workspace, report: TakeReport | MovementReport) -> Account:
    """What became of a taken file, down to every row that did not become a set, or a stay, of its own."""
    lost = _lost_rows(workspace, report, limit=ROWS_TO_PASS_ON)
    words = {tally.reason: tally.words for tally in report.losses}
    data = {
        "outcome": "taken", "file": report.file_name, "facility": report.facility, **_kind_of(report),
        "batch": report.batch, "already_taken": report.already_taken, "written_at": _now(),
        "rows": report.rows, "losses": _plain(report.losses), "doubts": _plain(report.doubts),
        "added": report.added, "changed": report.changed, "unchanged": report.unchanged,
        "changed_months": list(report.changed_months), "notes": list(report.notes),
        "lost_rows": [
            {"row": row.row, "sheet": row.sheet, "reason": row.reason, "words": words.get(row.reason, row.reason),
             "detail": row.detail}
            for row in lost
        ],
        "lost_rows_complete": len(lost) == sum(tally.count for tally in report.losses),
    }  # fmt: skip
    return Account(text=_taken_text(report, lost, words), data=data)


def _kind_of(report: TakeReport | MovementReport) -> dict[str, Any]:
    """What only files of cultures, or only files of ward movements, have to say."""
    if isinstance(report, MovementReport):
        return {"kind": "movements", "stays": report.stays, "moved_sets": report.moved_sets}
    return {"kind": "cultures", "source": report.source, "sets": report.sets, "outdated": report.outdated}


def refused_account(
    workspace: Workspace, place: LandingPlace, *, file: Path, problem: CubitalError, command: str = "take"
) -> Account:
    """Why a file was refused, and the one command that takes it after all. ``file`` is where it now lies.

    ``command`` is ``take``, or ``movements`` for a file of ward movements.
    """
    questions = problem.questions if isinstance(problem, QuestionsOpen) else ()
    command = take_command(workspace, place, file=file, problem=problem, command=command)
    lines = [
        _("{file} was not taken for {facility}. Nothing was changed.").format(file=file.name, facility=place.facility),
        "",
    ]
    if questions:
        lines += [_("Cubital does not guess what only you can know:"), ""]
        for question in questions:
            choices = _(" (one of: {choices})").format(choices=", ".join(question.choices)) if question.choices else ""
            lines.append(f"  {question.key}: {question.text}{choices}")
        lines += ["", _("Answer by this command, with your answer in place of each {mark}:").format(mark="VALUE")]
    else:
        lines += [problem.sentence(), "", _("When that is put right, take it by this command:")]
    lines += [
        "",
        f"  {command}",
        "",
        _("What you answer is remembered: the next file of this kind is then taken by itself."),
    ]
    data = {
        "outcome": "refused", "file": file.name, "facility": place.facility, "written_at": _now(),
        "kind": type(problem).__name__, "sentence": problem.sentence(), "command": command,
        "questions": [{"key": q.key, "text": q.text, "choices": list(q.choices)} for q in questions],
    }  # fmt: skip
    return Account(text="\n".join(lines) + "\n", data=data)


def take_command(
    workspace: Workspace, place: LandingPlace, *, file: Path, problem: CubitalError, command: str = "take"
) -> str:
    """The command that takes a refused file, questions and all, as it is typed."""
    words = ["cubital", "--workspace", str(workspace.folder), command, str(file), "--facility", place.facility, "--yes"]
    for option, value in (("--timezone", place.timezone), ("--source", place.source)):
        words += [option, value] if value else []
    known = dict(place.answers)
    if isinstance(problem, QuestionsOpen):
        known |= {q.key: q.choices[0] if len(q.choices) == 1 else "VALUE" for q in problem.questions}
    for key, value in known.items():
        words += ["--answer", f"{key}={value}"]
    return shlex.join(words)


def write_account(file: Path, account: Account) -> None:
    """Writes both forms beside ``file``."""
    write_whole(file.with_name(f"{file.name}.account.json"), json.dumps(account.data, ensure_ascii=False, indent=2))
    write_whole(file.with_name(f"{file.name}.account.txt"), account.text)


def _taken_text(report: TakeReport | MovementReport, lost: tuple[RowFate, ...], words: dict[str, str]) -> str:
    lines = [
        _("{file}, taken for {facility} as batch {number}.").format(
            file=report.file_name, facility=report.facility, number=report.batch
        ),
        "",
        *_counted_lines(report),
    ]
    if report.changed_months:
        lines.append(_("Months restated: {months}.").format(months=", ".join(report.changed_months)))
    lines += report.notes
    return "\n".join((*lines, *_row_lines(report, lost, words))) + "\n"


def _counted_lines(report: TakeReport | MovementReport) -> list[str]:
    counts = {"added": f"{report.added:,}", "changed": f"{report.changed:,}", "unchanged": f"{report.unchanged:,}"}
    doubts = _tally_lines(_("Kept, with a doubt:"), report.doubts)
    if isinstance(report, MovementReport):
        return [
            _("{rows} rows in, {stays} stays out.").format(rows=f"{report.rows:,}", stays=f"{report.stays:,}"),
            *_tally_lines(_("Rows that did not become a stay:"), report.losses),
            *doubts,
            _("{added} stays new, {changed} corrected, {unchanged} as they were.").format(**counts),
            _("{count} stored sets moved to another unit.").format(count=f"{report.moved_sets:,}"),
        ]
    return [
        _("{rows} rows in, {sets} sets out.").format(rows=f"{report.rows:,}", sets=f"{report.sets:,}"),
        *_tally_lines(_("Rows that did not become a set of their own:"), report.losses),
        *doubts,
        _("{added} sets new, {changed} corrected, {unchanged} as they were.").format(**counts),
    ]


def _tally_lines(title: str, tallies: tuple[Tally, ...]) -> list[str]:
    return [title, *(f"  {tally.count:>9,}  {tally.words}" for tally in tallies)] if tallies else []


def _row_lines(report: TakeReport | MovementReport, lost: tuple[RowFate, ...], words: dict[str, str]) -> list[str]:
    if not lost:
        return []
    lines = ["", _("Row by row:")]
    for row in lost[:ROWS_TO_READ]:
        sheet = f"{row.sheet}, " if row.sheet else ""
        detail = f" ({row.detail})" if row.detail else ""
        lines.append(f"  {sheet}{row.row:,}: {words.get(row.reason, row.reason)}{detail}")
    if len(lost) > ROWS_TO_READ:
        lines.append(
            _("These are the first {count}. Every row: cubital export rows {batch} rows.xlsx").format(
                count=ROWS_TO_READ, batch=report.batch
            )
        )
    return lines


def _lost_rows(workspace: Workspace, report: TakeReport | MovementReport, *, limit: int) -> tuple[RowFate, ...]:
    if not report.losses:
        return ()
    return tuple(islice((row for row in row_fates(workspace, report.batch) if row.fate == LOSS), limit))


def _plain(tallies: tuple[Tally, ...]) -> list[dict[str, str | int]]:
    return [{"reason": tally.reason, "count": tally.count, "words": tally.words} for tally in tallies]


def _now() -> str:
    return datetime.now(UTC).isoformat(timespec="seconds")
