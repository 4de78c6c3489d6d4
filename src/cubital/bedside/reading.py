"""What a person types at the bedside becomes a patient or a volume, or a sentence says why not."""

from __future__ import annotations

from cubital.bedside.units import HaemoglobinUnit, WeightUnit, haemoglobin_g_dl, read_number, read_unit, weight_kg
from cubital.bedside.volume import Patient
from cubital.domain.errors import RequestProblem
from cubital.domain.words import _

# Beyond these nothing was ever measured in a person: typing errors (common practice, no source).
LARGEST_VOLUME_ML = 1000.0
LARGEST_AGE_MONTHS = 1440.0
LARGEST_HAEMOGLOBIN_G_DL = 30.0


def read_volume(text: str, *, what: str) -> float:
    """A number of zero or more and at most a thousand (mL, or months under the name ``what``)."""
    return _bounded(read_number(text, what=what), high=max(LARGEST_VOLUME_ML, LARGEST_AGE_MONTHS), what=what)


def _bounded(number: float, *, high: float, what: str, above_zero: bool = False) -> float:
    if number < 0 or (above_zero and number == 0) or number > high:
        raise RequestProblem(
            _("{number} cannot be.").format(number=f"{number:g}"),
            where=what,
            fix=_("Give a number above zero, at most {high}.").format(high=f"{high:g}"),
        )
    return number


def read_patient(
    *,
    weight: str,
    weight_unit: str | None,
    age_months: str,
    haemoglobin: str | None,
    haemoglobin_unit: str | None,
    taken_ml: str,
) -> Patient:
    """The patient from what was typed. Missing units are asked for (``QuestionsOpen``), never guessed."""
    kilograms = _bounded(read_number(weight, what="weight"), high=1000, what="weight", above_zero=True)
    unit = read_unit(weight_unit, WeightUnit, key="weight-unit", question=_("Is the weight in kg or lb?"))
    return Patient(
        weight_kg=weight_kg(kilograms, unit),
        age_months=_bounded(read_number(age_months, what="age"), high=LARGEST_AGE_MONTHS, what="age"),
        haemoglobin_g_dl=_read_haemoglobin(haemoglobin, haemoglobin_unit),
        taken_ml=_bounded(read_number(taken_ml, what="taken"), high=LARGEST_VOLUME_ML, what="taken"),
    )


def _read_haemoglobin(text: str | None, unit_text: str | None) -> float | None:
    if text is None or not text.strip():
        return None
    value = _bounded(read_number(text, what="haemoglobin"), high=300, what="haemoglobin", above_zero=True)
    unit = read_unit(unit_text, HaemoglobinUnit, key="hb-unit", question=haemoglobin_question(value))
    grams = haemoglobin_g_dl(value, unit)
    _bounded(grams, high=LARGEST_HAEMOGLOBIN_G_DL, what=_("haemoglobin in g/dL"), above_zero=True)
    return grams


def haemoglobin_question(value: float) -> str:
    """The question with what each answer would mean, because the same number means opposite things."""
    as_mmol = haemoglobin_g_dl(value, HaemoglobinUnit.MMOL_PER_L)
    return _(
        "In which unit is the haemoglobin of {value}? As g/dL it is {value} g/dL; as mmol/L it would be {other} g/dL."
    ).format(value=f"{value:g}", other=f"{as_mmol:.1f}")
