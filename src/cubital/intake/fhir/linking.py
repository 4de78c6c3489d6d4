"""Follows the references of a result to its specimen, order, patient and place."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from typing import NamedTuple

from cubital.intake.fhir.gathering import Export
from cubital.intake.fhir.moments import instant_of
from cubital.intake.fhir.records import UNKNOWN_MOMENT, Finding, Moment, Order, Report, Sample, Visit
from cubital.intake.fhir.references import tail_of

DEEPEST = 5  # steps from a susceptibility to its organism, culture and report; a loop of references ends here


class Surroundings(NamedTuple):
    """What stands around one result. ``above`` are the observations that group it or that it was derived from."""

    above: tuple[Finding, ...]
    report: Report | None
    sample: Sample | None
    root: Sample | None
    sample_name: str
    order: Order | None


class Links:
    """The references of one export, turned around where need be."""

    def __init__(self, export: Export) -> None:
        self._export = export
        self._groups: dict[str, list[str]] = defaultdict(list)
        self._by_name = {held.record.name: held.record for held in export.findings if held.record.name}
        self._reports: dict[str, Report] = {}
        for held in export.findings:
            for member in held.record.members:
                self._groups[export.settled_name(member)].append(held.record.name)
            if held.record.sources:
                self._groups[held.record.name] += [export.settled_name(source) for source in held.record.sources]
        for report in export.reports:
            if report.number not in export.outdated:
                self._reports |= {export.settled_name(result): report.record for result in report.record.results}

    def holds(self, name: str) -> bool:
        """Whether the export has that observation itself."""
        return self._export.settled_name(name) in self._by_name

    def members_of(self, finding: Finding) -> Iterator[Finding]:
        """The observations that this one groups, as far as the export has them."""
        for name in finding.members:
            member = self._by_name.get(self._export.settled_name(name))
            if member is not None:
                yield member

    def around(self, finding: Finding) -> Surroundings:
        """Everything that the finding, or what stands above it, points at."""
        above = tuple(self._above(finding.name)) if finding.name in self._groups else ()
        report = self._reports.get(finding.name)
        if report is None and above:
            report = next((found for each in above if (found := self._reports.get(each.name))), None)
        specimen = finding.specimen or next((each.specimen for each in above if each.specimen), "")
        orders = finding.orders or next((each.orders for each in above if each.orders), ())
        return self._surroundings(above, report, specimen, orders)

    def around_report(self, report: Report) -> Surroundings:
        """Everything that a report points at."""
        return self._surroundings((), report, "", report.orders)

    def _surroundings(
        self, above: tuple[Finding, ...], report: Report | None, specimen: str, orders: tuple[str, ...]
    ) -> Surroundings:
        if not specimen and report is not None and len(report.specimens) == 1:
            specimen = report.specimens[0]
        if not orders and report is not None:
            orders = report.orders
        order = self._order(orders)
        if not specimen and order is not None and len(order.specimens) == 1:
            specimen = order.specimens[0]
        sample: Sample | None = self._export.find("Specimen", specimen)
        if order is None and sample is not None:
            order = self._order(sample.orders)
        return Surroundings(above, report, sample, self._root(sample), specimen, order)

    def _above(self, name: str) -> Iterator[Finding]:
        seen = {name}
        level = [name]
        for _step in range(DEEPEST):
            level = [up for each in level for up in self._groups.get(each, ()) if up not in seen]
            seen.update(level)
            for each in level:
                if each in self._by_name:
                    yield self._by_name[each]

    def _order(self, names: tuple[str, ...]) -> Order | None:
        for name in names:
            order: Order | None = self._export.find("ServiceRequest", name)
            if order is not None:
                return order
        return None

    def _root(self, sample: Sample | None) -> Sample | None:
        """The specimen from which this one was parted: the draw of which it is a bottle."""
        for _step in range(DEEPEST):
            if sample is None or not sample.parents:
                break
            parent: Sample | None = self._export.find("Specimen", sample.parents[0])
            if parent is None:
                break
            sample = parent
        return sample

    def person(self, name: str, number: str) -> tuple[str, str]:
        """Patient number and birth date; where the export has no Patient, what the reference says."""
        found = self._export.find("Patient", name)
        if found is not None and found.number:
            return found.number, found.birth
        birth = found.birth if found is not None else ""
        tail = tail_of(name)
        return number or (tail.partition("/")[2] if tail.startswith("Patient/") and "#" not in tail else ""), birth

    def collector(self, sample: Sample) -> str:
        """Who took the specimen: a number or name, followed through a role to the practitioner."""
        name = sample.collector
        for kind in ("PractitionerRole", "Practitioner"):
            found = self._export.find(kind, name)
            if found is not None:
                practitioner = self._export.find("Practitioner", found.practitioner)
                words: str = (practitioner.words if practitioner is not None else "") or found.words
                return words or sample.collector_words
        return sample.collector_words

    def unit(self, encounter: str, order: Order | None, collected: Moment) -> str:
        """The ward in which the patient lay when the blood was taken; else the place that the order names."""
        visit: Visit | None = self._export.find("Encounter", encounter)
        if visit is not None and visit.stays:
            stays = visit.stays
            if len(stays) == 1:
                return self._place(stays[0].place, stays[0].words)
            moment = instant_of(collected)
            if moment is not None:
                for stay in reversed(stays):
                    start, end = instant_of(stay.start), instant_of(stay.end)
                    if (start is not None or end is not None) and not (
                        (start is not None and moment < start) or (end is not None and moment >= end)
                    ):
                        return self._place(stay.place, stay.words)
        if order is not None and (order.place or order.place_words):
            return self._place(order.place, order.place_words)
        return ""

    def _place(self, name: str, words: str) -> str:
        place = self._export.find("Location", name)
        for _step in range(DEEPEST):
            if place is None or not place.within:
                break
            around = self._export.find("Location", place.within)
            if around is None:
                break
            place = around
        return (place.words if place is not None else "") or words


def collection_time(around: Surroundings, finding: Finding | None) -> Moment:
    """When the blood was taken: as the specimen says, else as the result's effective time.

    ``issued`` is when a result was released and is never taken for it. FHIR R4 calls the effective time of a laboratory
    result that of the specimen's collection.
    """
    for sample in (around.sample, around.root):
        if sample is not None and sample.collected is not UNKNOWN_MOMENT:
            return sample.collected
    for each in (finding, *around.above):
        if each is not None and each.effective is not UNKNOWN_MOMENT:
            return each.effective
    return around.report.effective if around.report is not None else UNKNOWN_MOMENT
