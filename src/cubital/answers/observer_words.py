"""Do those who watch agree, in words: figures step by step, and what to do about a step they read differently."""

from __future__ import annotations

from cubital.answers.observers_reading import ManyReading, ObserverReading
from cubital.answers.steps_reading import StepsReading
from cubital.domain.answer import Figure
from cubital.domain.words import _, decimal_words

_MOST_NAMED = 3


def observer_figures(reading: StepsReading) -> tuple[Figure, ...]:
    """Agreement beyond chance for every step that two or more could read."""
    two = [_two_figure(one, place) for place, one in enumerate(reading.joint)]
    return (*two, *(_many_figure(one, place) for place, one in enumerate(reading.many)))


def _two_figure(one: ObserverReading, place: int) -> Figure:
    interval = one.agreement.kappa_interval()
    return Figure(
        key=f"agreement_{place}", label=_("Agreement beyond chance: {step}").format(step=one.step),
        value=one.agreement.kappa, unit="kappa", low=interval.low if interval else None,
        high=interval.high if interval else None, level=interval.level if interval else None,
        method=_("Cohen's kappa"), numerator=one.table[0] + one.table[3], denominator=one.agreement.joint,
        definition=_("draws on which both observers said the same, over draws both could read"),
        note=_("AC1 {ac1}, PABAK {pabak}: they do not fall because one answer is rare").format(
            ac1=_two_digits(one.agreement.ac1), pabak=_two_digits(one.agreement.pabak)
        ),
    )  # fmt: skip


def _many_figure(one: ManyReading, place: int) -> Figure:
    found = one.agreement
    fleiss = _("not every draw had equally many observers, so Fleiss' kappa is left out")
    if found.fleiss_kappa is not None:
        fleiss = _("Fleiss' kappa {kappa}").format(kappa=_two_digits(found.fleiss_kappa))
    return Figure(
        key=f"agreement_{place}", label=_("Agreement beyond chance: {step}").format(step=one.step), value=found.alpha,
        unit="alpha", method=_("Krippendorff's alpha, many observers"), numerator=one.same, denominator=one.draws,
        definition=_("draws on which all who watched said the same, over draws that two or more could read"),
        note=_("AC1 {ac1}; {fleiss}").format(ac1=_two_digits(found.ac1), fleiss=fleiss),
    )  # fmt: skip


def observer_cautions(reading: StepsReading) -> tuple[str, ...]:
    """Steps that are read differently, and whether enough draws were watched by more than one."""
    return (*_unclear_two(reading), *_unclear_many(reading), *_joint_cautions(reading))


def _unclear_two(reading: StepsReading) -> list[str]:
    poor = reading.policy.poor_kappa
    # No kappa means that both always said the same one thing: there is nothing to reword.
    unclear = [one for one in reading.joint if one.agreement.kappa is not None and one.agreement.kappa < poor]
    words = _(
        "Two observers agree on '{step}' in {same} of {joint} draws, kappa {kappa}: reword the item before "
        "comparing observers."
    )
    return [
        words.format(
            step=one.step, same=one.table[0] + one.table[3], joint=one.agreement.joint,
            kappa=_two_digits(one.agreement.kappa or 0.0),
        )
        for one in unclear[:_MOST_NAMED]
    ]  # fmt: skip


def _unclear_many(reading: StepsReading) -> list[str]:
    unclear = [one for one in reading.many if one.agreement.alpha < reading.policy.poor_kappa]
    words = _(
        "Those who watch agree on '{step}' in {same} of {joint} draws, alpha {alpha}: reword the item before "
        "comparing observers."
    )
    return [
        words.format(step=one.step, same=one.same, joint=one.draws, alpha=_two_digits(one.agreement.alpha))
        for one in unclear[:_MOST_NAMED]
    ]


def _joint_cautions(reading: StepsReading) -> list[str]:
    least = reading.policy.min_joint
    if not reading.joint_draws:
        unknown = _("No draw was watched by two observers, so whether they agree is not known.")
        return [unknown] if reading.observers > 1 else []
    if reading.joint_draws >= least:
        return []
    return [
        _("Only {count} draws were watched by two: too few to compare observers well ({least} are wanted).").format(
            count=reading.joint_draws, least=least
        )
    ]


def _two_digits(value: float) -> str:
    return decimal_words(f"{value:.2f}")
