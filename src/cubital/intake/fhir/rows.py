"""Makes the lines: one for every observation and report, with its result or with the reason why it is none."""

from __future__ import annotations

from collections.abc import Iterator

from cubital.intake.fhir.codings import Concept
from cubital.intake.fhir.gathering import Export
from cubital.intake.fhir.linking import Links, Surroundings, collection_time
from cubital.intake.fhir.records import Component, Finding, Report, Sample
from cubital.intake.fhir.references import tail_of
from cubital.intake.fhir.scope import (
    SUSCEPTIBILITY_LETTERS,
    bottle_of_container,
    bottle_of_test,
    is_blood,
    kind_of_test,
    names_organism,
    result_words,
    said_otherwise,
    tells_growth,
    words_of,
)
from cubital.intake.message_rows import MessageRow
from cubital.reference.standard_codes import CodeMeaning

# FHIR R4 observation-status and diagnostic-report-status, in words of ``status_words``.
_STATUS = {
    "registered": "preliminary", "partial": "preliminary", "preliminary": "preliminary", "final": "final",
    "amended": "corrected", "corrected": "corrected", "appended": "final", "cancelled": "cancelled",
    "entered-in-error": "entered in error",
}  # fmt: skip
_OPEN = frozenset({"preliminary", "cancelled"})
_UNFIT = frozenset({"unavailable", "unsatisfactory"})
_CULTURE_TESTS = frozenset(
    {CodeMeaning.CULTURE, CodeMeaning.PLAIN_CULTURE, CodeMeaning.ORGANISM_TEST, CodeMeaning.STAIN}
)
BACKGROUND, HEADS_OTHERS = "read_beside_results", "heads_other_results"


class RowMaker:
    """The lines of one export."""

    def __init__(self, export: Export) -> None:
        self._export = export
        self._links = Links(export)

    def rows(self) -> Iterator[MessageRow]:
        """Every line of every observation and report, in the order of the export."""
        outdated = self._export.outdated
        for number, finding in self._export.findings:
            reference = _shown(finding.name, "Observation")
            if number in outdated:
                yield MessageRow(number, reference=reference, loss="superseded")
            else:
                yield from self._of_finding(number, finding, reference)
        for number, report in self._export.reports:
            reference = _shown(report.name, "DiagnosticReport")
            if number in outdated:
                yield MessageRow(number, reference=reference, loss="superseded")
            else:
                yield self._of_report(number, report, reference)

    def _of_finding(self, number: int, finding: Finding, reference: str) -> Iterator[MessageRow]:
        around = self._links.around(finding)
        organisms = [part for part in finding.components if _is_organism(part)]
        result = result_words(finding.value, finding.judged)
        loss = self._loss(finding, around, result, bool(organisms))
        if loss:
            yield MessageRow(number, reference=reference, loss=loss)
            return
        line = self._line(number, finding, around, reference)
        if organisms and not names_organism(result):
            for place, part in enumerate(organisms):
                words = result_words(part.value, "")
                isolate = f"{finding.name}.{place}"
                yield line._replace(result=words, isolate=isolate, otherwise=said_otherwise(part.value))
            return
        isolate = finding.name if names_organism(result) else ""
        yield line._replace(result=result, isolate=isolate, otherwise=said_otherwise(finding.value))

    def _loss(self, finding: Finding, around: Surroundings, result: str, organisms: bool) -> str:
        """Why an observation is no result of a blood culture; empty where it is one."""
        kind = kind_of_test(finding.test)
        if kind is CodeMeaning.SUSCEPTIBILITY or finding.judged in SUSCEPTIBILITY_LETTERS:
            return "further_antibiotic" if self._of_blood_culture(around) else "other_test"
        if kind in _CULTURE_TESTS:
            return _culture_loss(kind, around) or (HEADS_OTHERS if self._only_heads(finding, result, organisms) else "")
        if _blood(around) is False or kind is CodeMeaning.OTHER_CULTURE or not _in_culture(around):
            return "other_test"
        if finding.members and not result:
            return HEADS_OTHERS
        telling = organisms or (bool(result) and not finding.measured and tells_growth(result))
        return "" if telling else "not_for_cultures"

    def _of_blood_culture(self, around: Surroundings) -> bool:
        return _blood(around) is not False and (_in_culture(around) or _blood(around) is True)

    def _only_heads(self, finding: Finding, result: str, organisms: bool) -> bool:
        """It names nothing itself, but groups observations of the export that do."""
        if organisms or names_organism(result):
            return False
        return any(
            kind_of_test(member.test) is not CodeMeaning.SUSCEPTIBILITY
            and tells_growth(result_words(member.value, member.judged))
            for member in self._links.members_of(finding)
        )

    def _line(self, number: int, finding: Finding, around: Surroundings, reference: str) -> MessageRow:
        bottle = _bottle(finding.test, around)
        line = self._shared(number, around, finding, finding.status, bottle)
        return line._replace(site=line.site or finding.site, reference=reference)

    def _shared(
        self, number: int, around: Surroundings, finding: Finding | None, status: str, bottle: str
    ) -> MessageRow:
        """Everything of a line that does not hang on the result: number, patient, times, place, people."""
        report, order = around.report, around.order
        sample, root = around.sample, around.root
        bearer = finding if finding is not None and finding.patient else report
        person = (bearer.patient if bearer else "") or (sample.patient if sample else "")
        encounter = next(
            (each.encounter for each in (finding, *around.above, report, order) if each is not None and each.encounter),
            "",
        )
        collected = collection_time(around, finding)
        patient, birth = self._links.person(person, bearer.patient_number if bearer else "")
        received = next((each.received for each in (sample, root) if each is not None and each.received.clock), None)
        status, reason = _standing(status, around, finding)
        return MessageRow(
            number,
            accession=_accession(around, finding),
            patient=patient,
            birth=birth,
            unit=self._links.unit(encounter, order, collected),
            collected=collected.clock,
            collected_offset=collected.offset,
            received=received.clock if received else "",
            received_offset=received.offset if received else "",
            bottle=bottle,
            fill_ml=_fill(sample, bottle) if sample is not None and bottle else "",
            collector=self._collector(sample, root),
            site=_said(sample, root, "site"),
            method=_said(sample, root, "method"),
            status=status,
            reject_reason=reason,
        )

    def _collector(self, sample: Sample | None, root: Sample | None) -> str:
        for each in (sample, root):
            if each is not None and (each.collector or each.collector_words):
                return self._links.collector(each)
        return ""

    def _of_report(self, number: int, report: Report, reference: str) -> MessageRow:
        """A report whose results are in the export only heads them; without them its conclusion is read."""
        around = self._links.around_report(report)
        loss = self._report_loss(report, around)
        if loss:
            return MessageRow(number, reference=reference, loss=loss)
        line = self._shared(number, around, None, report.status, _bottle(report.test, around))
        return line._replace(result=report.words, reference=reference)

    def _report_loss(self, report: Report, around: Surroundings) -> str:
        kind = kind_of_test(report.test)
        if any(self._links.holds(result) for result in report.results):
            return HEADS_OTHERS
        blood = _blood(around)
        of_culture = kind is CodeMeaning.CULTURE or _in_culture(around)
        if not of_culture and not (blood and kind in (CodeMeaning.PLAIN_CULTURE, CodeMeaning.ORGANISM_TEST)):
            return "other_test"
        return "other_specimen" if blood is False else ""


