"""How sets were drawn, filled and sent: positivity, both bottles, time to the laboratory, collector, fill, use."""

from __future__ import annotations

from cubital.domain.answer import Figure
from cubital.domain.words import _, ngettext
from cubital.indicators.shares import LEVEL, build_share
from cubital.judge.counts import MonthCounts, ProcessCounts, ProcessLimits


def positivity(counts: MonthCounts, *, level: float = LEVEL) -> Figure:
    """Sets of the population that grew anything, read or not, over its sets."""
    return build_share(
        "positivity",
        _("Grew something"),
        numerator=counts.positives,
        denominator=counts.sets,
        definition=_("sets with any growth over sets"),
        level=level,
    )


def bottle_completeness(process: ProcessCounts, *, level: float = LEVEL) -> Figure:
    """Sets with an aerobic and an anaerobic bottle (or a paediatric one), over sets whose bottle kinds are known."""
    unknown = process.sets - process.bottle_measurable
    note = ""
    if unknown and process.bottle_measurable:
        note = ngettext(
            "not measurable for {count} set: its file does not tell bottles apart",
            "not measurable for {count} sets: their file does not tell bottles apart",
            unknown,
        ).format(count=unknown)
    return build_share(
        "bottles_complete",
        _("Both bottles"),
        numerator=process.bottle_complete,
        denominator=process.bottle_measurable,
        definition=_("sets with an aerobic and an anaerobic bottle, or a paediatric one, over sets with known bottles"),
        note=note,
        nothing=_("not measurable: the file does not tell bottles apart"),
        level=level,
    )


def receipt_times(process: ProcessCounts, limits: ProcessLimits, *, level: float = LEVEL) -> tuple[Figure, ...]:
    """Median minutes from collection to receipt, the shares over the two limits, and the share that is unknown."""
    median = Figure(
        key="minutes_to_receipt",
        label=_("Collection to laboratory, median"),
        value=process.median_minutes,
        unit="minutes",
        denominator=process.timed,
        definition=_("median minutes from collection to receipt over sets with two believable times"),
        note="" if process.timed else _("no set has both times"),
    )
    late, very_late = (
        build_share(
            key,
            _("Over {minutes} minutes to the laboratory").format(minutes=minutes),
            numerator=count,
            denominator=process.timed,
            definition=_("sets received more than {minutes} minutes after collection over sets with both times").format(
                minutes=minutes
            ),
            nothing=_("no set has both times"),
            level=level,
        )
        for key, count, minutes in (
            ("receipt_late", process.late, limits.late_minutes),
            ("receipt_very_late", process.very_late, limits.very_late_minutes),
        )
    )
    unknown = build_share(
        "receipt_unknown",
        _("Time to the laboratory unknown"),
        numerator=process.sets - process.timed,
        denominator=process.sets,
        definition=_(
            "sets without a usable collection time or receipt over sets; a time that runs backwards is unknown"
        ),
        level=level,
    )
    return median, late, very_late, unknown


def collector_known(process: ProcessCounts, *, level: float = LEVEL) -> Figure:
    """Valid sets with a usable collector over valid sets, children included; not measurable where nobody is named."""
    silent = process.collector_sets - process.collector_measurable
    definition = _("valid sets whose collector is known by badge, roster or initials, over valid sets")
    if not process.collector_measurable:
        return build_share(
            "collector_known", _("Collector known"), numerator=0, denominator=0, definition=definition,
            nothing=_("not measurable: the file names no collectors"),
        )  # fmt: skip
    note = ""
    if silent:
        note = ngettext(
            "{count} set comes from a hospital whose file names no collectors",
            "{count} sets come from a hospital whose file names no collectors",
            silent,
        ).format(count=silent)
    return build_share(
        "collector_known",
        _("Collector known"),
        numerator=process.attributed,
        denominator=process.collector_sets,
        definition=definition,
        note=note,
        level=level,
    )


def fill(process: ProcessCounts, limits: ProcessLimits, *, level: float = LEVEL) -> tuple[Figure, ...]:
    """Median fill of the measured bottles in millilitres, and the shares below and above the policy's limits."""
    median = Figure(
        key="fill_median",
        label=_("Fill, median"),
        value=process.fill_median_ml,
        unit="ml",
        denominator=process.fills,
        definition=_("median millilitres over bottles with a measured fill"),
        note="" if process.fills else _("not measurable: no fill was recorded"),
    )
    shares = []
    for key, label, count, limit in (
        ("fill_low", _("Filled below {limit} ml"), process.fills_low, limits.fill_low_ml),
        ("fill_high", _("Filled above {limit} ml"), process.fills_high, limits.fill_high_ml),
    ):
        if count is not None and limit is not None and process.fills:
            shares.append(
                build_share(
                    key,
                    label.format(limit=f"{limit:g}"),
                    numerator=count,
                    denominator=process.fills,
                    definition=_("over bottles with a measured fill"),
                    level=level,
                )
            )
    return (median, *shares)


def use_rate(counts: MonthCounts, patient_days: int | None) -> Figure:
    """Sets per 1,000 patient-days: a fall in contamination by drawing fewer cultures would show here.

    No interval: the month's sets and days are all there were. Without patient-days (none, or not above zero) the value
    is none and the note says so.
    """
    known = patient_days is not None and patient_days > 0
    return Figure(
        key="use_rate",
        label=_("Sets per 1,000 patient-days"),
        value=1000 * counts.sets / patient_days if known and patient_days else None,
        unit="per_1000",
        numerator=counts.sets,
        denominator=patient_days if known else None,
        definition=_("sets per 1,000 patient-days"),
        note="" if known else _("no patient-days were given"),
    )
