"""A month frozen as a plain folder: its answer, its sets, its charter, and a fingerprint of each file.

Anyone can read it without Cubital, and see whether a file was changed since: the fingerprints are SHA-256, the
algorithm that every system's own tools know (``sha256sum -c fingerprints.txt``).
"""

from __future__ import annotations

import hashlib
import json
import shutil
import tempfile
from dataclasses import asdict, dataclass
from datetime import UTC, date, datetime
from pathlib import Path

from cubital.domain.answer import build_answer_dict
from cubital.domain.errors import FileProblem, MachineProblem, RequestProblem, WorkspaceProblem
from cubital.domain.words import _, month_words
from cubital.papers.out_files import said_of, write_whole
from cubital.workspace.charters import current_charter
from cubital.workspace.exports import export_sets
from cubital.workspace.opening import Workspace
from cubital.workspace.printing import place_words
from cubital.workspace.receipts import keep_receipt, receipt_words
from cubital.workspace.snapshots import last_batch_number, snapshot_words
from cubital.workspace.vacuuming import promise_state

FINGERPRINTS = "fingerprints.txt"


@dataclass(frozen=True, kw_only=True)
class FrozenMonth:
    """What was frozen: the folder, the number of sets, and the fingerprint over all fingerprints (64 digits).

    ``promised`` says whether the workspace keeps the state it was frozen from for good; false where it is read-only.
    """

    folder: Path
    sets: int
    fingerprint: str
    promised: bool


def export_month_snapshot(
    workspace: Workspace,
    *,
    month: str,
    out: Path,
    facility: str | None = None,
    unit: str | None = None,
    today: date | None = None,
) -> FrozenMonth:
    """Freezes one month (``YYYY-MM``) into the new folder ``out``, whole or not at all.

    ``answer.json``, ``sets.csv`` with codebook and about, ``charter.json``, ``README.txt``, ``fingerprints.txt``. The
    same data, charter, code and day give the same fingerprint. A frozen month is never overwritten: ``RequestProblem``
    where ``out`` is there already.
    """
    from cubital.workspace.months import month_answer

    if out.exists():
        raise RequestProblem(
            _("it is there already, and what is frozen stays."), where=str(out), fix=_("Name another.")
        )
    day = today or datetime.now(UTC).date()
    batch = last_batch_number(workspace)
    answer = month_answer(workspace, month=month, facility=facility, unit=unit)
    place = place_words(workspace, facility=facility, unit=unit)
    try:
        with tempfile.TemporaryDirectory(prefix=f".{out.name[:60]}.", dir=out.parent) as scratch:
            draft = Path(scratch) / "month"
            draft.mkdir()
            count = export_sets(
                workspace,
                out=draft / "sets.csv",
                from_month=month,
                to_month=month,
                facility=facility,
                unit=unit,
                today=day,
            )
            _write_json(draft / "answer.json", build_answer_dict(answer))
            kept = keep_receipt(
                workspace, question="month", asked={"month": month, "facility": facility, "unit": unit}, answer=answer
            )
            _write_json(draft / "charter.json", _plain_charter(workspace))
            _write_readme(
                draft / "README.txt",
                workspace,
                title=f"{place}, {month_words(month, with_year=True)}",
                day=day,
                kept=receipt_words(kept),
            )
            fingerprint = _write_fingerprints(draft)
            promised = _keep_state(workspace, batch=batch, month=month, place=place)
            shutil.move(draft, out)
    except OSError as problem:
        raise said_of(problem, out) from problem
    return FrozenMonth(folder=out, sets=count, fingerprint=fingerprint, promised=promised)


def changed_files(folder: Path) -> tuple[str, ...]:
    """The names of files that are not as they were frozen, missing and added ones included; empty when all is well.

    ``FileProblem`` where the folder holds no fingerprints.
    """
    try:
        lines = (folder / FINGERPRINTS).read_text(encoding="utf-8").splitlines()
    except OSError as problem:
        raise FileProblem(
            _("there are no fingerprints here."), where=str(folder), fix=_("Name the folder of a frozen month.")
        ) from problem
    frozen = {name: digits for digits, name in (line.split("  ", 1) for line in lines if line)}
    found = {path.name: _digits(path) for path in folder.iterdir() if path.name != FINGERPRINTS}
    return tuple(sorted(name for name in frozen.keys() | found.keys() if frozen.get(name) != found.get(name)))


def _plain_charter(workspace: Workspace) -> dict[str, object]:
    version = current_charter(workspace)
    return {
        "fingerprint": version.fingerprint,
        "charter": asdict(version.charter),
        "signatures": [asdict(signature) for signature in version.signatures],
    }


def _keep_state(workspace: Workspace, *, batch: int, month: str, place: str) -> bool:
    try:
        promise_state(workspace, batch=batch, reason=f"frozen month {month}, {place}")
    except (
        WorkspaceProblem,
        MachineProblem,
    ):  # a folder that only allows reading: the frozen files stand by themselves
        return False
    return True


def _write_json(path: Path, value: object) -> None:
    text = json.dumps(value, indent=2, ensure_ascii=False, allow_nan=False, default=str)
    write_whole(path, f"{text}\n".encode())


def _write_readme(path: Path, workspace: Workspace, *, title: str, day: date, kept: str) -> None:
    lines = (
        title,
        _("Frozen on {day} from {data}.").format(day=day.isoformat(), data=snapshot_words(workspace)),
        kept,
        "",
        _("answer.json: the sentence, its figures and its receipt."),
        _("sets.csv: every set behind it; sets.codebook.csv explains the columns."),
        _("charter.json: the definition that counted them."),
        _("fingerprints.txt: SHA-256 of each file. To check them: sha256sum -c fingerprints.txt"),
        "",
        _("Classes are for counting, never a diagnosis. No patient and no member of staff is named in these files."),
    )
    write_whole(path, ("\n".join(lines) + "\n").encode())


def _write_fingerprints(folder: Path) -> str:
    lines = "".join(f"{_digits(path)}  {path.name}\n" for path in sorted(folder.iterdir()))
    write_whole(folder / FINGERPRINTS, lines.encode())
    return hashlib.sha256(lines.encode()).hexdigest()


def _digits(path: Path) -> str:
    with path.open("rb") as stream:
        return hashlib.file_digest(stream, "sha256").hexdigest()
