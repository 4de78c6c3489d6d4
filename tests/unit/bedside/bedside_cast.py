"""The example policy as a demo workspace approves it, and the day on which tests ask."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

from cubital.bedside.policy_file import example_policy
from cubital.domain.collection import CollectionPolicy

TODAY = date(2026, 3, 10)


def approved_example() -> CollectionPolicy:
    return replace(
        example_policy(),
        approved_by="I. Quay, invented",
        approved_on=date(2026, 1, 5),
        review_by=date(2027, 1, 5),
    )


APPROVED = approved_example()
