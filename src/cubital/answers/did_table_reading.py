"""What a table of before and after can tell apart, and what it then says of each thing that differed.

The model is logistic: an effect for every place, one for the period, one for every level of every factor. What has no
estimate of its own is found first, from the design alone, before any count of contaminated sets is looked at.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from enum import StrEnum

from scipy.special import expit

from cubital.answers.did_split import FallSplit, split_fall
from cubital.answers.did_table import DidRow, DidTable
from cubital.answers.did_terms import Term, build_design, build_terms, most_changed, only_place, tell_apart, with_change
from cubital.stats.identifiability import Identifiability
from cubital.stats.interval import Interval
from cubital.stats.mixed_logistic import MixedFit, NotIdentifiable, fit_logistic
from cubital.stats.two_proportions import Comparison, risk_ratio_score

EVENTS_EACH = 5  # contaminated sets per unknown; Vittinghoff E, McCulloch CE, Am J Epidemiol 2007;165:710-718 (memory)
MISFIT = 0.01  # a chance of misfit below this is said
Pair = tuple[int, int]


class DidState(StrEnum):
    """How far the design carries."""

    NAIVE = "naive"  # nothing but before and after
    UNNAMED = "unnamed"  # several places, and no column says what differed
    TANGLED = "tangled"  # what is asked about has no estimate of its own
    THIN = "thin"  # too few contaminated sets for so many unknowns
    UNBOUNDED = "unbounded"  # one side holds no contaminated set
    SAID = "said"


@dataclass(frozen=True, kw_only=True)
class TermFit:
    """A term with its odds ratio, everything else in the model held equal."""

    term: Term
    ratio: float
    interval: Interval

    @property
    def beyond(self) -> bool:
        """Whether 1 lies outside the interval."""
        return self.interval.high < 1 or self.interval.low > 1


@dataclass(frozen=True, kw_only=True)
class Naive:
    """The place looked at, before and after with nothing held equal; pairs are contaminated, sets."""

    place: str
    before: Pair
    after: Pair
    ratio: Comparison

    @property
    def fall(self) -> float:
        """Share before minus share after."""
        return self.before[0] / self.before[1] - self.after[0] / self.after[1]


@dataclass(frozen=True, kw_only=True)
class DidReading:
    """All that the table says. ``asked`` are the factors asked about, ``focal`` the place where most began.

    ``whole`` is what the whole table can tell apart, ``alone`` what the focal place can by itself; ``fits`` are the
    terms that have an estimate, in the order of ``terms``. ``misfit`` is the chance of rows straying this far.
    """

    table: DidTable
    state: DidState
    focal: str
    asked: tuple[str, ...]
    terms: tuple[Term, ...]
    naive: Naive | None
    whole: Identifiability | None = None
    alone: Identifiability | None = None
    fits: tuple[TermFit, ...] = ()
    split: FallSplit | None = None
    events_needed: int = 0
    misfit: float | None = None

    @property
    def tangled(self) -> tuple[Term, ...]:
        """The terms without an estimate of their own."""
        return tuple(term for term in self.terms if self.whole and term.column in self.whole.inseparable)

    def fits_of(self, factor: str) -> tuple[TermFit, ...]:
        """What was found of one factor."""
        return tuple(fit for fit in self.fits if fit.term.factor == factor)


def read_did_table(table: DidTable, *, asks: str = "", at: str = "") -> DidReading:
    """Reads the table. ``asks`` names the factor asked about, none for all; ``at`` the place where it began.

    ``ValueError`` where the table holds no such factor or place. Without any factor, ``at`` makes one.
    """
    if at and at not in table.places:
        raise ValueError(at)
    table = with_change(table, at)
    if asks and asks not in table.factors:
        raise ValueError(asks)
    focal = at or most_changed(table)
    terms = build_terms(table)
    reading = DidReading(
        table=table, state=DidState.NAIVE, focal=focal, asked=(asks,) if asks else table.factors, terms=terms,
        naive=_naive(table, focal),
    )  # fmt: skip
    if not table.factors:
        several = len(table.places) > 1
        return reading if not several else _changed(reading, state=DidState.UNNAMED)
    return _judged(_changed(
        reading, whole=tell_apart(table, terms), alone=tell_apart(only_place(table, focal), terms),
        split=_split(table, focal),
    ))  # fmt: skip


def _judged(reading: DidReading) -> DidReading:
    """The state, and the terms that have an estimate."""
    whole = reading.whole
    if whole is None:
        return reading
    needed = EVENTS_EACH * whole.rank
    if sum(row.contaminated for row in reading.table.rows) < needed:
        state = DidState.TANGLED if _all_tangled(reading) else DidState.THIN
        return _changed(reading, state=state, events_needed=needed)
    try:
        fits, misfit = _fits(reading, whole)
    except NotIdentifiable:
        state = DidState.TANGLED if _all_tangled(reading) else DidState.UNBOUNDED
        return _changed(reading, state=state, events_needed=needed)
    state = DidState.TANGLED if _any_tangled(reading) else DidState.SAID
    return _changed(reading, state=state, fits=fits, misfit=misfit, events_needed=needed)


def _any_tangled(reading: DidReading) -> bool:
    return any(term.factor in reading.asked for term in reading.tangled)


def _all_tangled(reading: DidReading) -> bool:
    asked = [term for term in reading.terms if term.factor in reading.asked]
    return all(term in reading.tangled for term in asked)


def _fits(reading: DidReading, whole: Identifiability) -> tuple[tuple[TermFit, ...], float | None]:
    """The terms with an estimate. Of columns that say the same one stands for all, which leaves the others' as is."""
    names, rows = build_design(reading.table, reading.terms)
    spare = {alias.columns[-1] for alias in whole.aliases}
    held = [index for index, name in enumerate(names) if name not in spare]
    design = [[row[index] for index in held] for row in rows]
    counts = reading.table.rows
    fit = fit_logistic([row.contaminated for row in counts], [row.sets for row in counts], design)
    place = {names[index]: column for column, index in enumerate(held)}
    fits = tuple(
        TermFit(
            term=term, ratio=math.exp(float(fit.coefficients[place[term.column]])),
            interval=fit.odds_ratio(place[term.column]),
        )
        for term in reading.terms
        if term.column in whole.separable
    )  # fmt: skip
    return fits, _misfit(counts, fit, design)


