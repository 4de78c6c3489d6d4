"""Plans a trial on what the workspace holds: local rate and volume, how units differ, what else changes then."""

from __future__ import annotations

import math
import secrets
from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date

from cubital.answers.month_text import month_before
from cubital.answers.places_reading import PlaceCount
from cubital.answers.trial_ask import IccSource, TrialAsk
from cubital.answers.trial_boundary import price_of_looking
from cubital.answers.trial_checks import before_after_tangles, diary_checks, worst_check
from cubital.answers.trial_order import MOST_WEEKS, TrialUnit, draw_order
from cubital.answers.trial_plan import build_trial_answer
from cubital.answers.trial_reading import DAYS_IN_MONTH, TrialReading, TrialState, read_trial
from cubital.answers.trial_series import read_series
from cubital.domain.answer import Answer, Check, Receipt
from cubital.domain.charter import Charter
from cubital.domain.diary import DiaryEntry
from cubital.domain.errors import RequestProblem
from cubital.domain.trial import Spending, Stretch, TrialDesign
from cubital.domain.words import _, ngettext, share_words
from cubital.judge.cells import Dimension, count_cells
from cubital.judge.counts import Scope
from cubital.stats.cluster_size import learn_correlation, size_variation
from cubital.stats.trial_size import power_of_size
from cubital.workspace.asked_places import find_place
from cubital.workspace.charters import current_charter
from cubital.workspace.diary import list_entries
from cubital.workspace.facilities import get_facility
from cubital.workspace.month_gathering import receipt_of
from cubital.workspace.opening import Workspace
from cubital.workspace.places import list_places
from cubital.workspace.places_gathering import policy_places
from cubital.workspace.policies import current_policy
from cubital.workspace.snapshots import open_snapshot, snapshot_words
from cubital.workspace.units import Unit

USUAL_MONTHS = 12
LEAST_FOR_CORRELATION = 5  # units; with fewer the bounds say nothing
MOST_SEED = 1_000_000
WEEKS_IN_MONTH = DAYS_IN_MONTH / 7
Key = tuple[str, str]


@dataclass(frozen=True, kw_only=True)
class TrialRequest:
    """What is asked for. Shares run 0 to 1; either ``expected`` or ``relative_risk`` says what is hoped for.

    ``units`` by any name, none takes every unit of the hospital (or of all hospitals). ``baseline``, ``icc``, ``weeks``
    and ``seed`` are found where they are none: from the last twelve months, from the units, from the size, by lot.
    """

    start: date
    expected: float | None = None
    relative_risk: float | None = None
    baseline: float | None = None
    facility: str | None = None
    units: tuple[str, ...] = ()
    design: TrialDesign = TrialDesign.WEEKS
    weeks: int | None = None
    seed: int | None = None
    level: float = 0.95
    power: float = 0.8
    icc: float | None = None
    looks: tuple[float, ...] = (0.5, 1.0)
    spending: Spending = Spending.CAUTIOUS


@dataclass(frozen=True, kw_only=True)
class PlannedTrial:
    """The answer, and what a plan is made of: no stretches where the trial was refused, ``sets_per_arm`` then 0.

    ``sets_per_arm`` is the size with its looks, or what the weeks that were asked for bring where that is less; then
    ``power`` is what those sets have.
    """

    request: TrialRequest
    answer: Answer
    reading: TrialReading
    units: tuple[TrialUnit, ...]
    stretches: tuple[Stretch, ...] = ()
    seed: int = 0
    sets_per_arm: int = 0
    power: float = 0.0

    @property
    def tangled(self) -> bool:
        """Whether another change cannot be told from this trial."""
        return any(check.key == "diary" and check.passed is False for check in self.answer.checks)


@dataclass(frozen=True, kw_only=True)
class _Local:
    """Counts of the last months by unit, and how many months they are."""

    counts: Mapping[Key, tuple[int, int]]
    names: Mapping[Key, str]
    months: int
    units: Sequence[Unit]


