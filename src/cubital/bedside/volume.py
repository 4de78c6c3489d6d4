"""How much blood for culture from this patient, and into which bottles: question by question from the policy.

The estimate of blood volume, the caps and the table are the policy's. The result is a plan or a refusal, with every
step of the arithmetic beside it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from enum import StrEnum

from cubital.bedside.split import Room, split_volume
from cubital.domain.collection import BottleSpec, ChildVolumes, CollectionPolicy, WeightBand
from cubital.reference.growth import LAST_MONTH, plausible_weight

# The growth reference is of children born at term. Below half a year a child born early may weigh far less; the
# smallest who are collected from weigh about 400 g (common practice, no source).
PRETERM_MONTHS = 6
PRETERM_KG = 0.4

# Where the policy has no table for children it speaks of adults only: from eighteen years (common practice, no source).
ADULT_FROM_MONTHS = 216


class Refusal(StrEnum):
    """Why there is no number."""

    SILENT_POLICY = "silent_policy"
    IMPLAUSIBLE = "implausible"
    NO_TABLE = "no_table"
    OUTSIDE_TABLE = "outside_table"
    CAP_REACHED = "cap_reached"
    NO_BOTTLE = "no_bottle"


@dataclass(frozen=True, kw_only=True)
class Patient:
    """What the collector knows at the bedside; nothing of it is kept.

    ``haemoglobin_g_dl`` is none when unknown; ``taken_ml`` is blood already taken in the last 24 hours.
    """

    weight_kg: float
    age_months: float
    haemoglobin_g_dl: float | None
    taken_ml: float


@dataclass(frozen=True, kw_only=True)
class Step:
    """One line of the arithmetic, ready to be unfolded: what, how, and the result with its unit."""

    key: str
    words: str
    value: float
    unit: str


@dataclass(frozen=True, kw_only=True)
class Plan:
    """How much at most, and where it goes.

    ``amounts`` pairs bottle keys with mL; ``discuss`` sends to the responsible clinician first; ``limited_by`` is what
    set the total: ``table``, ``single_draw``, ``day`` or ``bottle``.
    """

    total_ml: float
    low_ml: float
    amounts: tuple[tuple[str, float], ...]
    discuss: bool
    limited_by: str
    steps: tuple[Step, ...]
    sets: float = 0.0  # how many such sets an adult's policy asks for; zero where the total is the whole

    def below_table(self) -> bool:
        """Whether the bottles at hand hold less than the table asks for."""
        return self.total_ml < self.low_ml


@dataclass(frozen=True, kw_only=True)
class NoPlan:
    """A refusal with its reason and the arithmetic up to there."""

    reason: Refusal
    detail: str
    steps: tuple[Step, ...] = ()


def floor_tenth(volume_ml: float) -> float:
    """A volume in whole tenths, rounded down: a cap is never exceeded by rounding."""
    return int(volume_ml * 10 + 1e-9) / 10


def is_child(policy: CollectionPolicy, age_months: float) -> bool:
    """Whether the policy's paediatric table applies at this age."""
    return policy.child is not None and age_months < policy.child.below_months.value


def implausible(policy: CollectionPolicy, patient: Patient) -> str:
    """Why the weight cannot be right for the age; empty when it can."""
    span = plausible_weight(patient.age_months)
    low, high = policy.adult.weight_low_kg.value, policy.adult.weight_high_kg.value
    if span is None and is_child(policy, patient.age_months):
        low = min(low, _last_plausible_kg())
    if span is not None:
        low, high = span.low_kg, span.high_kg
        if patient.age_months < PRETERM_MONTHS:
            low = min(low, PRETERM_KG)
    if low <= patient.weight_kg <= high:
        return ""
    return f"{low:.1f} – {high:.1f} kg"


def _last_plausible_kg() -> float:
    """The lowest plausible weight at the end of the growth reference: older children weigh at least that."""
    span = plausible_weight(LAST_MONTH)
    return span.low_kg if span is not None else 0.0


def plan_child(policy: CollectionPolicy, patient: Patient, keys: Sequence[str] = ()) -> Plan | NoPlan:
    """The plan for a child from the policy's paediatric table; ``keys`` name the bottles at hand, all if empty."""
    table = policy.child
    if table is None:
        return NoPlan(reason=Refusal.NO_TABLE, detail="")
    band = _band(table, patient.weight_kg)
    per_kg = _per_kg(table, patient.age_months)
    if band is None or per_kg is None:
        return NoPlan(reason=Refusal.OUTSIDE_TABLE, detail="")
    anaemic = patient.haemoglobin_g_dl is not None and patient.haemoglobin_g_dl < table.anaemia_below_g_dl.value
    steps = _child_steps(table, patient, per_kg=per_kg, anaemic=anaemic)
    by_key = {step.key: step.value for step in steps}
    limits = {
        "table": floor_tenth(band.total_high_ml.value),
        "single_draw": floor_tenth(by_key["single_cap_used_ml"]),
        "day": floor_tenth(by_key["day_left_ml"]),
    }
    limited_by = min(limits, key=lambda name: limits[name])
    total = limits[limited_by]
    if total < floor_tenth(band.total_low_ml.value):
        return NoPlan(reason=Refusal.CAP_REACHED, detail=limited_by, steps=steps)
    bottles = child_bottles(policy, table, keys, total=total, single=total <= band.one_bottle_up_to_ml.value)
    return _fill(bottles, total, low=band.total_low_ml.value, limited_by=limited_by, discuss=anaemic, steps=steps)


