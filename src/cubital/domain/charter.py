"""The charter: the signed page on which education and laboratory agree what counts as a contaminated set.

It is data. The judge applies it; class words are for counting and never a diagnosis.
"""

from __future__ import annotations

import hashlib
import json
from dataclasses import asdict, dataclass, replace
from datetime import date
from enum import StrEnum
from typing import Any

from cubital.domain.errors import CharterProblem


class UnitOfCount(StrEnum):
    SET = "set"
    BOTTLE = "bottle"
    SERIES = "series"
    PATIENT = "patient"


class Window(StrEnum):
    """How sets of one patient at one facility join into a series."""

    ROLLING_HOURS = "rolling_hours"  # within window_hours (inclusive) of the first set of the series; then a new series
    SAME_DAY = "same_day"  # the same local calendar day
    SAME_OR_NEXT_DAY = "same_or_next_day"  # within one calendar day of the first set's day; then a new series


class Rule(StrEnum):
    ONE_OF_SEVERAL = "one_of_several"  # a listed commensal in one set of a series while another set lacks it
    ANY_COMMENSAL = "any_commensal"  # any growth of a listed commensal


class SameCommensal(StrEnum):
    """The same commensal in two or more sets of one series (genus matches its species; a group its members)."""

    PATHOGEN = "pathogen"
    ADJUDICATE = "adjudicate"


class DifferentCommensals(StrEnum):
    """Commensals in two or more sets of one series, but not the same one."""

    CONTAMINATED = "contaminated"
    PATHOGEN = "pathogen"
    ADJUDICATE = "adjudicate"


class SolitaryCommensal(StrEnum):
    """A commensal in a set that has no partner in the window."""

    EXCLUDE = "exclude"  # leaves numerator and denominator
    COUNT = "count"  # counts as contaminated
    SEPARATE = "separate"  # stays in the denominator, reported on its own line


class MixedGrowth(StrEnum):
    """A set that grows a listed commensal together with another organism."""

    PATHOGEN = "pathogen"  # judged by the organism that is not a commensal
    BY_COMMENSAL = "by_commensal"  # judged as if the commensal were alone
    ADJUDICATE = "adjudicate"


class Population(StrEnum):
    EVERYONE = "everyone"
    ADULTS = "adults"  # 18 and over; unknown age is kept and said
    CHILDREN = "children"


class LineSets(StrEnum):
    INCLUDE = "include"
    EXCLUDE = "exclude"


class FollowUp(StrEnum):
    """Cultures taken to follow a proven infection."""

    INCLUDE = "include"
    EXCLUDE = "exclude"  # sets within follow_up_days after a set that grew an organism outside the list


class Denominator(StrEnum):
    ALL_SETS = "all_sets"
    ELIGIBLE_SETS = "eligible_sets"  # sets of series with two sets or more


@dataclass(frozen=True, kw_only=True)
class Charter:
    """One definition, complete. ``version`` counts up; the fingerprint covers everything but name and signatures.

    ``commensal_list`` names a list shipped in ``reference`` (``short``, ``surveillance_2020``, ``ecdc``).
    ``excluded_units`` are unit keys left out of count (outpatients, satellite sites).
    """

    key: str
    name: str
    version: int = 1
    unit_of_count: UnitOfCount = UnitOfCount.SET
    rule: Rule = Rule.ONE_OF_SEVERAL
    window: Window = Window.ROLLING_HOURS
    window_hours: int = 24
    commensal_list: str = "short"
    same_commensal: SameCommensal = SameCommensal.ADJUDICATE
    different_commensals: DifferentCommensals = DifferentCommensals.CONTAMINATED
    solitary_commensal: SolitaryCommensal = SolitaryCommensal.SEPARATE
    mixed_growth: MixedGrowth = MixedGrowth.ADJUDICATE
    population: Population = Population.ADULTS
    line_sets: LineSets = LineSets.INCLUDE
    follow_up: FollowUp = FollowUp.INCLUDE
    follow_up_days: int = 14
    denominator: Denominator = Denominator.ALL_SETS
    excluded_units: tuple[str, ...] = ()
    source: str = ""
    confidence: str = ""

    def __post_init__(self) -> None:
        if not 1 <= self.window_hours <= 168:
            raise CharterProblem(
                f"a window of {self.window_hours} hours is outside 1 to 168.",
                where=f"charter '{self.name}', window_hours",
                fix="Choose the hours that the laboratory uses, most often 24 or 48.",
            )
        if not 1 <= self.follow_up_days <= 90:
            raise CharterProblem(
                f"{self.follow_up_days} days is outside 1 to 90.",
                where=f"charter '{self.name}', follow_up_days",
            )

    def fingerprint(self) -> str:
        """Sixteen hexadecimal digits over every rule of the charter, the same for the same rules anywhere."""
        rules = asdict(self)
        for label in ("key", "name", "version", "source", "confidence"):
            del rules[label]
        return hashlib.sha256(json.dumps(rules, sort_keys=True).encode()).hexdigest()[:16]


