"""Which chart fits these months, and why, in words for the person who did not ask for a chart."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from cubital.answers.charts.kinds import ChartKind
from cubital.answers.charts.monthly import read_chart
from cubital.answers.counts import MonthCount
from cubital.answers.signal_reading import Baseline, SignalPolicy
from cubital.domain.words import _, decimal_words
from cubital.stats.tails import dispersion_chance

RARE = 1.5  # contaminations a month below which many months have none (common practice, no source)
SLOW = 3.0  # months after which a doubled rate should have been found
FEW_MONTHS = 8  # expected contaminations below which scatter cannot be told from chance by chi-square


@dataclass(frozen=True, kw_only=True)
class Choice:
    """The chart that fits and the reason in one sentence."""

    kind: ChartKind
    why: str


def choose_chart(
    counts: Sequence[MonthCount], *, policy: SignalPolicy | None = None, locked: tuple[str, str] | None = None
) -> Choice:
    """The chart for these months (time order, at least one); always one, the proportion chart where none can judge."""
    rules = policy or SignalPolicy()
    plain = read_chart(counts, kind=ChartKind.P, policy=rules, locked=locked)
    expected = plain.center * plain.cost_sets
    if plain.state is not Baseline.SOUND:
        return Choice(kind=ChartKind.P, why="")
    if expected < RARE:
        return Choice(
            kind=ChartKind.GAPS,
            why=_(
                "Contaminations are rare here, about {count} a month, so that many months have none and a share says "
                "little: the sets between them say more."
            ).format(count=decimal_words(f"{expected:.1f}")),
        )
    held = [c for c in plain.baseline if c.sets]
    scatter = dispersion_chance([c.contaminated for c in held], [c.sets for c in held])
    if expected >= FEW_MONTHS and scatter <= rules.dispersion_chance:
        stretched = read_chart(counts, kind=ChartKind.LANEY, policy=rules, locked=locked)
        if stretched.spread > 1:
            return Choice(
                kind=ChartKind.LANEY,
                why=_(
                    "The months scatter more than chance alone would make them, so the limits are stretched to what is "
                    "usual here."
                ),
            )
    if plain.cost.found_after is None or plain.cost.found_after > SLOW:
        return Choice(
            kind=ChartKind.CUSUM,
            why=_(
                "The months are small: looked at one by one, even a doubled rate would stay hidden for long. A sum "
                "over months finds it sooner."
            ),
        )
    return Choice(
        kind=ChartKind.P,
        why=_("The months are large and scatter as chance makes them, so each can be judged by itself."),
    )
