"""Published studies of yield by volume and number of sets, each with its setting, its range and how it may mislead."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from functools import lru_cache
from typing import Any

from cubital.reference.collection_guidance import Confidence
from cubital.reference.tables import read_settings


class Measure(StrEnum):
    """What a volume of the study is counted in."""

    EPISODE = "episode"
    SET = "set"
    BOTTLE = "bottle"


class StudyUse(StrEnum):
    """Whether it is one of the compared models, stands beside them as a check, or explains only."""

    MODEL = "model"
    CHECK = "check"
    BACKGROUND = "background"


@dataclass(frozen=True, kw_only=True)
class YieldStudy:
    """One study. Volumes in mL of ``measure``, none where the observed range is not confirmed; shares run 0 to 1.

    ``found`` of ``of`` episodes were found with 1, 2, 3 ... sets of ``set_ml``; ``shares`` are the same where only
    shares are known. The other numbers are none where the study has another shape.
    """

    key: str
    source: str
    year: int
    setting: str
    finding: str
    confidence: Confidence
    measure: Measure
    use: StudyUse
    bias: str
    low_ml: float | None = None
    high_ml: float | None = None
    found: tuple[int, ...] = ()
    of: int | None = None
    set_ml: float | None = None
    shares: tuple[float, ...] = ()
    share_per_ml: float | None = None
    odds_per_ml: float | None = None
    odds_per_ml_low: float | None = None
    odds_per_ml_high: float | None = None
    positive_before: float | None = None
    positive_after: float | None = None
    gain: float | None = None
    gain_low: float | None = None
    gain_high: float | None = None

    @property
    def cumulative(self) -> tuple[float, ...]:
        """The share found with 1, 2, 3 ... sets, from counts where there are counts."""
        return tuple(found / self.of for found in self.found) if self.of else self.shares

    @property
    def span_ml(self) -> float | None:
        """Over how many mL of its measure a change was observed; none where the range is not confirmed."""
        return None if self.low_ml is None or self.high_ml is None else self.high_ml - self.low_ml


@lru_cache
def yield_studies() -> tuple[YieldStudy, ...]:
    """Every study, in the order of the data file."""
    return tuple(_study(entry) for entry in read_settings("yield_studies")["study"])


def yield_study(key: str) -> YieldStudy:
    """The study of that key; ``KeyError`` for an unknown one."""
    return {study.key: study for study in yield_studies()}[key]


def _study(entry: dict[str, Any]) -> YieldStudy:
    kinds: dict[str, Any] = {
        "confidence": Confidence(str(entry["confidence"])), "measure": Measure(str(entry["measure"])),
        "use": StudyUse(str(entry["use"])),
    }  # fmt: skip
    lists = {name: tuple(value) for name, value in entry.items() if isinstance(value, list)}
    return YieldStudy(**(entry | kinds | lists))
