"""What others published about the cost of a contaminated set: to stand beside local values, and how each differs."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

from cubital.reference.collection_guidance import Confidence
from cubital.reference.tables import read_settings


@dataclass(frozen=True, kw_only=True)
class PublishedCost:
    """One study: ``low`` to ``high`` in ``currency`` of ``year`` (words) for one contaminated set, none
    where the study gives no money.

    ``kind`` is ``charge``, ``cost``, ``assumed`` or ``mixed``. ``days_*`` are extra days of stay, none where the study
    gives none. ``includes`` says what is in it, ``differs`` why it is not a local marginal cost.
    """

    study: str
    kind: str
    currency: str
    year: str
    includes: str
    differs: str
    confidence: Confidence
    low: float | None = None
    likely: float | None = None
    high: float | None = None
    days_low: float | None = None
    days_likely: float | None = None
    days_high: float | None = None


@lru_cache
def published_costs() -> tuple[PublishedCost, ...]:
    """Every study, in the order of the data file: by year."""
    entries = read_settings("published_costs")["published"]
    return tuple(PublishedCost(**(entry | {"confidence": Confidence(entry["confidence"])})) for entry in entries)
