"""Five of an odd organism in nine days: bad luck, or something in the supplies? One answer, and who to tell."""

from __future__ import annotations

from collections.abc import Sequence

from cubital.answers.cluster_picture import build_cluster_picture
from cubital.answers.cluster_reading import ClusterReading, FoundCluster
from cubital.answers.cluster_words import Names, cluster_sentence, usual_words
from cubital.answers.lots import Exposure, exposure_table, exposure_words
from cubital.answers.odd_growths import organism_name
from cubital.domain.answer import Answer, AnswerTable, Check, Figure, Receipt, Verdict
from cubital.domain.words import _, day_words, grouped_words, ngettext

_VOLUME_RATIO = 1.5  # drawing this much more or less than usual moves every count with it (common practice, no source)
_MOST_NAMED = 6


def build_cluster_answer(
    reading: ClusterReading,
    *,
    names: Names,
    drawn: tuple[float, float] | None = None,
    lots: Sequence[Exposure] | None = None,
    receipt: Receipt | None = None,
) -> Answer:
    """The whole answer. ``names`` are the units' names by facility and key.

    ``drawn`` are the sets a week in the days asked about and in those before; ``lots`` the lots of the organism found,
    none where no register was asked.
    """
    sentence = cluster_sentence(reading, names)
    return Answer(
        question=_("Is an odd organism clustering?"),
        verdict=_verdict(reading),
        sentence=sentence,
        figures=_figures(reading),
        cautions=_cautions(reading, lots, drawn=drawn is not None),
        picture=build_cluster_picture(reading, names, title=sentence),
        table=_table(reading, names),
        receipt=receipt,
        checks=(_baseline_check(reading), *_volume_check(drawn)),
    )


def build_lot_answer(reading: ClusterReading, *, rows: Sequence[Exposure], receipt: Receipt | None = None) -> Answer:
    """Which lots the sets that grew the organism were drawn with; an estimate that never says cause."""
    best = reading.best
    total = len(reading.events.get(best.organism, ())) if best else 0
    name = organism_name(best.organism) if best else ""
    words = exposure_words(rows, total=total) if best else _("No organism clusters, so no lot was compared.")
    return Answer(
        question=_("Which lots were in use where {organism} grew?").format(organism=name or _("it")),
        verdict=Verdict.ESTIMATE if best and rows else Verdict.TOO_FEW,
        sentence=words,
        figures=tuple(_lot_figure(row, place) for place, row in enumerate(rows)),
        cautions=(
            _("A lot in use is exposure, not cause: what shared its days and units shares its numbers."),
            _("Whether to hold a lot back is for infection prevention, the laboratory and supplies to decide."),
        ),
        table=exposure_table(rows, first=reading.look.first, last=reading.look.last) if rows else None,
        receipt=receipt,
    )


def _verdict(reading: ClusterReading) -> Verdict:
    if reading.thin:
        return Verdict.TOO_FEW
    return Verdict.SIGNAL if reading.is_signal else Verdict.WITHIN_VARIATION


def _figures(reading: ClusterReading) -> tuple[Figure, ...]:
    best = reading.best
    if best is None:
        return ()
    found = _found_figures(best)
    if reading.look.per_week is None and not reading.look.days_before:
        return found
    usual = (
        Figure(
            key="usual", label=_("Usual number"), value=best.per_week, unit="per_week",
            definition=usual_words(best), method=_usual_method(best, reading),
        ),
        Figure(key="expected", label=_("Expected in such a stretch"), value=best.expected, unit="sets"),
    )  # fmt: skip
    return (*found, *usual, *(() if reading.thin else _chances(best)))


def _found_figures(best: FoundCluster) -> tuple[Figure, ...]:
    return (
        Figure(
            key="cluster_sets", label=_("Sets that grew {organism}").format(organism=organism_name(best.organism)),
            value=float(best.stretch.count), unit="sets", definition=_("in the stretch that chance explains worst"),
        ),
        Figure(
            key="cluster_days", label=_("Days from the first to the last"), value=float(best.stretch.days), unit="days",
        ),
    )  # fmt: skip


