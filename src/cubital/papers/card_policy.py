"""The approved policy as the plain data that the bedside card carries: only what the card computes or shows.

Volumes of bottles are in tenths of a millilitre, so that the card's arithmetic is whole numbers like Python's.
"""

from __future__ import annotations

from datetime import date
from typing import Any

from cubital.bedside.policy_file import policy_fingerprint
from cubital.bedside.split import TENTHS
from cubital.bedside.units import HAEMOGLOBIN_G_PER_MOL, HaemoglobinUnit, WeightUnit, haemoglobin_g_dl, weight_kg
from cubital.bedside.volume import PRETERM_KG, PRETERM_MONTHS
from cubital.domain.collection import BottleSpec, ChildVolumes, CollectionPolicy
from cubital.reference.growth import LAST_MONTH, plausible_weight


def build_card_policy(policy: CollectionPolicy, *, made_on: date) -> dict[str, Any]:
    """What ``numbers.js`` needs of the policy, as JSON-ready data; before ``made_on`` the card does not speak."""
    return {
        "name": policy.name,
        "version": policy.version,
        "fingerprint": policy_fingerprint(policy),
        "example": policy.example,
        "approvedBy": policy.approved_by,
        "approvedOn": policy.approved_on.isoformat() if policy.approved_on else "",
        "madeOn": made_on.isoformat(),
        "reviewBy": policy.review_by.isoformat() if policy.review_by else "",
        "bottles": {bottle.key: _bottle(bottle) for bottle in policy.bottles},
        "adult": {
            "aerobic": policy.adult.aerobic,
            "anaerobic": policy.adult.anaerobic,
            "dayCap": policy.adult.day_cap_ml.value,
            "sets": policy.adult.sets.value,
            "weights": [policy.adult.weight_low_kg.value, policy.adult.weight_high_kg.value],
        },
        "child": _child(policy.child) if policy.child else None,
        "growth": [_growth(month) for month in range(LAST_MONTH + 1)],
        "preterm": {"months": PRETERM_MONTHS, "kg": PRETERM_KG},
        "factors": {
            "kgPerLb": weight_kg(1.0, WeightUnit.LB),
            "gdlPerGl": haemoglobin_g_dl(1.0, HaemoglobinUnit.G_PER_L),
            "haemoglobinGramPerMol": HAEMOGLOBIN_G_PER_MOL,
            "gdlPerGramPerLitre": haemoglobin_g_dl(1.0, HaemoglobinUnit.G_PER_L),
        },
        "skin": [
            {
                "from": rule.from_months.value, "to": rule.to_months.value, "agent": rule.agent,
                "friction": rule.friction_s.value, "dry": rule.dry_s.value, "caution": rule.caution,
            }
            for rule in policy.skin
        ],
        "tops": {
            "agent": policy.bottle_tops.agent, "friction": policy.bottle_tops.friction_s.value,
            "dry": policy.bottle_tops.dry_s.value,
        },
        "steps": [
            {"key": rule.key, "situation": rule.situation, "next": rule.next_step, "section": rule.section}
            for rule in policy.steps
        ],
        "telephone": list(policy.telephone_numbers),
    }  # fmt: skip


def _bottle(bottle: BottleSpec) -> dict[str, Any]:
    return {
        "key": bottle.key,
        "name": bottle.name,
        "kind": bottle.kind.value,
        "minimum": round(bottle.minimum_ml.value * TENTHS),
        "maximum": round(bottle.maximum_ml.value * TENTHS),
    }


def _child(child: ChildVolumes) -> dict[str, Any]:
    return {
        "belowMonths": child.below_months.value,
        "bands": [
            {
                "from": band.from_kg.value, "to": band.to_kg.value, "low": band.total_low_ml.value,
                "high": band.total_high_ml.value, "oneBottle": band.one_bottle_up_to_ml.value,
            }
            for band in child.bands
        ],
        "bloodVolumes": [
            {"from": band.from_months.value, "to": band.to_months.value, "mlPerKg": band.ml_per_kg.value}
            for band in child.blood_volumes
        ],
        "singleShare": child.single_draw_share.value,
        "dayShare": child.day_share.value,
        "anaemiaBelow": child.anaemia_below_g_dl.value,
        "anaemiaFactor": child.anaemia_factor.value,
        "bottles": list(child.bottles),
    }  # fmt: skip


def _growth(month: int) -> list[float]:
    span = plausible_weight(month)
    if span is None:
        raise ValueError(f"no growth reference at {month} months")
    return [span.low_kg, span.high_kg]