@dataclass(frozen=True, kw_only=True)
class Signature:
    """Who agreed, in which role, on which day."""

    name: str
    role: str
    signed_on: date


class SetClass(StrEnum):
    """What a set is counted as. These are words for counting, never a diagnosis."""

    NO_GROWTH = "no_growth"
    PATHOGEN = "pathogen"  # grew an organism outside the agreed list, or counted as such by the charter
    CONTAMINATED = "contaminated"
    SOLITARY_COMMENSAL = "solitary_commensal"
    ADJUDICATE = "adjudicate"
    UNRESOLVED = "unresolved"  # grew something that could not be read or is on no list
    OUTSIDE = "outside"  # not in the population that the charter counts


class Reason(StrEnum):
    """Why a set has its class; ``answers`` holds the sentence for each."""

    NO_ORGANISM = "no_organism"
    PATHOGEN_GREW = "pathogen_grew"
    ONE_OF_SEVERAL = "one_of_several"
    ANY_COMMENSAL = "any_commensal"
    SAME_IN_BOTH = "same_in_both"
    DIFFERENT_IN_BOTH = "different_in_both"
    SOLITARY = "solitary"
    MIXED = "mixed"
    UNREAD_ORGANISM = "unread_organism"
    NOT_IN_POPULATION = "not_in_population"
    LINE_SET = "line_set"
    FOLLOW_UP = "follow_up"
    UNIT_EXCLUDED = "unit_excluded"
    SOLITARY_EXCLUDED = "solitary_excluded"
    JUDGED_SIGNIFICANT = "judged_significant"
    JUDGED_CONTAMINANT = "judged_contaminant"


def build_charter(values: dict[str, Any]) -> Charter:
    """A charter from plain values (a TOML table, a form); unknown names and words raise ``CharterProblem``."""
    kinds: dict[str, type[StrEnum]] = {
        "unit_of_count": UnitOfCount, "rule": Rule, "window": Window, "same_commensal": SameCommensal,
        "different_commensals": DifferentCommensals, "solitary_commensal": SolitaryCommensal,
        "mixed_growth": MixedGrowth, "population": Population, "line_sets": LineSets, "follow_up": FollowUp,
        "denominator": Denominator,
    }  # fmt: skip
    known = set(Charter.__dataclass_fields__)
    ready: dict[str, Any] = {}
    for name, value in values.items():
        if name not in known:
            raise CharterProblem(f"'{name}' is no setting of a charter.", fix=f"Known are: {', '.join(sorted(known))}.")
        if name in kinds:
            try:
                ready[name] = kinds[name](value)
            except ValueError:
                choices = ", ".join(kinds[name])
                raise CharterProblem(f"{name} is '{value}'.", fix=f"Choose one of: {choices}.") from None
        elif name == "excluded_units":
            ready[name] = tuple(value)
        else:
            ready[name] = value
    return Charter(**ready)


def with_population(charter: Charter, population: Population) -> Charter:
    """The same charter counting another population."""
    return replace(charter, population=population)
