"""One claim about chance and how it came out."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from dataclasses import dataclass

WITHIN = 3.5  # standard errors; of 60 claims that are right one fails about once in 35 runs


@dataclass(frozen=True, kw_only=True)
class Claim:
    """``said`` by theory or by Cubital, ``seen`` in ``runs`` simulations with standard error ``error``.

    ``at_least`` claims hold where what was seen is not clearly below what was said, ``at_most`` not clearly above.
    """

    what: str
    said: float
    seen: float
    error: float
    runs: int
    seed: int
    kind: str = "equal"

    @property
    def holds(self) -> bool:
        slack = WITHIN * self.error
        if self.kind == "at_least":
            return self.seen >= self.said - slack
        if self.kind == "at_most":
            return self.seen <= self.said + slack
        return abs(self.seen - self.said) <= slack


Claims = Callable[[], Iterable[Claim]]


def share_claim(what: str, said: float, *, hits: int, runs: int, seed: int, kind: str = "equal") -> Claim:
    """A claim about a share of runs, with its binomial standard error under what was said."""
    error = math.sqrt(max(said * (1 - said), 1 / runs) / runs)
    return Claim(what=what, said=said, seen=hits / runs, error=error, runs=runs, seed=seed, kind=kind)


def at_least(what: str, said: float, *, hits: int, runs: int, seed: int) -> Claim:
    """A claim that holds where the share is not clearly below what was said."""
    return share_claim(what, said, hits=hits, runs=runs, seed=seed, kind="at_least")


def at_most(what: str, said: float, *, hits: int, runs: int, seed: int) -> Claim:
    """A claim that holds where the share is not clearly above what was said."""
    return share_claim(what, said, hits=hits, runs=runs, seed=seed, kind="at_most")


def table(claims: Iterable[Claim]) -> str:
    """The claims as a Markdown table."""
    head = "| claim | said | seen | Monte-Carlo error | runs | seed | holds |\n|---|---:|---:|---:|---:|---:|---|\n"
    return head + "".join(
        f"| {c.what} | {_sign(c)}{c.said:.4g} | {c.seen:.4g} | {c.error:.2g} | {c.runs:,} | {c.seed} | "
        f"{'yes' if c.holds else '**no**'} |\n"
        for c in claims
    )


def _sign(claim: Claim) -> str:
    return {"at_least": "≥ ", "at_most": "≤ "}.get(claim.kind, "")
