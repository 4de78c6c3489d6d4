"""The model that a design supports: against units without the change, along a series, or no more than a description."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import timedelta
from enum import StrEnum

from cubital.answers.counts import MonthCount
from cubital.answers.did_design import Design, DidDesign
from cubital.answers.did_material import DidMaterial, Pair, UnitDays, Window, add_pairs, months_of
from cubital.stats.change_point import ChangePoint, find_change
from cubital.stats.difference_in_differences import BeforeAfter
from cubital.stats.interval import Interval
from cubital.stats.mixed_logistic import NotIdentifiable
from cubital.stats.peer_differences import peer_difference
from cubital.stats.robust_errors import Errors
from cubital.stats.segmented_counts import CountFit, fit_counts
from cubital.stats.segmented_design import SegmentedDesign, SegmentedShape, segmented_design
from cubital.stats.segmented_effects import count_lines, ratio_after
from cubital.stats.stepped_rollout import SteppedCell, fit_roll_out
from cubital.stats.two_proportions import risk_ratio_score

SEASON_POINTS = 24  # a season is asked of two years or more
EVENTS_LEAST = 5  # contaminated sets of the place, below which nothing is estimated (common practice, no source)
BEND_POINTS = 12  # a slope of its own after the change is asked of a year on either side
_HALF_YEAR = timedelta(days=183)
_MOST_ALIKE = 0.8  # beyond it the series is one long month and its factor without bound
_NOTHING: tuple[tuple[str, float, float, float], ...] = ()


class Model(StrEnum):
    """What was fitted."""

    PEERS = "peers"  # one unit or more against others, how differently units change anyway allowed for
    STEPPED = "stepped"  # the same change in unit after unit, months held equal
    SERIES = "series"  # segmented regression
    PLAIN = "plain"  # before and after, nothing held equal


@dataclass(frozen=True, kw_only=True)
class DidFit:
    """``ratio`` says how many times as many were contaminated as without the change, as far as the model can know.

    It is a ratio of odds (``PLAIN``: of shares). ``line`` holds for months since the change the share expected without
    it, with its limits. ``units`` took part in a roll-out; ``points``, ``season``, ``bend`` and ``neighbours`` describe
    a series; ``before_alike`` is the ratio of monthly odds ratios before the change (1: moved alike), where units were
    compared.
    """

    model: Model
    ratio: float
    interval: Interval
    peers_ratio: float | None = None
    peers_interval: Interval | None = None
    spread: float | None = None
    line: tuple[tuple[str, float, float, float], ...] = _NOTHING
    points: int = 0
    units: int = 0
    season: bool = False
    bend: bool = False
    neighbours: float = 0.0
    before_alike: Interval | None = None

    @property
    def beyond(self) -> bool:
        """Whether 1 lies outside the interval."""
        return self.interval.high < 1 or self.interval.low > 1


@dataclass(frozen=True, kw_only=True)
class DidCounts:
    """What was counted: the place and its peers together, before and after; and the place by month, all of it."""

    before: Pair
    after: Pair
    peers_before: Pair
    peers_after: Pair
    months: tuple[MonthCount, ...]


def count_did(material: DidMaterial, design: DidDesign) -> DidCounts | None:
    """The counts behind the answer; none where the day lies outside the data."""
    window = design.window
    if window is None:
        return None
    return DidCounts(
        before=add_pairs(unit.before(window) for unit in material.mine),
        after=add_pairs(unit.after(window) for unit in material.mine),
        peers_before=add_pairs(unit.before(window) for unit in design.peers),
        peers_after=add_pairs(unit.after(window) for unit in design.peers),
        months=months_of(material.mine, first=material.first, last=material.last),
    )


def fit_did(material: DidMaterial, design: DidDesign) -> DidFit | None:
    """The fit of the design; none for a refusal, and where nothing was contaminated or a side has no bound."""
    window = design.window
    if window is None or _events(material, window) < EVENTS_LEAST:
        return None
    if design.kind is Design.STEPPED:
        return _stepped(design)
    if design.kind is Design.COMPARED:
        return _compared(material, design, window)
    if design.kind is Design.SEGMENTED and design.series is not None:
        try:
            return _segmented(material, design.series)
        except NotIdentifiable:
            return None
    return _plain(material, window) if design.kind is Design.DESCRIBED else None


def _events(material: DidMaterial, window: Window) -> int:
    return sum(unit.before(window)[0] + unit.after(window)[0] for unit in material.mine)


def find_when(counts: DidCounts) -> ChangePoint | None:
    """When the place changed, if it did, asked without being told of any date; none where months are too few."""
    held = [one for one in counts.months if one.sets]
    if len(held) < 12:
        return None
    return find_change([one.contaminated for one in held], [one.sets for one in held])


def before_after(units: Sequence[UnitDays], window: Window) -> BeforeAfter:
    """All units together."""
    before, after = (
        add_pairs(side) for side in zip(*((u.before(window), u.after(window)) for u in units), strict=True)
    )
    return BeforeAfter(events_before=before[0], n_before=before[1], events_after=after[0], n_after=after[1])


def _compared(material: DidMaterial, design: DidDesign, window: Window) -> DidFit | None:
    mine = [unit for unit in material.mine if unit.before(window)[1] and unit.after(window)[1]]
    if not mine:
        return None
    ours, theirs = ([before_after([unit], window) for unit in units] for units in (mine, design.peers))
    found = peer_difference(ours, theirs)
    fit = DidFit(
        model=Model.PEERS, ratio=found.estimate, interval=found.interval, peers_ratio=found.peers_ratio,
        peers_interval=found.peers_interval, spread=found.spread,
        before_alike=_alike_before(material, design, window),
    )  # fmt: skip
    return _with_line(fit, material, window)


def _stepped(design: DidDesign) -> DidFit | None:
    """All units of the roll-out and those without it, month by month from half a year before the first to half a year
    after the last; the month in which a unit began stays out unless it began with it.
    """
    days = [day for _unit, day in design.steps]
    first, last = min(days) - _HALF_YEAR, max(days) + _HALF_YEAR
    cells = []
    for unit, start in (*design.steps, *((peer, None) for peer in design.peers)):
        for at, one in enumerate(months_of([unit], first=first, last=last)):
            begins = start is not None and one.month == f"{start:%Y-%m}" and start.day > 1
            if one.sets and not begins:
                exposed = start is not None and one.month >= f"{start:%Y-%m}"
                cells.append(SteppedCell(
                    unit=unit.key, period=at, exposed=exposed, events=one.contaminated, n=one.sets
                ))  # fmt: skip
    try:
        found = fit_roll_out(cells)
    except (NotIdentifiable, ValueError):
        return None
    return DidFit(model=Model.STEPPED, ratio=found.odds_ratio, interval=found.interval, units=found.units)


def _with_line(fit: DidFit, material: DidMaterial, window: Window) -> DidFit:
    """The line that the peers' change leads to expect of the place, from its own share before."""
    before = before_after(material.mine, window)
    if fit.peers_ratio is None or fit.peers_interval is None or not before.events_before:
        return fit
    odds = before.events_before / (before.n_before - before.events_before or 1)
    middle, low, high = (
        odds * ratio / (1 + odds * ratio)
        for ratio in (fit.peers_ratio, fit.peers_interval.low, fit.peers_interval.high)
    )
    months = months_of(material.mine, first=window.on, last=window.last)
    return DidFit(**{**vars(fit), "line": tuple((one.month, middle, low, high) for one in months)})


