"""Reads what results point at: specimens, orders, encounters, places, patients and the people who collect."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from cubital.intake.fhir.codings import read_concept, read_concepts
from cubital.intake.fhir.moments import read_moment, read_moment_of
from cubital.intake.fhir.records import (
    NO_VERSION,
    UNKNOWN_MOMENT,
    Collector,
    Container,
    Order,
    Person,
    Place,
    Sample,
    Stay,
    Version,
    Visit,
)
from cubital.intake.fhir.references import (
    list_of,
    name_of,
    names_of,
    text_of,
    words_beside,
)

Json = dict[str, Any]
ACCESSION_TYPES = frozenset({"ACSN", "FILL"})  # table 0203: accession ID, filler's number
RECORD_NUMBER = "MR"  # table 0203: medical record number
_WITHIN = frozenset({"bd", "ro"})  # location-physical-type: bed, room; their ward is one step up
_MILLILITRES = {"ml": 1.0, "milliliter": 1.0, "millilitre": 1.0, "l": 1000.0, "dl": 100.0, "cl": 10.0, "ul": 0.001}


def version_of(resource: Json) -> Version:
    """When the resource was last changed, as it says itself."""
    meta = resource.get("meta")
    if type(meta) is not dict:
        return NO_VERSION
    return Version(text_of(meta.get("lastUpdated")), text_of(meta.get("versionId")))


def accession_among(identifiers: object) -> str:
    """The value of the identifier that is typed as an accession or filler number; empty where none is."""
    for identifier in list_of(identifiers):
        if type(identifier) is dict and any(
            code in ACCESSION_TYPES for _system, code in read_concept(identifier.get("type")).codes
        ):
            return text_of(identifier.get("value"))
    return ""


def _first_value(identifiers: object) -> str:
    for identifier in list_of(identifiers):
        if type(identifier) is dict and (value := text_of(identifier.get("value"))):
            return value
    return ""


def read_sample(resource: Json, base: str, name: str) -> Sample:
    """A Specimen; its collection, its containers, and why it was not fit."""
    collection = resource.get("collection")
    if type(collection) is not dict:
        collection = {}
    accession = resource.get("accessionIdentifier")
    identifiers = resource.get("identifier")
    collector = collection.get("collector")
    return Sample(
        version=version_of(resource),
        status=text_of(resource.get("status")),
        accession=(text_of(accession.get("value")) if type(accession) is dict else "") or accession_among(identifiers),
        identifier=_first_value(identifiers),
        kind=read_concept(resource.get("type")),
        patient=name_of(resource.get("subject"), base=base, owner=name),
        collected=read_moment_of(collection, "collected") if collection else UNKNOWN_MOMENT,
        received=read_moment(resource.get("receivedTime")),
        method=read_concept(collection.get("method")),
        site=read_concept(collection.get("bodySite")),
        collector=name_of(collector, base=base, owner=name),
        collector_words=words_beside(collector),
        fill_ml=_millilitres(collection.get("quantity")),
        containers=_containers(resource.get("container")),
        condition=read_concepts(resource.get("condition")).words or _note(resource.get("note")),
        parents=names_of(resource.get("parent"), base=base, owner=name),
        orders=names_of(resource.get("request"), base=base, owner=name),
    )


def _containers(containers: object) -> tuple[Container, ...]:
    if not containers:
        return ()
    return tuple(
        Container(
            read_concept(each.get("type")).words or text_of(each.get("description")),
            _millilitres(each.get("specimenQuantity")),
        )
        for each in list_of(containers)
        if type(each) is dict
    )


def _millilitres(quantity: object) -> str:
    """A volume in millilitres as text; empty for another unit, a comparator (``<10``) or nothing."""
    if type(quantity) is not dict or quantity.get("comparator"):
        return ""
    value = quantity.get("value")
    unit = (text_of(quantity.get("code")) or text_of(quantity.get("unit"))).casefold()
    factor = _MILLILITRES.get(unit)
    if factor is None or type(value) not in (int, float):
        return ""
    return f"{float(value) * factor:.6g}"  # type: ignore[arg-type]


def _note(notes: object) -> str:
    return next((text for each in list_of(notes) if type(each) is dict and (text := text_of(each.get("text")))), "")


def read_order(resource: Json, base: str, name: str) -> Order:
    """A ServiceRequest."""
    place = next(iter(list_of(resource.get("locationReference"))), None)
    identifiers = resource.get("identifier")
    return Order(
        version=version_of(resource),
        accession=accession_among(identifiers),
        test=read_concept(resource.get("code")),
        patient=name_of(resource.get("subject"), base=base, owner=name),
        encounter=name_of(resource.get("encounter"), base=base, owner=name),
        place=name_of(place, base=base, owner=name),
        place_words=words_beside(place) or read_concepts(resource.get("locationCode")).words,
        specimens=names_of(resource.get("specimen"), base=base, owner=name),
    )


def read_visit(resource: Json, base: str, name: str) -> Visit:
    """An Encounter and where the patient lay during it."""
    return Visit(
        version=version_of(resource),
        patient=name_of(resource.get("subject"), base=base, owner=name),
        stays=tuple(_stay(each, base, name) for each in list_of(resource.get("location")) if type(each) is dict),
    )


def _stay(location: Json, base: str, name: str) -> Stay:
    period = location.get("period")
    if type(period) is not dict:
        period = {}
    place = location.get("location")
    return Stay(
        place=name_of(place, base=base, owner=name),
        words=words_beside(place),
        start=read_moment(period.get("start")),
        end=read_moment(period.get("end")),
    )


def read_place(resource: Json, base: str, name: str) -> Place:
    """A Location; a bed or a room without a ward above it stands for itself."""
    kind = read_concept(resource.get("physicalType"))
    inside = any(code in _WITHIN for _system, code in kind.codes)
    return Place(
        version=version_of(resource),
        words=text_of(resource.get("name")) or _first_value(resource.get("identifier")),
        within=name_of(resource.get("partOf"), base=base, owner=name) if inside else "",
    )


def read_person(resource: Json, _base: str, _name: str) -> Person:
    """A Patient: the number and the day of birth, nothing else."""
    birth = text_of(resource.get("birthDate"))
    identifiers = [each for each in list_of(resource.get("identifier")) if type(each) is dict]
    return Person(
        version=version_of(resource),
        number=_record_number(identifiers),
        birth=birth if len(birth) == 10 else "",
    )


def _record_number(identifiers: list[Json]) -> str:
    """The medical record number; else the first number that is not said to be old or temporary."""
    for identifier in identifiers:
        if any(code == RECORD_NUMBER for _system, code in read_concept(identifier.get("type")).codes):
            return text_of(identifier.get("value"))
    lasting = [each for each in identifiers if each.get("use") not in ("old", "temp")]
    return _first_value(lasting or identifiers)


def read_collector_person(resource: Json, base: str, name: str) -> Collector:
    """A Practitioner by number, else by name; a PractitionerRole points at one."""
    person = resource.get("practitioner")
    words = _first_value(resource.get("identifier")) or _person_name(resource.get("name")) or words_beside(person)
    return Collector(version_of(resource), words, name_of(person, base=base, owner=name))


def _person_name(names: object) -> str:
    for each in list_of(names):
        if type(each) is dict:
            given = each.get("given")
            parts = [text_of(part) for part in given] if type(given) is list else []
            return text_of(each.get("text")) or " ".join(part for part in (*parts, text_of(each.get("family"))) if part)
    return ""


Record = Sample | Order | Visit | Place | Person | Collector
READERS: dict[str, Callable[[Json, str, str], Record]] = {
    "Specimen": read_sample,
    "ServiceRequest": read_order,
    "Encounter": read_visit,
    "Location": read_place,
    "Patient": read_person,
    "Practitioner": read_collector_person,
    "PractitionerRole": read_collector_person,
}
