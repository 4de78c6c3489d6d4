"""Rows in, sets out, and a reason for every row that did not become a set of its own."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, kw_only=True)
class Tally:
    """How many rows or sets share one reason. ``words`` is the reason as a person reads it."""

    reason: str
    count: int
    words: str


@dataclass(frozen=True, kw_only=True)
class Reconciliation:
    """The account of one file: ``rows == sets + sum of losses``, checked when it is made.

    ``sets`` counts valid sets; a further bottle or isolate of a set already counted, a replaced preliminary row, a
    cancelled, rejected or foreign specimen is a loss with its reason. ``doubts`` are things kept and said.
    """

    rows: int
    sets: int
    losses: tuple[Tally, ...]
    doubts: tuple[Tally, ...]

    def __post_init__(self) -> None:
        lost = sum(tally.count for tally in self.losses)
        if self.rows != self.sets + lost:
            raise ValueError(f"{self.rows} rows in, but {self.sets} sets and {lost} losses out")
