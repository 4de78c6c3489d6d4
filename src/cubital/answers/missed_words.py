"""How the compared models are named, how a range is rounded outward, and why a model is struck through."""

from __future__ import annotations

import math
from itertools import cycle

from cubital.answers.missed_reading import LEAST_FOUND, MissedReading, ModelReading, Struck
from cubital.domain.words import _, decimal_words, grouped_words, ngettext
from cubital.reference.collection_guidance import Confidence

MOST_STEPS = 10  # a rounded range reaches at most so many of its own steps


def model_name(key: str) -> str:
    """The model in a few words; its study stands beside it."""
    return {
        "curve": _("added sets, Lee 2007"),
        "curve_other": _("added sets, Cockerill 2004"),
        "campaign": _("a campaign, Khare 2020"),
        "odds_101": _("odds 1.01 per mL, ICU"),
        "odds_102": _("odds 1.02 per mL, ICU"),
        "line_3": _("3 % per mL, Mermel 1993"),
        "odds_113": _("odds 1.13 per mL, 2019"),
        "single_lee": _("second set, Lee 2007"),
        "single_cockerill": _("second set, Cockerill 2004"),
        "single_washington": _("second set, Washington 1975"),
        "single_independent": _("every set a fresh chance"),
    }[key]


def round_outward(low: float, high: float) -> tuple[int, int]:
    """Both ends in whole steps of 1, 2 or 5 times a power of ten, the low one down and the high one up; never alike.

    Both ends are finite and not negative.

    >>> round_outward(22.1, 59.1)
    (20, 60)
    >>> round_outward(69.0, 512.0)
    (60, 600)
    """
    step, factors = 1, cycle((2, 2.5, 2))  # 1, 2, 5, 10, 20, 50, 100 ...
    while high > MOST_STEPS * step:
        step = round(step * next(factors))
    first, last = math.floor(low / step) * step, math.ceil(high / step) * step
    if not first and low >= 1:  # something is not nothing: the low end in steps of its own
        return round_outward(low, low)[0], last
    return first, last if last > first else last + step


def range_words(low: float, high: float) -> str:
    """``about 20–60, model-dependent``."""
    first, last = round_outward(low, high)
    return _("about {low}–{high}, model-dependent").format(low=grouped_words(first), high=grouped_words(last))


def ml_words(volume_ml: float) -> str:
    """``22.4 mL``."""
    return _("{volume} mL").format(volume=decimal_words(f"{volume_ml:.1f}".removesuffix(".0")))


def counted_words() -> str:
    """What stands beside a model that is not struck through."""
    return _("counted")


def struck_words(model: ModelReading, reading: MissedReading) -> str:
    """Why the model is struck through; empty where it is counted."""
    reasons = []
    if Struck.BEYOND_RANGE in model.struck and model.study.span_ml is not None:
        reasons.append(
            _("it has to run over {asked} and was observed over {span}").format(
                asked=ml_words(model.asked_ml), span=ml_words(model.study.span_ml)
            )
        )
    if Struck.BELOW_A_SET in model.struck and model.study.set_ml is not None:
        reasons.append(
            _("it counted whole sets of {volume}, and an episode here holds less than one").format(
                volume=ml_words(model.study.set_ml)
            )
        )
    if Struck.BEYOND_ALL in model.struck and not math.isfinite(model.missed):
        reasons.append(_("it says that nothing at all would be found"))
    elif Struck.BEYOND_ALL in model.struck and reading.ceiling is not None and math.isfinite(reading.ceiling):
        reasons.append(
            _("it says more than the {most} that could be missing at all").format(
                most=grouped_words(math.floor(reading.ceiling))
            )
        )
    return _("struck through: {reasons}").format(reasons="; ".join(reasons)) if reasons else ""


def observed_words(model: ModelReading) -> str:
    """Over what the study observed it."""
    study = model.study
    if study.low_ml is None or study.high_ml is None:
        return _("range not confirmed")
    measure = {"episode": _("per episode"), "set": _("per set"), "bottle": _("per bottle")}[study.measure]
    return _("{low} to {high} {measure}").format(
        low=decimal_words(f"{study.low_ml:g}"), high=ml_words(study.high_ml), measure=measure
    )


def confidence_words(confidence: Confidence) -> str:
    """How a number of a study was come by."""
    return {
        Confidence.READ: _("read in the source"),
        Confidence.SECONDARY: _("read where it is quoted"),
        Confidence.MEMORY: _("from memory, not confirmed"),
    }[confidence]


def counted_models_words(reading: MissedReading) -> str:
    """How many models are counted and how many are struck through."""
    counted, struck = len(reading.counted), len(reading.models) - len(reading.counted)
    words = ngettext("{count} published model is counted", "{count} published models are counted", counted).format(
        count=counted
    )
    if not struck:
        return words
    others = ngettext(
        "{count} over-extrapolates and is struck through", "{count} over-extrapolate and are struck through", struck
    ).format(count=struck)
    return _("{counted}; {struck}").format(counted=words, struck=others)


def few_found_words(found: int) -> str:
    """Too few infections a year for a share of them to say anything."""
    return ngettext(
        "{count} infection was found in a year: too few to say. {more} more are needed.",
        "{count} infections were found in a year: too few to say. {more} more are needed.",
        found,
    ).format(count=found, more=max(0, LEAST_FOUND - found))


def found_not_known_words() -> str:
    """Nobody said how many infections are found."""
    return _("How many infections are found a year is not known. Give the number, or take a laboratory file in.")


def whole_from_ten(value: float) -> float:
    """A model's number no finer than it deserves: whole from ten on, tenths below."""
    return float(round(value)) if value >= 10 else round(value, 1)
