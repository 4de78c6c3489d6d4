"""What changed, where and when: the dated changes against which every later question is held."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from enum import StrEnum


class ChangeKind(StrEnum):
    """What sort of thing changed. The value is what stands in files and records."""

    TRAINING = "training"
    KIT = "kit"
    STAFFING = "staffing"
    POLICY = "policy"
    FEEDBACK = "feedback"
    ANALYSER = "analyser"
    LIST = "list"
    RENAME = "rename"
    OTHER = "other"

    @property
    def changes_counting(self) -> bool:
        """Whether it changes how sets are found, named or judged rather than how they are collected."""
        return self in (ChangeKind.ANALYSER, ChangeKind.LIST, ChangeKind.RENAME)


@dataclass(frozen=True, kw_only=True)
class DiaryEntry:
    """One change of ``kind`` that began ``on`` a day, and ended on ``until`` where it did.

    ``facility`` none means everywhere, ``unit`` none the whole facility; ``unit`` is the unit's current key and
    ``place`` the place in words. ``number`` is what a correction refers to; 0 for an entry that is not kept.
    """

    kind: ChangeKind
    on: date
    words: str
    until: date | None = None
    facility: str | None = None
    unit: str | None = None
    place: str = ""
    number: int = 0
    noted_by: str = ""

    def __post_init__(self) -> None:
        if self.until is not None and self.until < self.on:
            raise ValueError(f"the change ends on {self.until} before it begins on {self.on}")
        if self.unit is not None and self.facility is None:
            raise ValueError("a unit without its facility is no place")
        if not self.words.strip():
            raise ValueError("a change without words says nothing")

    def covers(self, *, facility: str | None, unit: str | None) -> bool:
        """Whether the change reached this place: it happened there, in all of its facility, or everywhere."""
        if self.facility is None:
            return True
        return self.facility == facility and (self.unit is None or self.unit == unit)