def _usual_method(best: FoundCluster, reading: ClusterReading) -> str:
    if reading.look.per_week is not None:
        return _("as given")
    if best.at_most:
        return _("exact upper limit (95 %) of a Poisson mean after none")
    return ngettext("{count} set in {days} days before", "{count} sets in {days} days before", best.before).format(
        count=grouped_words(best.before), days=reading.look.days_before
    )


def _chances(best: FoundCluster) -> list[Figure]:
    return [
        Figure(
            key="chance", label=_("Chance of so many in that stretch"), value=best.chance, unit="",
            method=_("Poisson, exact"), definition=_("one stretch chosen beforehand"),
        ),
        Figure(
            key="chance_anywhere", label=_("Chance of something this odd anywhere we looked"),
            value=best.chance_anywhere, unit="",
            method=_("scan statistic after Naus, averaged over the baseline's doubt, times everything looked at"),
            definition=_("every stretch, set of units and odd organism; an upper limit"),
        ),
    ]  # fmt: skip


def _lot_figure(row: Exposure, place: int) -> Figure:
    return Figure(
        key=f"lot_{place}", label=f"{row.item} {row.lot}", value=row.exposed / row.exposed_sets, unit="proportion",
        numerator=row.exposed, denominator=row.exposed_sets,
        definition=_("sets that grew it, over sets drawn where and while this lot was in use"),
    )  # fmt: skip


def _cautions(reading: ClusterReading, lots: Sequence[Exposure] | None, *, drawn: bool) -> tuple[str, ...]:
    found = [_("A growth is never a diagnosis: medical microbiology decides what it means for a patient.")]
    if drawn:
        found.append(_("Of one patient's sets with the same organism only the first in four weeks is counted."))
    if reading.best is not None and lots is not None:
        found.append(exposure_words(lots, total=len(reading.events.get(reading.best.organism, ()))))
    if reading.best is not None and reading.best.at_most:
        found.append(_("The days before hold none, so the usual number is an upper limit, not zero."))
    if reading.common:
        named = ", ".join(organism_name(one) for one in reading.common[:_MOST_NAMED])
        more = " …" if len(reading.common) > _MOST_NAMED else ""
        found.append(
            _("Not looked at, because they grow more than {rate:g} times a week here: {names}.").format(
                rate=reading.policy.odd_per_week, names=named + more
            )
        )
    found.append(_("Small counts may point to a person: this page is for working with, not for passing on."))
    return tuple(found)


def _table(reading: ClusterReading, names: Names) -> AnswerTable | None:
    counts: dict[tuple[str, str, str], int] = {}
    for organism, events in reading.events.items():
        for event in events:
            key = (event.day.isoformat(), names.get((event.facility, event.unit), ""), organism_name(organism))
            counts[key] = counts.get(key, 0) + 1
    if not counts:
        return None
    return AnswerTable(
        title=_("Sets that grew an odd organism, {first} to {last}").format(
            first=day_words(reading.look.first), last=day_words(reading.look.last)
        ),
        columns=(_("Day"), _("Unit"), _("Organism"), _("Sets")),
        rows=tuple((*key, count) for key, count in sorted(counts.items())),
    )


def _baseline_check(reading: ClusterReading) -> Check:
    look = reading.look
    if look.before is None:
        return Check(
            key="baseline", passed=None, words=_("The usual number was given and could not be checked against days.")
        )
    words = _("Compared with {days} days before ({first} to {last}).").format(
        days=look.days_before, first=day_words(look.before[0]), last=day_words(look.before[1])
    )
    return Check(key="baseline", passed=not reading.thin, words=words)


def _volume_check(drawn: tuple[float, float] | None) -> tuple[Check, ...]:
    """Twice as many sets make twice as many of every organism: looked at before anything is called a cluster."""
    if drawn is None or not drawn[1]:
        return ()
    now, usual = drawn
    moved = not 1 / _VOLUME_RATIO <= now / usual <= _VOLUME_RATIO
    words = (
        _("{now} sets a week are drawn in these days, {usual} before: every organism moves with that.")
        if moved
        else _("{now} sets a week are drawn in these days, {usual} before: about as many.")
    )
    return (Check(key="volume", passed=not moved, words=words.format(now=round(now), usual=round(usual))),)
