"""The words for what comes out of a laboratory: sets, bottles, isolates, and how sure we are of each.

Glossary: a *draw* is one venepuncture or line access; a *set* the bottles filled from one draw; a *series* the
sets of one patient within the window that the charter agrees.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from enum import StrEnum


class TimeQuality(StrEnum):
    """What the collection time is worth."""

    EXACT = "exact"
    DATE_ONLY = "date_only"
    AMBIGUOUS_HOUR = "ambiguous_hour"  # the hour that a clock change repeats; settled by accession order
    AFTER_RECEIPT = "after_receipt"  # collected after it was received: one of the two times is wrong
    MISSING = "missing"


class Attribution(StrEnum):
    """How the collector is known. C is never used for feedback to one person."""

    BADGE = "A"
    ROSTER_OR_INITIALS = "B"
    INFERRED = "C"
    NONE = "none"


class Method(StrEnum):
    """How the blood was reached."""

    VENEPUNCTURE = "venepuncture"
    NEW_CANNULA = "new_cannula"
    CENTRAL_LINE = "central_line"
    ARTERIAL = "arterial"
    UNKNOWN = "unknown"


class SetStatus(StrEnum):
    """Where the result stands. Cancelled and rejected specimens are neither growth nor a valid set."""

    FINAL = "final"
    PRELIMINARY = "preliminary"
    CANCELLED = "cancelled"
    REJECTED = "rejected"


class BottleKind(StrEnum):
    AEROBIC = "aerobic"
    ANAEROBIC = "anaerobic"
    PAEDIATRIC = "paediatric"
    OTHER = "other"


class Match(StrEnum):
    """How an organism's text was read."""

    EXACT = "exact"
    SYNONYM = "synonym"
    PROPOSED = "proposed"  # a misspelling within one genus, taken and said
    CONFIRMED = "confirmed"  # a person said so, remembered for this source
    UNMATCHED = "unmatched"


class AgeGroup(StrEnum):
    """Age at collection. Birth dates become one of these on the way in and are not kept."""

    UNDER_1 = "under_1"
    FROM_1_TO_17 = "1_to_17"
    FROM_18_TO_64 = "18_to_64"
    FROM_65_TO_79 = "65_to_79"
    FROM_80 = "80_and_over"
    UNKNOWN = "unknown"


ADULT_AGE_GROUPS = frozenset({AgeGroup.FROM_18_TO_64, AgeGroup.FROM_65_TO_79, AgeGroup.FROM_80})
CHILD_AGE_GROUPS = frozenset({AgeGroup.UNDER_1, AgeGroup.FROM_1_TO_17})


@dataclass(frozen=True, kw_only=True)
class CultureSet:
    """One draw: a row of the table ``sets``. Times without a zone are UTC unless their name says local.

    ``accession`` is text and unique within a facility. ``patient_key`` is a keyed hash (63 bits, per workspace and
    facility), none when the file names no patient. ``collected_local`` is the wall clock as written in the file.
    ``day`` is the local calendar day of collection (of receipt where collection is missing), and ``month`` its
    ``YYYY-MM`` (``undated`` when neither is known). ``unit_key`` is the label of the collecting unit as the file or
    the ward movements gave it, tidied (casefolded, single spaces); renames are applied when counting, never here.
    """

    set_id: int
    facility: str
    accession: str
    patient_key: int | None
    age_group: AgeGroup
    collected_at: datetime | None
    collected_local: datetime | None
    time_quality: TimeQuality
    received_at: datetime | None
    loaded_at: datetime | None = None
    first_positive_at: datetime | None = None
    day: date | None = None
    month: str = "undated"
    unit_key: str = ""
    collector_key: str | None = None
    attribution: Attribution = Attribution.NONE
    method: Method = Method.UNKNOWN
    site: str = ""
    status: SetStatus = SetStatus.FINAL
    reject_reason: str = ""
    batch: int = 0


@dataclass(frozen=True, kw_only=True)
class Bottle:
    """One bottle of a set: a row of ``bottles``. ``grew`` is none where the file does not say it per bottle."""

    set_id: int
    bottle: int
    kind: BottleKind
    fill_ml: float | None = None
    fill_source: str = ""
    grew: bool | None = None


@dataclass(frozen=True, kw_only=True)
class Isolate:
    """One organism named for a set: a row of ``isolates``.

    ``bottle`` is none where the result is per set. ``organism_key`` is empty for unmatched text. A negated isolate
    ("no ... isolated", "not anthracis") is kept for the record and never counts as growth.
    """

    set_id: int
    bottle: int | None
    organism_key: str
    raw_text: str
    match: Match
    negated: bool = False
