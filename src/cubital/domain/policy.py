"""Local policy: every threshold as a value with a unit, a source and an owner, approved by someone until a day."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from cubital.domain.errors import PolicyProblem


class PolicyState(StrEnum):
    DRAFT = "draft"
    APPROVED = "approved"
    EXPIRED = "expired"


@dataclass(frozen=True, kw_only=True)
class PolicyValue:
    """One threshold. ``source`` says where the number comes from, ``owner`` who may change it locally."""

    key: str
    label: str
    value: float
    unit: str
    source: str
    owner: str


@dataclass(frozen=True, kw_only=True)
class Policy:
    """A version of the local policy. Approval names a person, a day and the day by which it is looked at again."""

    name: str
    version: int
    values: tuple[PolicyValue, ...]
    approved_by: str = ""
    approved_on: date | None = None
    review_by: date | None = None

    def __post_init__(self) -> None:
        keys = [value.key for value in self.values]
        doubled = sorted({key for key in keys if keys.count(key) > 1})
        if doubled:
            raise PolicyProblem(f"{', '.join(doubled)} stand twice.", where=f"policy '{self.name}'")
        if self.approved_on and self.review_by and self.review_by <= self.approved_on:
            raise PolicyProblem("the review day is not after the approval day.", where=f"policy '{self.name}'")

    def state(self, today: date) -> PolicyState:
        """Draft until approved with a review day; expired from the day after the review day."""
        if not (self.approved_by and self.approved_on and self.review_by) or self.approved_on > today:
            return PolicyState.DRAFT
        return PolicyState.EXPIRED if today > self.review_by else PolicyState.APPROVED

    def value(self, key: str) -> float:
        """The threshold of that key; a missing one is a ``PolicyProblem``."""
        for entry in self.values:
            if entry.key == key:
                return entry.value
        raise PolicyProblem(f"the policy says nothing about '{key}'.", where=f"policy '{self.name}'")

    def fingerprint(self) -> str:
        """Sixteen hexadecimal digits over the values."""
        plain = [[v.key, v.value, v.unit] for v in sorted(self.values, key=lambda v: v.key)]
        return hashlib.sha256(json.dumps(plain).encode()).hexdigest()[:16]


def changed_values(old: Policy, new: Policy) -> Sequence[tuple[str, float | None, float | None]]:
    """Key, old and new value for everything that differs; none where a side does not have it."""
    before = {v.key: v.value for v in old.values}
    after = {v.key: v.value for v in new.values}
    return [
        (key, before.get(key), after.get(key))
        for key in sorted(before.keys() | after.keys())
        if before.get(key) != after.get(key)
    ]
