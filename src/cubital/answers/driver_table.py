"""Which policy change would move which number: published effects over local shares. Scenarios, not causal proof."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from cubital.answers.driver_words import (
    against_words,
    change_words,
    effect_words,
    grade_words,
    moves_words,
    share_of_words,
    source_words,
)
from cubital.answers.interval_picture import IntervalRow, build_interval_picture
from cubital.answers.missed_words import range_words
from cubital.answers.scenario import PublishedRisk, rate_without
from cubital.answers.single_sets import SingleSets, single_sets_span
from cubital.domain.answer import Answer, AnswerTable, Cell, Figure, Receipt, Verdict
from cubital.domain.words import _, grouped_words, share_words
from cubital.reference.policy_drivers import Effect, PolicyDriver, Share, policy_drivers

MIN_SETS = 100  # fewer sets than this make no usual rate worth multiplying (common practice, no source)


@dataclass(frozen=True, kw_only=True)
class LocalShares:
    """Counts of a place, and the share of each that a change would touch (0 to 1); a share that is not known is absent.

    ``of_sets`` counted sets, ``contaminated`` among them; ``found`` are infections found a year, none where not known.
    """

    sets: int
    contaminated: int
    shares: Mapping[Share, float] = field(default_factory=dict)
    found: int | None = None

    def __post_init__(self) -> None:
        if not 0 <= self.contaminated <= self.sets or any(not 0 <= share <= 1 for share in self.shares.values()):
            raise ValueError("parts are not larger than the whole")

    @property
    def rate(self) -> float:
        """Contaminated over counted sets."""
        return self.contaminated / self.sets if self.sets else 0.0

    def share(self, share: Share) -> float | None:
        """The local share; 1 where a change touches every draw, none where it is not known."""
        return 1.0 if share is Share.ALL else self.shares.get(share)


@dataclass(frozen=True, kw_only=True)
class Movement:
    """What one change would make of the local contamination rate: the published value, and its ends."""

    driver: PolicyDriver
    value: float
    low: float
    high: float


def read_movement(driver: PolicyDriver, local: LocalShares) -> Movement | None:
    """The rate in this scenario; none where no size was published, the share is not known or nothing is touched."""
    share = local.share(driver.share)
    if driver.value is None or driver.low is None or driver.high is None or not share or local.sets < MIN_SETS:
        return None
    risk = PublishedRisk(ratio=driver.value, low=driver.low, high=driver.high, source=driver.source)

    def rate(ratio: float) -> float:
        if driver.effect is Effect.TIMES:
            return rate_without(local.rate, share=share, ratio=ratio)
        return local.rate * (1 - share + share * ratio)

    ends = sorted((rate(risk.low), rate(risk.high)))
    return Movement(driver=driver, value=rate(risk.ratio), low=ends[0], high=ends[1])


def build_driver_answer(local: LocalShares, *, receipt: Receipt | None = None) -> Answer:
    """The whole table. With too few sets the evidence still stands there, and no movement is worked out."""
    moved = [one for one in (read_movement(driver, local) for driver in policy_drivers()) if one is not None]
    sentence = _sentence(local, moved)
    return Answer(
        question=_("Which policy change would move which number?"),
        verdict=Verdict.ESTIMATE if moved else Verdict.TOO_FEW, sentence=sentence,
        figures=_figures(local, moved), cautions=_cautions(), picture=_picture(local, moved, title=sentence),
        table=_table(local, moved), receipt=receipt,
    )  # fmt: skip


def _sentence(local: LocalShares, moved: list[Movement]) -> str:
    if local.sets < MIN_SETS:
        return _("There are {sets} sets; {more} more are needed before a scenario means anything.").format(
            sets=grouped_words(local.sets), more=grouped_words(MIN_SETS - local.sets)
        )
    spans = [(one.low, one.high) for one in moved]
    return _(
        "{count} changes have a published size that can be laid over the {rate} contaminated here: each would leave "
        "between {low} and {high} by its own studies. Scenarios, not causal proof, and not to be added up."
    ).format(
        count=len(moved), rate=share_words(local.rate), low=share_words(min(low for low, _high in spans)),
        high=share_words(max(high for _low, high in spans)),
    )  # fmt: skip


def _figures(local: LocalShares, moved: list[Movement]) -> tuple[Figure, ...]:
    if not local.sets:
        return ()
    now = Figure(
        key="local_rate", label=_("Contaminated sets now"), value=local.rate, unit="proportion",
        numerator=local.contaminated, denominator=local.sets,
    )  # fmt: skip
    return (now, *(
        Figure(
            key=f"driver_{one.driver.key}",
            label=_("Scenario: {change}").format(change=change_words(one.driver.key)),
            value=one.value, unit="proportion", low=one.low, high=one.high,
            method=_("published effect over the local share; not causal proof"),
            definition=_("contamination rate if this change did here what it did there and nothing else changed"),
        )
        for one in moved
    ))  # fmt: skip


def _cautions() -> tuple[str, ...]:
    return (
        _("Scenario, not a forecast: places that publish a change are places where it went well."),
        _("Effects do not add up: two changes that prevent the same contamination prevent it once."),
        _("What is strong is the study and not its fit to your place. Ask who would be asked to change, first."),
        _("Lower contamination by fewer cultures or second sets is no gain: watch use and single sets beside it."),
    )


def _table(local: LocalShares, moved: list[Movement]) -> AnswerTable:
    rates = {one.driver.key: one for one in moved}
    return AnswerTable(
        title=_("Changes of policy, and what they have moved elsewhere"),
        columns=(
            _("If policy changed"), _("Published effect"), _("Studied"), _("Touched here"), _("Scenario here"),
            _("Against it"), _("Source"),
        ),
        rows=tuple(_row(driver, local, rates.get(driver.key)) for driver in policy_drivers()),
    )  # fmt: skip


def _row(driver: PolicyDriver, local: LocalShares, moved: Movement | None) -> tuple[Cell, ...]:
    return (
        _("{change} ({moves})").format(change=change_words(driver.key), moves=moves_words(driver.moves)),
        effect_words(driver), grade_words(driver.grade),
        share_of_words(driver.share, local.share(driver.share)), _scenario_words(driver, local, moved),
        against_words(driver.key),
        source_words(driver),
    )  # fmt: skip


def _scenario_words(driver: PolicyDriver, local: LocalShares, moved: Movement | None) -> str:
    if moved is not None:
        return _("contaminated {now} to between {low} and {high}").format(
            now=share_words(local.rate), low=share_words(moved.low), high=share_words(moved.high)
        )
    if local.share(driver.share) == 0:
        return _("nothing of it here")
    if driver.effect is Effect.SETS:
        span = single_sets_span(SingleSets(found=local.found, share=local.shares.get(Share.SINGLE)))
        if span is not None:
            return _("more infections found a year: {range}").format(range=range_words(*span))
    if driver.effect is Effect.VOLUME:
        return _("see What are we missing? It needs a weigh-in")
    return _("not worked out")


def _picture(local: LocalShares, moved: list[Movement], *, title: str) -> dict[str, object]:
    rows = [
        IntervalRow(
            name=change_words(one.driver.key), value=one.value, low=one.low, high=one.high,
            words=grade_words(one.driver.grade, short=True),
        )
        for one in moved
    ]  # fmt: skip
    now = _("now {share}").format(share=share_words(local.rate))
    return build_interval_picture(rows, title=title, line=local.rate, line_words=now)