def _alike_before(material: DidMaterial, design: DidDesign, window: Window) -> Interval | None:
    """Whether the place and its peers moved alike before: the ratio of their monthly odds ratios."""
    last = window.on - timedelta(days=1)
    ours, theirs = (
        [(at, one) for at, one in enumerate(months_of(units, first=window.first, last=last)) if one.sets]
        for units in (material.mine, design.peers)
    )
    if min(len(ours), len(theirs)) < 4:
        return None
    rows = [(1.0, at, one) for at, one in ours] + [(0.0, at, one) for at, one in theirs]
    middle = sum(at for _mine, at, _one in rows) / len(rows)
    columns = [[1.0, mine, at - middle, mine * (at - middle)] for mine, at, _one in rows]
    try:
        fit = fit_counts([one.contaminated for _m, _a, one in rows], [one.sets for _m, _a, one in rows], columns)
    except NotIdentifiable:
        return None
    return fit.ratio([0.0, 0.0, 0.0, 1.0])[1]


def _segmented(material: DidMaterial, series: Window) -> DidFit:
    months = months_of(material.mine, first=series.first, last=series.last)
    shape = series_shape(months, series)
    design = segmented_design(shape)
    kept = [months[at] for at in design.times]
    fit = _wider(kept, design)
    after = len([at for at in design.times if at >= shape.changes[0]])
    effect = ratio_after(fit, design, (after - 1) / 2 if shape.slope else 0)
    lines = count_lines(fit, design)
    line = tuple(
        (months[at].month, float(middle), float(low), float(high))
        for at, middle, low, high in zip(
            lines.times, lines.without, lines.without_low, lines.without_high, strict=True
        )
        if at >= shape.changes[0]
    )  # fmt: skip
    return DidFit(
        model=Model.SERIES, ratio=effect.estimate, interval=effect.interval, line=line, points=len(kept),
        season=bool(shape.harmonics), bend=shape.slope, neighbours=fit.neighbours,
    )  # fmt: skip


