"""The one object that every face renders: page, paper, spreadsheet, command line, Python."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass, field
from enum import StrEnum
from typing import Any

Cell = str | int | float | None


class Verdict(StrEnum):
    """What kind of answer it is. A refusal is an answer: it says what is missing and how much more is needed."""

    SIGNAL = "signal"
    WITHIN_VARIATION = "within_variation"
    TOO_FEW = "too_few"
    NOT_IDENTIFIABLE = "not_identifiable"
    REFUSED = "refused"
    ESTIMATE = "estimate"


@dataclass(frozen=True, kw_only=True)
class Figure:
    """One number with everything needed to say it honestly.

    ``value`` is in ``unit`` (``proportion`` runs 0 to 1, as ``difference`` of two does; ``minutes``; ``sets``;
    ``per_1000``); none means that it cannot be computed, and ``note`` says why. ``low`` and ``high`` bound the interval
    at ``level`` by ``method``; none where no interval applies. ``numerator`` and ``denominator`` are exact counts where
    the value is a ratio of them. ``definition`` says in words what is counted over what.
    """

    key: str
    label: str
    value: float | None
    unit: str
    low: float | None = None
    high: float | None = None
    level: float | None = None
    method: str = ""
    numerator: int | None = None
    denominator: int | None = None
    definition: str = ""
    note: str = ""


@dataclass(frozen=True, kw_only=True)
class AnswerTable:
    """What a screen reader reads and what a spreadsheet gets: one header row, one value per cell."""

    title: str
    columns: tuple[str, ...]
    rows: tuple[tuple[Cell, ...], ...]

    def __post_init__(self) -> None:
        for row in self.rows:
            if len(row) != len(self.columns):
                raise ValueError(f"table '{self.title}': a row has {len(row)} cells for {len(self.columns)} columns")


@dataclass(frozen=True, kw_only=True)
class Check:
    """One thing about the data that was looked at before the answer: ``words`` say what was found, passed or not;
    ``passed`` is none where it could not be checked, which is neither.

    Shown before the sentence's company, first of all: a jump is often made by the data and not by the care.
    """

    key: str
    passed: bool | None
    words: str


@dataclass(frozen=True, kw_only=True)
class Mark:
    """One dated change at the place: ``letter`` stands over its ``month`` (``YYYY-MM``) in picture and table.

    Changes of one month share a letter. ``words`` say the day, the place and what changed.
    """

    letter: str
    month: str
    words: str


@dataclass(frozen=True, kw_only=True)
class Receipt:
    """What an answer was computed from, so that it can be computed again.

    ``data`` names the snapshot (batch number and table versions; ``counts`` when only counts were given),
    ``charter`` the charter's name, version and fingerprint, ``policy`` the policy's, ``code`` the version of Cubital.
    """

    data: str
    charter: str
    policy: str
    code: str


@dataclass(frozen=True, kw_only=True)
class Answer:
    """Question, verdict, the sentence to say aloud, and what stands behind it.

    ``figures`` come in reading order; ``picture`` is a Vega-Lite specification, empty where there is nothing to draw;
    ``checks`` are what was asked of the data first. ``marks`` are the dated changes drawn into a picture over months.
    """

    question: str
    verdict: Verdict
    sentence: str
    figures: tuple[Figure, ...] = ()
    cautions: tuple[str, ...] = ()
    picture: Mapping[str, Any] = field(default_factory=dict)
    table: AnswerTable | None = None
    receipt: Receipt | None = None
    checks: tuple[Check, ...] = ()
    marks: tuple[Mark, ...] = ()

    def figure(self, key: str) -> Figure:
        """The figure of that key; ``KeyError`` where the answer has none."""
        for figure in self.figures:
            if figure.key == key:
                return figure
        raise KeyError(key)


def build_answer_dict(answer: Answer) -> dict[str, Any]:
    """The answer as plain data for JSON: same field names, enumerations as their words, no NaN."""
    plain: dict[str, Any] = asdict(answer)
    plain["verdict"] = answer.verdict.value
    return plain


def read_answer_dict(plain: Mapping[str, Any]) -> Answer:
    """The answer again from its plain data, as ``build_answer_dict`` and a round through JSON give it."""
    table = plain.get("table")
    return Answer(
        question=plain["question"],
        verdict=Verdict(plain["verdict"]),
        sentence=plain["sentence"],
        figures=tuple(Figure(**figure) for figure in plain["figures"]),
        cautions=tuple(plain["cautions"]),
        picture=plain["picture"],
        table=_table_of(table) if table else None,
        receipt=Receipt(**plain["receipt"]) if plain.get("receipt") else None,
        checks=tuple(Check(**check) for check in plain["checks"]),
        marks=tuple(Mark(**mark) for mark in plain.get("marks", ())),
    )


def _table_of(plain: Mapping[str, Any]) -> AnswerTable:
    return AnswerTable(
        title=plain["title"], columns=tuple(plain["columns"]), rows=tuple(tuple(row) for row in plain["rows"])
    )


def figures_by_key(figures: Sequence[Figure]) -> dict[str, Figure]:
    """Figures looked up by key; a key that comes twice is a programming error and raises ``ValueError``."""
    found = {figure.key: figure for figure in figures}
    if len(found) != len(figures):
        raise ValueError("two figures carry the same key")
    return found
