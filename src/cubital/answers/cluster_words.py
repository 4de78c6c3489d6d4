"""What is said aloud about a cluster: how many, which days, which units, what is usual, how rarely chance does it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping

from cubital.answers.cluster_reading import ClusterReading, FoundCluster, Unit
from cubital.answers.counted_words import capital
from cubital.answers.odd_growths import organism_name
from cubital.domain.words import _, day_words, decimal_words, grouped_words, ngettext, number_words, share_words

Names = Mapping[Unit, str]
_MOST_UNITS = 4


def cluster_sentence(reading: ClusterReading, names: Names) -> str:
    """One or two sentences: what was found and what to do now. Never what it means for a patient."""
    if reading.thin:
        return _thin_words(reading, names)
    if reading.best is None:
        return _nothing_words(reading)
    found = finding_words(reading.best, names)
    if not reading.is_signal:
        return " ".join((found, _usual_words(reading), _("No call is needed because of this alone.")))
    return " ".join((found, _usual_words(reading), call_words()))


def call_words() -> str:
    """What to do today, and whose decision it is not."""
    return _("Tell infection prevention and the laboratory today; whether to quarantine anything is their decision.")


def finding_words(found: FoundCluster, names: Names) -> str:
    """``Five sets grew Bacillus within nine days (3 March 2026 to 11 March 2026), in two units: ED 3, ICU 2; …``"""
    stretch = found.stretch
    words = ngettext(
        "{count} sets grew {organism} within {days} day ({first} to {last}), in {units}; usual are {usual}, so {mean} "
        "expected here. Chance alone fills such a stretch {chance}.",
        "{count} sets grew {organism} within {days} days ({first} to {last}), in {units}; usual are {usual}, so {mean} "
        "expected here. Chance alone fills such a stretch {chance}.",
        stretch.days,
    )
    return words.format(
        count=capital(number_words(stretch.count)),
        organism=organism_name(found.organism),
        days=number_words(stretch.days),
        first=day_words(stretch.first),
        last=day_words(stretch.last),
        units=unit_words(found, names),
        usual=usual_words(found),
        mean=number_text(found.expected),
        chance=chance_words(found.chance),
    )


def unit_words(found: FoundCluster, names: Names) -> str:
    """``two units (ED 3, ICU 2)``, at most four by name."""
    counts = Counter((event.facility, event.unit) for event in found.events)
    ordered = sorted(counts.items(), key=lambda pair: (-pair[1], names.get(pair[0], "")))
    named = [f"{names.get(unit) or _('unit not named')} {count}" for unit, count in ordered[:_MOST_UNITS]]
    if len(ordered) > _MOST_UNITS:
        named.append("…")
    return ngettext("{count} unit ({names})", "{count} units ({names})", len(ordered)).format(
        count=number_words(len(ordered)), names=", ".join(named)
    )


def usual_words(found: FoundCluster) -> str:
    """``0.4 a week``, or ``none, at most 0.06 a week`` after a baseline without any."""
    weekly = number_text(found.per_week)
    if found.at_most:
        return _("none before, at most {weekly} a week").format(weekly=weekly)
    return _("{weekly} a week").format(weekly=weekly)


def number_text(value: float) -> str:
    """Two digits that matter, in the current language: ``0.51``, ``1.4``, ``12``."""
    digits = 0 if value >= 10 else 1 if value >= 1 else 2 if value >= 0.05 else 3
    text = f"{value:.{digits}f}"
    return decimal_words(text.rstrip("0").rstrip(".") if "." in text else text)


def chance_words(chance: float) -> str:
    """``about 2 times in 10,000 (0.0002)``; from one in a hundred on as a percentage."""
    if chance >= 0.01:
        return _("in {share} of cases").format(share=share_words(chance))
    times = round(10_000 * chance)
    if times < 1:
        return _("less than once in 10,000 times")
    return ngettext("about {times} time in {all} ({chance})", "about {times} times in {all} ({chance})", times).format(
        times=times, all=grouped_words(10_000), chance=decimal_words(f"{chance:.4f}")
    )


def _usual_words(reading: ClusterReading) -> str:
    best = reading.best
    if best is None:
        raise ValueError("nothing was found to say this of")
    share = share_words(best.chance_anywhere) if best.chance_anywhere >= 0.0005 else _("less than 0.1 %")
    return ngettext(
        "Looking everywhere ({days} days, all units, {count} odd organism), chance shows something this odd "
        "in {share} of looks.",
        "Looking everywhere ({days} days, all units, {count} odd organisms), chance shows something this odd "
        "in {share} of looks.",
        reading.odd,
    ).format(days=reading.look.days, count=reading.odd, share=share)


def _thin_words(reading: ClusterReading, names: Names) -> str:
    need = reading.policy.min_baseline_days - reading.look.days_before
    words = ngettext(
        "There is too little before these days to know what is usual: {days} day more is needed, or the usual number a "
        "week from the laboratory.",
        "There is too little before these days to know what is usual: {days} days more are needed, or the usual number "
        "a week from the laboratory.",
        need,
    ).format(days=need)
    if reading.best is None:
        return words
    stretch = reading.best.stretch
    seen = _("{count} sets grew {organism} from {first} to {last}, in {units}.").format(
        count=capital(number_words(stretch.count)), organism=organism_name(reading.best.organism),
        first=day_words(stretch.first), last=day_words(stretch.last), units=unit_words(reading.best, names),
    )  # fmt: skip
    return " ".join((seen, words, _("If the laboratory finds it odd, it need not wait for a number.")))


def _nothing_words(reading: ClusterReading) -> str:
    total = sum(len(events) for events in reading.events.values())
    span = _("{first} to {last}").format(first=day_words(reading.look.first), last=day_words(reading.look.last))
    if not total:
        return _("No organism that is rare here grew from {span}.").format(span=span)
    return ngettext(
        "Nothing clusters from {span}: {count} set grew an organism that is rare here, and no {least} of one kind lie "
        "within {days} days.",
        "Nothing clusters from {span}: {count} sets grew an organism that is rare here, and no {least} of one kind lie "
        "within {days} days.",
        total,
    ).format(
        span=span, count=number_words(total), least=number_words(reading.policy.min_events),
        days=max(reading.policy.lengths),
    )  # fmt: skip