def series_shape(months: Sequence[MonthCount], series: Window) -> SegmentedShape:
    """The segments: the month in which the change fell stays out unless it began with it, and so do empty months."""
    mark = f"{series.on:%Y-%m}"
    at = next(place for place, one in enumerate(months) if one.month == mark)
    whole = series.on.day == 1
    empty = [place for place, one in enumerate(months) if not one.sets]
    change = at if whole else at + 1
    before, after = (sum(place not in empty for place in side) for side in (range(at), range(change, len(months))))
    return SegmentedShape(
        points=len(months), changes=(change,), slope=min(before, after) >= BEND_POINTS,
        harmonics=1 if before + after >= SEASON_POINTS else 0, first=int(months[0].month[5:]),
        left_out=tuple(sorted({*empty, *([] if whole else [at])})),
    )  # fmt: skip


def _wider(months: Sequence[MonthCount], design: SegmentedDesign) -> CountFit:
    """The fit with the wider errors for the step: by the spread found and how alike neighbours are, or by Newey-West.

    Errors that allow for alike neighbours are too short in short series; the wider of the two is the honest one. A
    mean of months whose neighbours correlate by r has (1 + r) / (1 - r) times the variance (AR(1); textbook).
    """
    counts, sets = [one.contaminated for one in months], [one.sets for one in months]
    fits = [
        _stretched(fit_counts(counts, sets, design.matrix, errors=Errors.QUASI)),
        fit_counts(counts, sets, design.matrix, errors=Errors.NEWEY_WEST_WIDE, times=design.times),
    ]
    column = design.column("level")
    return max(fits, key=lambda fit: float(fit.errors[column]))


def _stretched(fit: CountFit) -> CountFit:
    alike = min(max(0.0, fit.neighbours), _MOST_ALIKE)
    factor = (1 + alike) / (1 - alike)
    return replace(fit, errors=fit.errors * factor**0.5, covariance=fit.covariance * factor)


def _plain(material: DidMaterial, window: Window) -> DidFit | None:
    one = before_after(material.mine, window)
    if not one.events_before:  # no ratio to nothing
        return None
    found = risk_ratio_score(one.events_after, one.n_after, x2=one.events_before, n2=one.n_before)
    return DidFit(model=Model.PLAIN, ratio=found.estimate, interval=found.interval)
