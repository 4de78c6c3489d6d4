"""Receipts: what a figure that left was computed from, kept so that it can be computed again to the last digit.

Kept are the question with its arguments, the pin of the workspace, the versions of charter, policy and code, and the
answer itself. The texts are kept as they were written, digit for digit, whatever database holds them. Nothing of a
person is kept: questions about persons have no receipt.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, datetime
from difflib import get_close_matches
from typing import Any

import cubital
from cubital.domain.answer import Answer, build_answer_dict
from cubital.domain.errors import MachineProblem, RequestProblem, WorkspaceProblem
from cubital.domain.receipt_code import build_code, is_sound, read_code
from cubital.domain.words import _
from cubital.workspace import records
from cubital.workspace.charters import current_charter
from cubital.workspace.opening import Workspace
from cubital.workspace.pins import Pin, pin_now, pin_of, plain_pin
from cubital.workspace.policies import current_policy
from cubital.workspace.snapshots import snapshot_words
from cubital.workspace.vacuuming import promise_state
from cubital.workspace.writing import note_change, one_transaction

PROMISED_FOR = "receipts"


@dataclass(frozen=True, kw_only=True)
class Kept:
    """A receipt as it was kept. ``said`` is the answer as plain data, ``text`` the same as it was written.

    ``sound`` is false where what is kept is no longer what the code was made from.
    """

    code: str
    made_at: datetime
    question: str
    asked: Mapping[str, Any]
    pin: Pin
    charter: int
    policy: int
    code_version: str
    said: Mapping[str, Any]
    text: str
    sound: bool


@dataclass(frozen=True, kw_only=True)
class _Texts:
    """What the code is made from, each as it is written down."""

    question: str
    asked: str
    state: str
    charter: int
    policy: int
    code_version: str
    digest: str

    def code(self) -> str:
        parts = (
            self.question, self.asked, self.state, str(self.charter), str(self.policy), self.code_version, self.digest
        )  # fmt: skip
        return build_code("\n".join(parts))


def keep_receipt(workspace: Workspace, *, question: str, asked: Mapping[str, Any], answer: Answer) -> str:
    """Keeps what ``answer`` was computed from and gives its code; the same thing again gives the same code.

    ``question`` is a name in ``asking.QUESTIONS`` and ``asked`` its arguments as plain data; asking it again must give
    ``answer``. Call it right after answering: ``RequestProblem`` where another file was taken in since. Empty where
    the workspace cannot be written, which ``receipt_words`` says. A workspace that is pinned gives the code of then
    and keeps nothing.
    """
    from cubital.workspace.asking import states_of

    states = states_of(workspace, question=question, asked=asked)
    if states:
        _check_still(workspace, answer)
    said = written(build_answer_dict(answer))
    texts = _Texts(
        question=question, asked=written(asked), state=written(plain_pin(pin_now(workspace))),
        charter=current_charter(workspace).version, policy=current_policy(workspace).version,
        code_version=cubital.__version__, digest=_digest(said),
    )  # fmt: skip
    code = texts.code()
    if workspace.pinned is not None or _rows(workspace).filter(code=code).exists():
        return code
    try:
        for batch in states:
            promise_state(workspace, batch=batch, reason=PROMISED_FOR)
        _keep(workspace, code, texts, said=said)
    except (WorkspaceProblem, MachineProblem):  # a folder that only allows reading: the figure stands without
        return ""
    return code


def receipt_words(code: str) -> str:
    """What stands beside a figure that leaves: how to compute it again, or that nobody can be sure to."""
    if not code:
        return _("No receipt could be kept, because this workspace cannot be written.")
    return _("Receipt {code}: typed after 'cubital again' it computes these figures again.").format(code=code)


def find_receipt(workspace: Workspace, typed: str) -> Kept:
    """The receipt of a code as somebody typed it.

    ``RequestProblem`` where it is no code, was mistyped, or is not kept here; with the nearest kept code where there
    is one.
    """
    code = read_code(typed)
    if code is None:
        raise RequestProblem(
            _("'{typed}' is no receipt.").format(typed=typed[:40]),
            fix=_("A receipt is R- and three groups of four letters or digits, as it stands on the paper."),
        )
    entry = _rows(workspace).filter(code=code).first()
    if entry is None:
        raise _unknown_problem(workspace, code)
    return _kept(entry)


def list_receipts(workspace: Workspace, *, limit: int = 200) -> tuple[Kept, ...]:
    """The receipts that were kept, newest first."""
    return tuple(_kept(entry) for entry in _rows(workspace).order_by("-made_at", "-id")[:limit])


def written(value: Any) -> str:
    """Plain data as the one text by which two answers are compared: keys in order, every digit of every number."""
    return json.dumps(value, sort_keys=True, ensure_ascii=False, allow_nan=False, default=str)


def _check_still(workspace: Workspace, answer: Answer) -> None:
    """An answer from the tables must be from those that the receipt is about to name."""
    held = answer.receipt.data if answer.receipt else ""
    if held and held != snapshot_words(workspace):
        raise RequestProblem(
            _("another file was taken in, or a doubtful set decided, while this was made."),
            fix=_("Make it again; then it rests on that too."),
        )


def _keep(workspace: Workspace, code: str, texts: _Texts, *, said: str) -> None:
    with one_transaction(workspace) as database:
        _entry, new = records.KeptReceipt.objects.using(database).get_or_create(
            code=code,
            defaults={
                "made_at": datetime.now(UTC), "question": texts.question, "asked": texts.asked, "state": texts.state,
                "batch": pin_now(workspace).batch, "charter": texts.charter, "policy": texts.policy,
                "code_version": texts.code_version, "said": said, "digest": texts.digest,
            },
        )  # fmt: skip
        if new:
            note_change(workspace, action="keep_receipt", subject=code, question=texts.question, digest=texts.digest)


def _kept(entry: records.KeptReceipt) -> Kept:
    texts = _Texts(
        question=entry.question, asked=entry.asked, state=entry.state, charter=entry.charter, policy=entry.policy,
        code_version=entry.code_version, digest=entry.digest,
    )  # fmt: skip
    return Kept(
        code=entry.code, made_at=entry.made_at.astimezone(UTC), question=entry.question, asked=json.loads(entry.asked),
        pin=pin_of(json.loads(entry.state)), charter=entry.charter, policy=entry.policy,
        code_version=entry.code_version, said=json.loads(entry.said), text=entry.said,
        sound=texts.code() == entry.code and _digest(entry.said) == entry.digest,
    )  # fmt: skip


def _unknown_problem(workspace: Workspace, code: str) -> RequestProblem:
    kept = list(_rows(workspace).values_list("code", flat=True))
    near = get_close_matches(code, kept, n=1, cutoff=0.8)
    did_you = _("Did you mean {code}?").format(code=near[0]) if near else ""
    if not is_sound(code):
        return RequestProblem(
            _("{code} cannot be a receipt: a letter or digit of it is wrong.").format(code=code),
            fix=did_you or _("Look at the paper again, sign by sign."),
        )
    return RequestProblem(
        _("receipt {code} is well formed, but it is not kept in this workspace.").format(code=code),
        fix=did_you
        or _("It was made by another workspace, or kept after the backup that this one came from, or made up."),
    )


def _digest(text: str) -> str:
    return hashlib.sha256(text.encode()).hexdigest()


def _rows(workspace: Workspace) -> Any:
    return records.KeptReceipt.objects.using(workspace.alias)