def plan_trial(workspace: Workspace, request: TrialRequest) -> PlannedTrial:
    """Size, time, order and what speaks against it. Changes nothing.

    ``RequestProblem`` where a place is unknown, nothing or two things say what is hoped for, no set was drawn in the
    units, or the weeks do not fit the design. What is no trial is refused in the answer.
    """
    _check_request(request)
    local = _local(workspace, current_charter(workspace).charter)
    keys = _chosen(workspace, request, local)
    units = tuple(
        TrialUnit(facility=key[0], unit=key[1], place=local.names[key], sets=local.counts[key][1] / local.months)
        for key in keys
    )
    reading = read_trial(_ask(request, local, keys))
    if reading.state is not TrialState.SAID:
        answer = build_trial_answer(reading, receipt=_receipt(workspace))
        return PlannedTrial(request=request, answer=answer, reading=reading, units=units)
    seed = request.seed if request.seed is not None else secrets.randbelow(MOST_SEED)
    price = price_of_looking(request.looks, level=request.level, power=request.power, spending=request.spending)
    weeks = request.weeks or _weeks(reading, price, units=len(units))
    try:
        stretches = draw_order(units, design=request.design, start=request.start, weeks=weeks, seed=seed)
    except ValueError as error:
        raise _weeks_problem(request.design, len(units)) from error
    entries = list_entries(workspace)
    checks = _checks(workspace, local, keys, stretches=stretches, entries=entries, request=request)
    ask = reading.ask
    sets, power = _reached(reading, request, price)
    answer = build_trial_answer(
        reading, checks=checks,
        series=read_series(ask.baseline, ask.expected, per_month=ask.per_month, level=ask.level),
        cautions=(*_short_words(request, power), *_cautions(request, price, entries, keys=keys)),
        receipt=_receipt(workspace),
    )  # fmt: skip
    return PlannedTrial(
        request=request, answer=answer, reading=reading, units=units, stretches=stretches, seed=seed,
        sets_per_arm=sets, power=power,
    )  # fmt: skip


def _check_request(request: TrialRequest) -> None:
    if (request.expected is None) == (request.relative_risk is None):
        raise RequestProblem(
            _("a trial needs one word on what is hoped for."),
            fix=_("Give the rate that is hoped for, or the relative risk; not both."),
        )
    if request.weeks is not None and request.weeks < 2:
        raise RequestProblem(_("a trial of {weeks} weeks is none.").format(weeks=request.weeks), fix=_("Take more."))


def _local(workspace: Workspace, charter: Charter) -> _Local:
    places = list_places(workspace)
    months = places.months
    if not months:
        raise RequestProblem(_("no set with a day is in the workspace yet."), fix=_("Take a laboratory file in first."))
    first = max(months[0], month_before(months[-1], USUAL_MONTHS - 1))
    held = [month for month in months if month >= first]
    by = (Dimension.FACILITY, Dimension.UNIT)
    with open_snapshot(workspace) as session:
        cells = count_cells(session, charter, by=by, scope=Scope(from_month=first, to_month=months[-1]))
    counts: dict[Key, tuple[int, int]] = defaultdict(lambda: (0, 0))
    for facility, unit, x, n in zip(*(cells.keys[one] for one in by), cells.numerator, cells.denominator, strict=True):
        if unit:
            counts[facility, unit] = (int(x), int(n))
    alone = len({unit.facility for unit in places.units}) < 2
    names = {
        (unit.facility, unit.current_key): unit.unit_name if alone else f"{unit.unit_name} ({unit.facility})"
        for unit in places.units
    }
    return _Local(
        counts={key: one for key, one in counts.items() if one[1]}, names=names, months=len(held), units=places.units
    )


def _chosen(workspace: Workspace, request: TrialRequest, local: _Local) -> list[Key]:
    if request.units:
        places = [
            find_place(workspace, facility=request.facility, unit=unit, among=local.units) for unit in request.units
        ]
        keys = list(dict.fromkeys((place.facility or "", place.unit or "") for place in places))
    else:
        here = get_facility(workspace, request.facility).name if request.facility else None
        keys = sorted(key for key in local.counts if here in (None, key[0]))
    empty = [local.names.get(key, key[1]) for key in keys if key not in local.counts]
    if empty or not keys:
        raise RequestProblem(
            _("these units drew no counted set in the last twelve months: {names}.").format(
                names=", ".join(empty) or _("all of them")
            ),
            fix=_("Leave them out."),
        )
    return keys


def _ask(request: TrialRequest, local: _Local, keys: Sequence[Key]) -> TrialAsk:
    x, n = (sum(local.counts[key][place] for key in keys) for place in (0, 1))
    baseline = x / n if request.baseline is None else request.baseline
    expected = request.expected if request.expected is not None else baseline * (request.relative_risk or 0.0)
    sizes = [local.counts[key][1] for key in keys]
    ask = TrialAsk(
        baseline=baseline, expected=expected, per_month=n / local.months, units=len(keys), design=request.design,
        level=request.level, power=request.power, variation=size_variation(sizes) if len(sizes) > 1 else 0.0,
        months=request.weeks / WEEKS_IN_MONTH if request.weeks else None,
    )  # fmt: skip
    if request.icc is not None:
        return replace(ask, icc=request.icc, icc_range=(request.icc, request.icc), icc_source=IccSource.GIVEN)
    return _with_local_correlation(ask, local)


