"""What a plain before and after could show instead: found by simulation, and said beside every plan."""

from __future__ import annotations

from dataclasses import dataclass

from cubital.domain.answer import Figure
from cubital.domain.words import _, ngettext, share_words
from cubital.stats.series_power import SeriesModel, SeriesPlan, simulate_series_power

RUNS = 1000
USUAL_MONTHS = 12
SEED = 13  # the same question gets the same answer


@dataclass(frozen=True, kw_only=True)
class PlainSeries:
    """A series of ``before`` and ``after`` months with a change of level: ``power`` is the share of ``runs`` simulated
    series in which it was found, ``error`` the Monte-Carlo standard error of that.
    """

    before: int
    after: int
    power: float
    error: float
    runs: int


def read_series(
    baseline: float,
    expected: float,
    *,
    per_month: float,
    level: float = 0.95,
    before: int = USUAL_MONTHS,
    after: int = USUAL_MONTHS,
) -> PlainSeries | None:
    """Simulates a before and after of all units together, read with a trend and a step, months differing by chance
    alone; real months differ by more, so this is the best it can be. ``level`` is that of the
    trial. None with less than one set a month.
    """
    if per_month < 1 or before + after < 5:
        return None
    odds = expected / (1 - expected) * (1 - baseline) / baseline
    plan = SeriesPlan(before=before, after=after, sets=round(per_month), share=baseline, odds_ratio=odds)
    model = SeriesModel(alpha=round(1 - level, 12))
    found = simulate_series_power(plan, model=model, runs=RUNS, seed=SEED)
    return PlainSeries(before=before, after=after, power=found.power, error=found.power_error, runs=found.runs)


def series_figure(series: PlainSeries) -> Figure:
    """The power as a figure."""
    return Figure(
        key="series_power", label=_("Found by a before and after with its own trend"), value=series.power,
        unit="proportion", low=max(0.0, series.power - 1.96 * series.error),
        high=min(1.0, series.power + 1.96 * series.error), level=0.95, method=_("simulation"),
        definition=_("share of simulated series of {before} and {after} months in which the fall was found").format(
            before=series.before, after=series.after
        ),
    )  # fmt: skip


def series_caution(series: PlainSeries) -> str:
    """What waiting and seeing would be worth."""
    return _(
        "Just starting everywhere and reading {before} before and {after} after against their own trend would find "
        "this fall in {power} of cases at best, and could not tell it from anything else that changed that month."
    ).format(
        before=_months(series.before), after=_months(series.after), power=share_words(series.power, 0)
    )  # fmt: skip


def _months(count: int) -> str:
    return ngettext("{count} month", "{count} months", count).format(count=count)
