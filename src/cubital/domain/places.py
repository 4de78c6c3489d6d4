"""Facilities, and what a source of files has taught us about its files."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field


@dataclass(frozen=True, kw_only=True)
class Facility:
    """One hospital: its name and its time zone as an IANA name (``America/Chicago``)."""

    name: str
    timezone: str


@dataclass(frozen=True, kw_only=True)
class SourceMemory:
    """What one source of files taught us, as plain data.

    ``columns`` maps a header (tidied) to its role; ``answers`` the questions already settled; ``organisms`` a result
    text (tidied) to the organism key that a person confirmed, empty when they said that it names no organism.
    """

    columns: Mapping[str, str] = field(default_factory=dict)
    answers: Mapping[str, str] = field(default_factory=dict)
    organisms: Mapping[str, str] = field(default_factory=dict)
