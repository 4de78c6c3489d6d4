"""From the orders of a message to its lines: one per result of a blood culture, one with the reason per other order."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from typing import NamedTuple

from cubital.intake.hl7.delimiters import Delimiters
from cubital.intake.hl7.groups import Order, read_orders
from cubital.intake.hl7.meanings import Exam, ExamKind, Meanings, Specimen, SpecimenKind
from cubital.intake.hl7.observations import (
    CANCELLED,
    NOT_COLLECTED,
    NOTHING,
    REJECTED,
    Finding,
    Findings,
    order_status,
    read_findings,
)
from cubital.intake.hl7.particulars import read_particulars, read_specimen
from cubital.intake.hl7.splitting import Message, Segment, field
from cubital.intake.message_rows import WITHDRAWN, MessageRow

SHOWN_SIGNS = 120
_CALLED_OFF = frozenset({CANCELLED, REJECTED, WITHDRAWN})
_LOSS_OF_SPECIMEN = {
    SpecimenKind.FOREIGN: "other_specimen",
    SpecimenKind.UNCLEAR: "other_specimen",
    SpecimenKind.UNKNOWN: "unknown_specimen_code",
    SpecimenKind.NONE: "no_specimen_named",
}
_LOSS_OF_EXAM = {
    ExamKind.STAIN: "stain_row",
    ExamKind.SUSCEPTIBILITY: "further_antibiotic",
    ExamKind.OTHER_CULTURE: "other_specimen",
    ExamKind.OTHER: "other_test",
    ExamKind.UNKNOWN: "unknown_test_code",
}


class LineReader:
    """Reads message after message; keeps what is to be asked or told about the whole file.

    ``unknown_tests`` and ``unknown_specimens`` count the sender's codes that have no name and are not known;
    ``unread`` the observations of blood cultures that were left out, by name; ``cultures`` the orders that are one.
    """

    def __init__(self, answers: Mapping[str, str]) -> None:
        self.meanings = Meanings(answers)
        self.unknown_tests: Counter[str] = Counter()
        self.unknown_specimens: Counter[str] = Counter()
        self.unread: Counter[str] = Counter()
        self.cultures = 0

    def lines(self, message: Message) -> Iterable[MessageRow]:
        """The lines of one message; at least one."""
        signs = message.signs
        header = message.segments[0]
        reference = signs.text(field(header, 10))[:SHOWN_SIGNS]
        kind = signs.part(field(header, 9), 1)
        if kind != "ORU":
            words = field(header, 9).replace(signs.component, "^")[:20]
            return (self._lost(message, "not_a_result_message", reference, words),)
        orders = read_orders(message)
        if not orders:
            return (self._lost(message, "no_result_in_message", reference),)
        report = _Report(message, reference, _Accessions(orders, signs))
        return [row for order in orders for row in self._lines_of(order, report)]

    def _lines_of(self, order: Order, report: _Report) -> Iterator[MessageRow]:
        signs = report.message.signs
        exam = self.meanings.exam(field(order.request, 4), signs)
        specimen = read_specimen(order, self.meanings, signs)
        loss = self._loss(order, exam, specimen, signs)
        if loss:
            yield self._lost(report.message, loss, report.reference, exam.coded.shown)
            return
        self.cultures += 1
        findings = read_findings(order, self.meanings, signs)
        self.unread.update(findings.unread)
        yield from self._culture_lines(order, exam, findings=findings, report=report)

    def _loss(self, order: Order, exam: Exam, specimen: Specimen, signs: Delimiters) -> str:
        """Why the order is no blood culture; empty where it is one."""
        if _heads_child(order) and exam.kind in (ExamKind.SUSCEPTIBILITY, ExamKind.OTHER, ExamKind.UNKNOWN):
            return "further_antibiotic" if self._holds_grades(order, exam, signs) else _LOSS_OF_EXAM[exam.kind]
        kind = self._weighed(order, exam, signs)
        if specimen.kind is SpecimenKind.FOREIGN and kind not in (ExamKind.STAIN, ExamKind.SUSCEPTIBILITY):
            return "other_specimen"
        if kind is ExamKind.PLAIN and specimen.kind is not SpecimenKind.BLOOD:
            if specimen.kind is SpecimenKind.UNKNOWN:
                self.unknown_specimens.update(specimen.coded.local)
            return _LOSS_OF_SPECIMEN[specimen.kind]
        if kind in _LOSS_OF_EXAM:
            if kind is ExamKind.UNKNOWN and specimen.kind in (SpecimenKind.BLOOD, SpecimenKind.NONE):
                self.unknown_tests.update(exam.coded.local)
            return _LOSS_OF_EXAM[kind]
        status = order_status(order)
        if status == NOT_COLLECTED:
            return "not_collected_yet"
        return "no_result_in_message" if status == NOTHING else ""

    def _weighed(self, order: Order, exam: Exam, signs: Delimiters) -> ExamKind:
        """An order whose own code says little is a blood culture where one of its observations is coded as one."""
        if exam.kind in (ExamKind.PLAIN, ExamKind.UNKNOWN, ExamKind.OTHER):
            for segment in order.observations:
                if self.meanings.exam(field(segment, 3), signs).kind is ExamKind.CULTURE:
                    return ExamKind.CULTURE
        return exam.kind

    def _holds_grades(self, order: Order, exam: Exam, signs: Delimiters) -> bool:
        return exam.kind is ExamKind.SUSCEPTIBILITY or read_findings(order, self.meanings, signs).antibiotics > 0

    def _culture_lines(self, order: Order, exam: Exam, *, findings: Findings, report: _Report) -> Iterator[MessageRow]:
        message = report.message
        shared = read_particulars(order, self.meanings, message.signs)
        accession = report.accessions.of(order)
        status = order_status(order)
        results = findings.results or [Finding("", "", "", status)]
        called_off = not findings.results or all(one.status in _CALLED_OFF for one in results)
        refused = shared.reject_reason if called_off else ""
        one_bottle = len({one.bottle for one in results}) == 1
        for one in results:
            yield MessageRow(
                message=message.number,
                accession=accession,
                patient=shared.patient,
                birth=shared.birth,
                unit=shared.unit,
                collected=shared.collected,
                collected_offset=shared.collected_offset,
                received=shared.received,
                received_offset=shared.received_offset,
                bottle=one.bottle or exam.bottle or shared.bottle,
                fill_ml=shared.fill_ml if one_bottle else "",
                collector=shared.collector,
                site=shared.site,
                method=shared.method,
                status=REJECTED if refused and one.status == CANCELLED else one.status,
                result=one.result,
                isolate=one.isolate,
                reject_reason=refused,
                otherwise=one.otherwise,
                version=str(message.number),
                reference=report.reference,
            )
        for _number in range(findings.antibiotics):
            yield self._lost(message, "further_antibiotic", report.reference, exam.coded.shown)

    @staticmethod
    def _lost(message: Message, loss: str, reference: str, words: str = "") -> MessageRow:
        shown = " · ".join(part for part in (reference, words) if part)[:SHOWN_SIGNS]
        return MessageRow(message=message.number, reference=shown, loss=loss)


def _heads_child(order: Order) -> bool:
    """The order hangs on a result of another one: OBR-26 names the result, OBR-29 the order."""
    return bool(field(order.request, 26) or field(order.request, 29))


class _Accessions:
    """The accession number of each order of a message; an order that hangs on another one has that one's."""

    def __init__(self, orders: list[Order], signs: Delimiters) -> None:
        self._signs = signs
        self._by_number = {number: order for order in orders for number in self._numbers(order) if number}

    def of(self, order: Order) -> str:
        parent = self._parent(order)
        return self._own(parent if parent is not None else order) or self._own(order)

    def _own(self, order: Order) -> str:
        """SPM-30, the filler's order number, the specimen's number (the filler's first), the placer's order number."""
        specimen: Segment = order.specimens[0] if order.specimens else []
        stated = self._signs.part(field(specimen, 30), 1) if len(specimen) > 30 else ""
        return (
            stated
            or self._signs.part(field(order.request, 3), 1)
            or self._specimen_number(specimen)
            or self._signs.part(field(order.request, 2), 1)
        )

    def _specimen_number(self, specimen: Segment) -> str:
        """SPM-2 names the specimen twice, as the placer and as the filler know it."""
        pair = self._signs.first(field(specimen, 2)).split(self._signs.component)
        named = [self._signs.subparts(part)[0] for part in reversed(pair[:2])]
        return next((number for number in named if number), "")

    def _numbers(self, order: Order) -> tuple[str, str]:
        return self._signs.part(field(order.request, 2), 1), self._signs.part(field(order.request, 3), 1)

    def _parent(self, order: Order) -> Order | None:
        """OBR-29 names placer's and filler's number of the other order; before 2.5 the placer's alone."""
        value = field(order.request, 29)
        if not value:
            return None
        for part in self._signs.first(value).split(self._signs.component):
            found = self._by_number.get(self._signs.subparts(part)[0])
            if found is not None and found is not order:
                return found
        return None


class _Report(NamedTuple):
    """The message that is being read, how it is named to people, and its orders' numbers."""

    message: Message
    reference: str
    accessions: _Accessions