def _with_local_correlation(ask: TrialAsk, local: _Local) -> TrialAsk:
    """Learnt from every unit of the workspace, as a trial's own units are too few; the assumption where that fails."""
    counts = list(local.counts.values())
    if len(counts) < LEAST_FOR_CORRELATION or not 0 < sum(x for x, _n in counts) < sum(n for _x, n in counts):
        return ask
    found = learn_correlation([x for x, _n in counts], [n for _x, n in counts])
    return replace(ask, icc=found.icc, icc_range=(found.low, min(found.high, 0.999)), icc_source=IccSource.LEARNT)


def _weeks(reading: TrialReading, price: float, *, units: int) -> int:
    """As many whole pairs of weeks as the size takes, looks included."""
    months = reading.needed.months if reading.needed else 0.0
    weeks = 2 * math.ceil(months * price * WEEKS_IN_MONTH / 2)
    return min(MOST_WEEKS, max(2, weeks, units + 1 if reading.ask.design is TrialDesign.STEPPED else 2))


def _reached(reading: TrialReading, request: TrialRequest, price: float) -> tuple[int, float]:
    """Sets in each arm and their power: all that the size takes, or what the weeks bring at the local volume.

    The design effect of the whole size is taken for the smaller one too, which makes its power rather too low.
    """
    needed, ask = reading.needed, reading.ask
    if needed is None:
        return 0, 0.0
    whole = math.ceil(needed.per_arm * price)
    held = math.floor(ask.per_month * (request.weeks or 0) / WEEKS_IN_MONTH / 2)
    if not request.weeks or held >= whole:
        return whole, ask.power
    worth = held / (whole / reading.uncorrected)
    power = power_of_size(ask.baseline, ask.expected, size=max(worth, 1e-9), level=ask.level)
    return max(1, held), min(max(power, 0.001), ask.power)


def _short_words(request: TrialRequest, power: float) -> tuple[str, ...]:
    if request.weeks is None or power >= request.power:
        return ()
    words = _(
        "In {weeks} weeks this fall would be found in {power} of such trials: finding nothing would then say little."
    )
    return (words.format(weeks=request.weeks, power=share_words(power, 0)),)


def _weeks_problem(design: TrialDesign, units: int) -> RequestProblem:
    least = units + 1 if design is TrialDesign.STEPPED else 2
    return RequestProblem(
        _("these weeks or units do not fit the design."),
        fix=_("Take {least} to {most} weeks, and at least two units where units are compared.").format(
            least=least, most=MOST_WEEKS
        ),
    )


def _checks(
    workspace: Workspace, local: _Local, keys: Sequence[Key], *, stretches: Sequence[Stretch],
    entries: Sequence[DiaryEntry], request: TrialRequest,
) -> list[Check]:  # fmt: skip
    checks = list(diary_checks(entries, stretches, design=request.design, noted=bool(entries)))
    counts = [
        PlaceCount(key="|".join(key), name=local.names[key], sets=n, contaminated=x)
        for key, (x, n) in local.counts.items()
    ]
    least = policy_places(current_policy(workspace)).min_sets
    worst = worst_check(counts, chosen=["|".join(key) for key in keys], least=least)
    return [*checks, *([worst] if worst else [])]


def _cautions(
    request: TrialRequest, price: float, entries: Sequence[DiaryEntry], *, keys: Sequence[Key]
) -> tuple[str, ...]:
    found = []
    tangles = before_after_tangles(entries, places=keys, start=request.start)
    if tangles:
        found.append(
            _("A plain before and after could not be separated from: {changes}.").format(changes="; ".join(tangles[:4]))
        )
    if price > 1.0005:
        words = ngettext(
            "{count} look costs {more} more sets than one at the end.",
            "{count} looks cost {more} more sets than one at the end.", len(request.looks),
        )  # fmt: skip
        found.append(words.format(count=len(request.looks), more=share_words(price - 1)))
    return tuple(found)


def _receipt(workspace: Workspace) -> Receipt:
    return receipt_of(snapshot_words(workspace), current_charter(workspace), current_policy(workspace))
