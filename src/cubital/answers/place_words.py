"""What places can be told apart by, and how each value is written for people."""

from __future__ import annotations

from enum import StrEnum
from typing import Any

from cubital.domain.cultures import AgeGroup, Method
from cubital.domain.words import _


class By(StrEnum):
    """What a comparison is made by."""

    UNIT = "unit"
    FACILITY = "facility"
    ROLE = "role"
    HOUR = "hour"
    WEEKDAY = "weekday"
    SITE = "site"
    METHOD = "method"
    AGE_GROUP = "age_group"


ORDERED = frozenset({By.HOUR, By.WEEKDAY, By.AGE_GROUP})


def by_words(by: By) -> str:
    """The name of the column, and of the choice on the page."""
    return {
        By.UNIT: _("Unit"),
        By.FACILITY: _("Hospital"),
        By.ROLE: _("Role"),
        By.HOUR: _("Hour of the day"),
        By.WEEKDAY: _("Day of the week"),
        By.SITE: _("Site"),
        By.METHOD: _("How blood was reached"),
        By.AGE_GROUP: _("Age group"),
    }[by]


def value_words(by: By, value: Any) -> str:
    """One value as people read it; units, hospitals, roles and sites are written as they are."""
    if by is By.HOUR:
        return _("{hour} to {next}").format(hour=f"{value:02d}:00", next=f"{(value + 1) % 24:02d}:00")
    if by is By.WEEKDAY:
        return weekday_words(int(value))
    if by is By.METHOD:
        return method_words(value)
    if by is By.AGE_GROUP:
        return age_words(value)
    return str(value)


def weekday_words(day: int) -> str:
    """1 is Monday."""
    names = (_("Monday"), _("Tuesday"), _("Wednesday"), _("Thursday"), _("Friday"), _("Saturday"), _("Sunday"))
    return names[day - 1]


def method_words(method: str) -> str:
    """How the blood was reached; an unknown word stays as it is."""
    words: dict[str, str] = {
        Method.VENEPUNCTURE: _("fresh venepuncture"),
        Method.NEW_CANNULA: _("newly placed cannula"),
        Method.CENTRAL_LINE: _("central line"),
        Method.ARTERIAL: _("artery"),
    }
    return words.get(method, method)


def age_words(group: str) -> str:
    """An age group; an unknown word stays as it is."""
    words: dict[str, str] = {
        AgeGroup.UNDER_1: _("under 1 year"),
        AgeGroup.FROM_1_TO_17: _("1 to 17 years"),
        AgeGroup.FROM_18_TO_64: _("18 to 64 years"),
        AgeGroup.FROM_65_TO_79: _("65 to 79 years"),
        AgeGroup.FROM_80: _("80 years and over"),
    }
    return words.get(group, group)
