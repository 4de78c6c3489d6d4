"""Who, where and when of an order: patient, unit, collector, times, site, method, rejection."""

from __future__ import annotations

from typing import NamedTuple

from cubital.intake.hl7.delimiters import Delimiters
from cubital.intake.hl7.groups import NO_SEGMENT, Order
from cubital.intake.hl7.meanings import Meanings, Specimen
from cubital.intake.hl7.splitting import Segment, field
from cubital.intake.message_times import split_time

_MILLILITRES = frozenset({"", "ml", "cc", "mls", "cm3"})
_NO_SITE = ("", "")


class Particulars(NamedTuple):
    """The cells of ``message_rows.MessageRow`` that every line of an order shares."""

    patient: str
    birth: str
    unit: str
    collected: str
    collected_offset: str
    received: str
    received_offset: str
    collector: str
    site: str
    method: str
    fill_ml: str
    reject_reason: str
    bottle: str


def read_particulars(order: Order, meanings: Meanings, signs: Delimiters) -> Particulars:
    """Everything the order says beside its result. The first specimen speaks for all; its times go before OBR's."""
    request = order.request
    specimens = order.specimens
    specimen = specimens[0] if specimens else NO_SEGMENT
    collected, collected_offset = _first_time((field(specimen, 17), field(request, 7)), signs)
    received, received_offset = _first_time((field(specimen, 18), field(request, 14)), signs)
    site, method = _place(specimen, request, meanings=meanings, signs=signs)
    return Particulars(
        patient=read_patient(order.patient, signs),
        birth=split_time(signs.text(signs.first(field(order.patient, 7))))[0][:10],
        unit=_unit(field(order.visit, 3), signs),
        collected=collected,
        collected_offset=collected_offset,
        received=received,
        received_offset=received_offset,
        collector=_person(field(request, 10), signs),
        site=site,
        method="" if meanings.bottle(field(specimen, 7), signs) else method,
        fill_ml=_millilitres(field(specimen, 12), signs) if len(specimens) == 1 else "",
        reject_reason=meanings.words(field(specimen, 21), "0490", signs),
        bottle=_bottle(specimens, meanings, signs),
    )


def read_patient(segment: Segment, signs: Delimiters) -> str:
    """The medical record number (type MR) of PID-3, else its first number; PID-2 of old senders where that is empty."""
    listed = field(segment, 3)
    if not listed:
        return signs.part(field(segment, 2), 1)
    if signs.repetition not in listed:
        return signs.part(listed, 1)
    numbers = [signs.parts(one) for one in listed.split(signs.repetition)]
    for kind in ("MR", "PI", "PT"):
        for parts in numbers:
            if len(parts) > 4 and parts[4] == kind and parts[0]:
                return parts[0]
    return next((parts[0] for parts in numbers if parts[0]), "")


def read_specimen(order: Order, meanings: Meanings, signs: Delimiters) -> Specimen:
    """SPM-4; of senders before 2.5 the first component of OBR-15, whose codes are subcomponents."""
    if order.specimens:
        return meanings.specimen(field(order.specimens[0], 4), signs)
    source = signs.first(field(order.request, 15)).split(signs.component)[0]
    if signs.subcomponent:
        source = source.replace(signs.subcomponent, signs.component)
    return meanings.specimen(source, signs)


def _first_time(values: tuple[str, str], signs: Delimiters) -> tuple[str, str]:
    """The first of two times that is written; of a range its start."""
    for value in values:
        if value and (text := signs.part(value, 1)):
            return split_time(text)
    return "", ""


def _place(specimen: Segment, request: Segment, *, meanings: Meanings, signs: Delimiters) -> tuple[str, str]:
    """Body site and method: SPM-8 and SPM-7, before 2.5 components 4 and 6 of OBR-15."""
    if specimen:
        site = meanings.words(field(specimen, 8), "0163 0550", signs)
        return site, meanings.words(field(specimen, 7), "0488", signs)
    source = field(request, 15)
    if not source:
        return _NO_SITE
    parts = signs.first(source).split(signs.component) + [""] * 6
    if signs.subcomponent:
        parts = [part.replace(signs.subcomponent, signs.component) for part in parts]
    return meanings.words(parts[3], "0163 0550", signs), meanings.words(parts[5], "0488", signs)


def _unit(location: str, signs: Delimiters) -> str:
    """The point of care of PV1-3; where a sender leaves it empty, the location's description."""
    return signs.part(location, 1) or signs.part(location, 9)


def _person(value: str, signs: Delimiters) -> str:
    """A number where there is one, else the name."""
    if not value:
        return ""
    parts = [*signs.parts(value), "", "", ""]
    return parts[0] or " ".join(part for part in (parts[2], parts[1]) if part)


def _millilitres(value: str, signs: Delimiters) -> str:
    if not value:
        return ""
    number, _sign, unit = signs.first(value).partition(signs.component)
    units = signs.subparts(unit.split(signs.component)[0]) if unit else [""]
    return signs.text(number) if units[0].lower() in _MILLILITRES else ""


def _bottle(specimens: list[Segment], meanings: Meanings, signs: Delimiters) -> str:
    """The bottle that the only specimen of an order is in, by its method (BCAE …) or its container."""
    if len(specimens) != 1:
        return ""
    return meanings.bottle(field(specimens[0], 7), signs) or meanings.bottle(field(specimens[0], 27), signs)
