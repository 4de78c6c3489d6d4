"""Units that are asked and never guessed: weight in kilograms or pounds, haemoglobin in g/dL, g/L or mmol/L.

Conversions are pint's; the one constant of our own is the molar mass by which laboratories turn mmol/L of
haemoglobin into grams.
"""

from __future__ import annotations

import re
from enum import StrEnum
from functools import lru_cache
from typing import Any, TypeVar

from cubital.domain.errors import Question, QuestionsOpen, RequestProblem
from cubital.domain.words import _

# Haemoglobin monomer (one iron), g/mol: the convention behind laboratory reports in mmol/L (IFCC/IUPAC; from memory).
HAEMOGLOBIN_G_PER_MOL = 16_114.0

PLAIN_NUMBER = re.compile(r"[+-]?([0-9]+(\.[0-9]*)?|\.[0-9]+)")  # float() would also take 1_5, 1e1 and other digits


class WeightUnit(StrEnum):
    KG = "kg"
    LB = "lb"


class HaemoglobinUnit(StrEnum):
    G_PER_DL = "g/dL"
    G_PER_L = "g/L"
    MMOL_PER_L = "mmol/L"


Unit = TypeVar("Unit", WeightUnit, HaemoglobinUnit)


@lru_cache
def _registry() -> Any:
    import pint

    return pint.UnitRegistry()


@lru_cache
def _factor(unit: str, target: str) -> float:
    """How many ``target`` one ``unit`` is; conversions here are all linear."""
    return float(_registry().Quantity(1.0, unit).to(target).magnitude)


def weight_kg(weight: float, unit: WeightUnit) -> float:
    """The weight in kilograms."""
    return weight * _factor(unit.value, "kg")


def haemoglobin_g_dl(value: float, unit: HaemoglobinUnit) -> float:
    """Haemoglobin in g/dL."""
    if unit is HaemoglobinUnit.MMOL_PER_L:
        return value * HAEMOGLOBIN_G_PER_MOL * _factor("mol * g/mol / L", "g/dL") / 1000
    return value * _factor(unit.value, "g/dL")


def read_number(text: str, *, what: str) -> float:
    """A plain decimal number; a comma is refused, because 1,5 and 1,500 look alike to different people."""
    tidy = text.strip()
    if "," in tidy:
        raise RequestProblem(
            _("'{text}' has a comma.").format(text=tidy), where=what, fix=_("Write it with a point, such as 6.4.")
        )
    number = float(tidy) if PLAIN_NUMBER.fullmatch(tidy) else float("inf")
    if not abs(number) < float("inf"):
        raise RequestProblem(
            _("'{text}' is no number.").format(text=tidy), where=what, fix=_("Write a number such as 6.4.")
        )
    return number


def read_unit(text: str | None, kind: type[Unit], *, key: str, question: str) -> Unit:
    """A unit by its own writing. A missing one is asked for, a strange one refused; neither is ever guessed."""
    choices = tuple(unit.value for unit in kind)
    if text is None or not text.strip():
        raise QuestionsOpen([Question(key=key, text=question, choices=choices)], how="--{key} {choices}")
    for unit in kind:
        if text.strip().casefold() == unit.value.casefold():
            return unit
    raise RequestProblem(
        _("'{text}' is not one of the units.").format(text=text.strip()),
        where=key,
        fix=_("Choose one of: {choices}.").format(choices=", ".join(choices)),
    )