def _child_steps(table: ChildVolumes, patient: Patient, *, per_kg: float, anaemic: bool) -> tuple[Step, ...]:
    """The arithmetic of the caps, in the order in which a person would do it."""
    volume = patient.weight_kg * per_kg
    single = volume * table.single_draw_share.value
    single_used = single * table.anaemia_factor.value if anaemic else single
    day = volume * table.day_share.value
    left = max(0.0, day - patient.taken_ml)
    rule = f"× {table.anaemia_factor.value:g} for low haemoglobin" if anaemic else "no change"
    return (
        Step(key="blood_volume_ml", words=f"{patient.weight_kg:g} kg × {per_kg:g} mL/kg", value=volume, unit="mL"),
        Step(key="single_cap_ml", words=f"{table.single_draw_share.value:.1%} of it", value=single, unit="mL"),
        Step(key="single_cap_used_ml", words=rule, value=single_used, unit="mL"),
        Step(key="day_cap_ml", words=f"{table.day_share.value:.1%} of it", value=day, unit="mL"),
        Step(key="day_left_ml", words=f"minus {patient.taken_ml:g} mL already taken", value=left, unit="mL"),
    )


def child_bottles(
    policy: CollectionPolicy, table: ChildVolumes, keys: Sequence[str], *, total: float, single: bool
) -> tuple[BottleSpec, ...]:
    """One bottle in the policy's order of preference, or the adult pair where the total is larger than one takes.

    A bottle whose minimum the total does not reach comes last; the pair needs its aerobic bottle.
    """
    ones = [policy.bottle(key) for key in table.bottles if not keys or key in keys]
    reached = [bottle for bottle in ones if bottle.minimum_ml.value <= total]
    order = (policy.adult.aerobic, policy.adult.anaerobic)
    pair = [policy.bottle(key) for key in order if not keys or key in keys]
    if single:
        return tuple((reached or ones)[:1])
    useful = bool(pair) and pair[0].key == policy.adult.aerobic and pair[0].minimum_ml.value <= total
    if not useful and reached and total <= reached[0].maximum_ml.value:
        return (reached[0],)
    return tuple(pair if useful else reached or pair or ones)


def _fill(
    bottles: Sequence[BottleSpec],
    total: float,
    *,
    low: float,
    limited_by: str,
    discuss: bool,
    steps: tuple[Step, ...],
) -> Plan | NoPlan:
    if not bottles:
        return NoPlan(reason=Refusal.NO_BOTTLE, detail="", steps=steps)
    rooms = [Room(minimum_ml=b.minimum_ml.value, maximum_ml=b.maximum_ml.value) for b in bottles]
    split = split_volume(total, rooms)
    placed = round(sum(split.amounts_ml), 1)
    if placed == 0:
        return NoPlan(reason=Refusal.CAP_REACHED, detail=limited_by, steps=steps)
    return Plan(
        total_ml=placed,
        low_ml=low,
        amounts=tuple((b.key, amount) for b, amount in zip(bottles, split.amounts_ml, strict=True)),
        discuss=discuss,
        limited_by="bottle" if placed < total else limited_by,
        steps=steps,
    )


def _band(table: ChildVolumes, weight_kg: float) -> WeightBand | None:
    for band in table.bands:
        if band.from_kg.value <= weight_kg < band.to_kg.value:
            return band
    return None


def _per_kg(table: ChildVolumes, age_months: float) -> float | None:
    for band in table.blood_volumes:
        if band.from_months.value <= age_months < band.to_months.value:
            return band.ml_per_kg.value
    return None


def plan_adult(policy: CollectionPolicy, patient: Patient, keys: Sequence[str] = ()) -> Plan | NoPlan:
    """The plan for one adult set: the pair of bottles to their maximum, inside the policy's cap for 24 hours.

    Never for a child without a table, nor for a weight that the policy does not call an adult's.
    """
    if policy.child is None and patient.age_months < ADULT_FROM_MONTHS:
        return NoPlan(reason=Refusal.NO_TABLE, detail="")
    if not policy.adult.weight_low_kg.value <= patient.weight_kg <= policy.adult.weight_high_kg.value:
        return NoPlan(reason=Refusal.OUTSIDE_TABLE, detail="")
    left = max(0.0, policy.adult.day_cap_ml.value - patient.taken_ml)
    steps = (
        Step(key="day_cap_ml", words="the policy's limit for 24 hours", value=policy.adult.day_cap_ml.value, unit="mL"),
        Step(key="day_left_ml", words=f"minus {patient.taken_ml:g} mL already taken", value=left, unit="mL"),
    )
    order = (policy.adult.aerobic, policy.adult.anaerobic)
    bottles = tuple(policy.bottle(key) for key in order if not keys or key in keys)
    if bottles and floor_tenth(left) < bottles[0].minimum_ml.value:
        return NoPlan(reason=Refusal.CAP_REACHED, detail="day", steps=steps)
    wanted = sum(bottle.maximum_ml.value for bottle in bottles)
    limited_by = "day" if left < wanted else "bottle"
    total = min(wanted, floor_tenth(left))
    found = _fill(bottles, total, low=0.0, limited_by=limited_by, discuss=False, steps=steps)
    return replace(found, sets=policy.adult.sets.value) if isinstance(found, Plan) else found