def _shown(name: str, kind: str) -> str:
    """How people find the resource again: its type and id; an address made up for one bundle says nothing."""
    return kind if not name or name.startswith(("urn:", "#")) else tail_of(name)


def _is_organism(part: Component) -> bool:
    kind = kind_of_test(part.test)
    if kind is CodeMeaning.SUSCEPTIBILITY:
        return False
    return names_organism(result_words(part.value, "")) or (
        kind in (CodeMeaning.CULTURE, CodeMeaning.ORGANISM_TEST) and bool(part.value.words)
    )


def _blood(around: Surroundings) -> bool | None:
    for sample in (around.sample, around.root):
        if sample is not None and (blood := is_blood(sample.kind)) is not None:
            return blood
    return None


def _in_culture(around: Surroundings) -> bool:
    """The result stands in a blood culture: the observation above it, its report or its order is one."""
    tests: list[Concept] = [each.test for each in around.above]
    tests += [each.test for each in (around.report, around.order) if each is not None]
    return any(kind_of_test(test) is CodeMeaning.CULTURE for test in tests)


def _culture_loss(kind: CodeMeaning, around: Surroundings) -> str:
    """Why a culture, or an organism or stain reported by itself, is not of blood."""
    blood = _blood(around)
    if blood is False:
        return "other_specimen"
    if kind is not CodeMeaning.CULTURE and not blood and not _in_culture(around):
        return "no_specimen_named"
    return "stain_row" if kind is CodeMeaning.STAIN else ""


def _bottle(test: Concept, around: Surroundings) -> str:
    """The bottle that the test, what stands above it, the container or the specimen's own words name."""
    for each in (test, *(above.test for above in around.above)):
        if bottle := bottle_of_test(each):
            return bottle
    sample = around.sample
    if sample is None:
        return ""
    words = [sample.containers[0].words] if len(sample.containers) == 1 else []
    words += [sample.kind.words, sample.method.words]
    return next((bottle for each in words if (bottle := bottle_of_container(each))), "")


def _fill(sample: Sample, bottle: str) -> str:
    """The millilitres in this bottle; the amount of a draw of several bottles is no bottle's own."""
    for container in sample.containers:
        if container.fill_ml and (len(sample.containers) == 1 or bottle_of_container(container.words) == bottle):
            return container.fill_ml
    return sample.fill_ml if sample.parents or len(sample.containers) == 1 else ""


def _said(sample: Sample | None, root: Sample | None, element: str) -> str:
    for each in (sample, root):
        if each is not None and (words := words_of(getattr(each, element))):
            return words
    return ""


def _accession(around: Surroundings, finding: Finding | None) -> str:
    """The number of the draw: an accession number wherever one stands, else the specimen's own identifier or id."""
    sample, root, report, order = around.sample, around.root, around.report, around.order
    for each in (root, sample, finding, report, order):
        if each is not None and each.accession:
            return each.accession
    for specimen in (root, sample):
        if specimen is not None and specimen.identifier:
            return specimen.identifier
    tail = tail_of(around.sample_name)
    return tail.partition("/")[2] if tail.startswith("Specimen/") and "#" not in tail else ""


def _standing(status: str, around: Surroundings, finding: Finding | None) -> tuple[str, str]:
    """Status word and reason of rejection. An unfit specimen rejects what has no result, never a reported one."""
    standing = _STATUS.get(status, status)
    bare = finding is not None and not finding.value.words
    for sample in (around.sample, around.root):
        if sample is None:
            continue
        if sample.status == "entered-in-error":
            return "entered in error", ""
        if sample.status in _UNFIT and (standing in _OPEN or bare):
            return "rejected", (finding.absent if finding is not None else "") or sample.condition
    return standing, ""