def _misfit(rows: Sequence[DidRow], fit: MixedFit, design: Sequence[Sequence[float]]) -> float | None:
    """Pearson's chi-square of the rows around the model; none where the model has as many unknowns as rows."""
    from scipy.stats import chi2

    df = len(rows) - len(fit.coefficients)
    if df < 1:
        return None
    square = 0.0
    for row, columns in zip(rows, design, strict=True):
        p = float(expit(sum(c * b for c, b in zip(columns, fit.coefficients, strict=True))))
        square += (row.contaminated - row.sets * p) ** 2 / (row.sets * p * (1 - p))
    return float(chi2.sf(square, df))


def _naive(table: DidTable, focal: str) -> Naive | None:
    before, after = (_total(row for row in table.of_place(focal) if row.after is late) for late in (False, True))
    if not before[1] or not after[1]:
        return None
    ratio = risk_ratio_score(after[0], after[1], x2=before[0], n2=before[1])
    return Naive(place=focal, before=before, after=after, ratio=ratio)


def _total(rows: Iterable[DidRow]) -> Pair:
    held = list(rows)
    return sum(row.contaminated for row in held), sum(row.sets for row in held)


def _split(table: DidTable, focal: str) -> FallSplit | None:
    """The change at the focal place by the first factor whose levels before are all still there afterwards."""
    rows = table.of_place(focal)
    for index, factor in enumerate(table.factors):
        before, after = (_by_level(rows, index, after=late) for late in (False, True))
        mixed = len(before) > 1 or len(after) > 1
        if before and after and mixed and set(before) <= set(after):
            return split_fall(before, after, factor=factor)
    return None


def _by_level(rows: Sequence[DidRow], index: int, *, after: bool) -> dict[str, Pair]:
    found: dict[str, Pair] = {}
    for row in rows:
        if row.after is after:
            x, n = found.get(row.levels[index], (0, 0))
            found[row.levels[index]] = (x + row.contaminated, n + row.sets)
    return found


def _changed(reading: DidReading, **changes: object) -> DidReading:
    return DidReading(**{**vars(reading), **changes})
