"""What is kept of each resource until the whole export has been read: a few short texts and the names it points at.

A resource is kept under its name (``Specimen/12``, or its full address in a bundle), see ``references``.
"""

from __future__ import annotations

from typing import NamedTuple

from cubital.intake.fhir.codings import Concept


class Version(NamedTuple):
    """Which of two resources of one name is the later one: ``updated`` as written, ``number`` of the version."""

    updated: str
    number: str


class Moment(NamedTuple):
    """A time as FHIR writes it: wall clock, and minutes east of UTC where an offset was written."""

    clock: str
    offset: str


UNKNOWN_MOMENT = Moment("", "")
NO_VERSION = Version("", "")


class Component(NamedTuple):
    """A part of an observation with a code and a value of its own."""

    test: Concept
    value: Concept


class Finding(NamedTuple):
    """An Observation.

    ``value`` holds its result in words and codes, ``judged`` its interpretation, ``absent`` why there is none,
    ``measured`` whether the result is a quantity. ``members`` are what it groups, ``sources`` what it was derived from.
    """

    name: str
    version: Version
    status: str
    test: Concept
    value: Concept
    judged: str
    absent: str
    measured: bool
    specimen: str
    accession: str
    patient: str
    patient_number: str
    encounter: str
    orders: tuple[str, ...]
    effective: Moment
    site: str
    members: tuple[str, ...]
    sources: tuple[str, ...]
    components: tuple[Component, ...]


class Report(NamedTuple):
    """A DiagnosticReport; ``words`` is its conclusion."""

    name: str
    version: Version
    status: str
    test: Concept
    words: str
    specimens: tuple[str, ...]
    accession: str
    patient: str
    patient_number: str
    encounter: str
    orders: tuple[str, ...]
    effective: Moment
    results: tuple[str, ...]


class Container(NamedTuple):
    """One container of a specimen: what it is, and the millilitres in it as text."""

    words: str
    fill_ml: str


class Sample(NamedTuple):
    """A Specimen. ``numbers`` are its accession number (or nothing) and its own identifier."""

    version: Version
    status: str
    accession: str
    identifier: str
    kind: Concept
    patient: str
    collected: Moment
    received: Moment
    method: Concept
    site: Concept
    collector: str
    collector_words: str
    fill_ml: str
    containers: tuple[Container, ...]
    condition: str
    parents: tuple[str, ...]
    orders: tuple[str, ...]


class Order(NamedTuple):
    """A ServiceRequest."""

    version: Version
    accession: str
    test: Concept
    patient: str
    encounter: str
    place: str
    place_words: str
    specimens: tuple[str, ...]


class Stay(NamedTuple):
    """One location of an encounter, with the wall clock it was entered and left."""

    place: str
    words: str
    start: Moment
    end: Moment


class Visit(NamedTuple):
    """An Encounter."""

    version: Version
    patient: str
    stays: tuple[Stay, ...]


class Place(NamedTuple):
    """A Location; ``within`` is set for a bed or a room, whose ward it points at."""

    version: Version
    words: str
    within: str


class Person(NamedTuple):
    """A Patient: medical record number and birth date (ISO, only when complete)."""

    version: Version
    number: str
    birth: str


class Collector(NamedTuple):
    """A Practitioner, or the role of one: ``practitioner`` points on."""

    version: Version
    words: str
    practitioner: str
