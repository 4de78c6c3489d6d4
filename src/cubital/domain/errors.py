"""One tree of errors, grouped by what the reader can do about them.

Every message says what is wrong, where, and how to put it right. Messages carry row numbers and column
names, never a patient's values.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass


class CubitalError(Exception):
    """Something the person can put right. Shown as a sentence, never as a traceback."""

    exit_code = 1

    def __init__(self, what: str, *, where: str = "", fix: str = "") -> None:
        self.what = what
        self.where = where
        self.fix = fix
        super().__init__(self.sentence())

    def sentence(self) -> str:
        """The whole message on one line: where, what, how to fix it."""
        start = f"{self.where}: " if self.where else ""
        end = f" {self.fix}" if self.fix else ""
        return f"{start}{self.what}{end}"


class FileProblem(CubitalError):
    """The file cannot be used as it is; the workspace is as it was."""

    exit_code = 10


class WardMovements(FileProblem):
    """The file is a table of ward movements where cultures were looked for."""


@dataclass(frozen=True)
class Question:
    """One thing only the person can settle, with the choices there are.

    ``key`` is how an answer is given back (``--answer key=choice``); ``choices`` is empty when free text is meant.
    """

    key: str
    text: str
    choices: tuple[str, ...] = ()


class QuestionsOpen(CubitalError):
    """Cubital does not guess this. The questions are in the message and in ``questions``."""

    exit_code = 11

    def __init__(
        self, questions: Sequence[Question], *, where: str = "", how: str = "--answer {key}={choices}"
    ) -> None:
        self.questions = tuple(questions)
        lines = "; ".join(
            f"{q.text} (answer with {how.format(key=q.key, choices='|'.join(q.choices) or 'VALUE')})"
            for q in self.questions
        )
        super().__init__(f"Cubital needs to ask before it can go on: {lines}", where=where)


class WorkspaceProblem(CubitalError):
    """The workspace folder cannot be opened, written or trusted."""

    exit_code = 12


class CharterProblem(CubitalError):
    """The definition of a contaminated set is incomplete, contradictory or unsigned where it must be signed."""

    exit_code = 13


class PolicyProblem(CubitalError):
    """A local policy value is missing, out of range, unapproved or out of date."""

    exit_code = 14


class MachineProblem(CubitalError):
    """The computer lacks something: a free port, a font, disk space."""

    exit_code = 15


class RequestProblem(CubitalError):
    """What was asked for does not exist or does not make sense: an unknown unit, a month without data."""

    exit_code = 16


class ReceiptProblem(CubitalError):
    """A figure that left cannot be computed again, or comes out otherwise; the message says why."""

    exit_code = 17
