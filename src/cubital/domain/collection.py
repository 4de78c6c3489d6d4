"""The local policy on collecting: volumes, bottles, antisepsis, lines, labels, transport. Data, never built-in truth.

Every number is a :class:`Value` with its unit, its source and its owner. A policy is a draft until someone approves
it until a day; bedside functions answer only from an approved policy that is in date.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from itertools import pairwise

from cubital.domain.cultures import BottleKind
from cubital.domain.errors import PolicyProblem
from cubital.domain.policy import PolicyState


@dataclass(frozen=True, kw_only=True)
class Value:
    """One number of the policy. ``source`` says where it comes from, ``owner`` who may change it locally."""

    value: float
    unit: str
    source: str
    owner: str

    def __post_init__(self) -> None:
        if not self.value == self.value or abs(self.value) == float("inf"):
            raise PolicyProblem("a value is not a number.", fix="Write a plain number with a point, such as 8.5.")


@dataclass(frozen=True, kw_only=True)
class Zone:
    """A part of the bottle's panel that a label must leave free.

    ``centre_mm`` is measured along the arc from the middle of the maker's barcode; ``bottom_mm`` from the panel's lower
    edge; ``margin_mm`` is kept free on every side.
    """

    key: str
    name: str
    centre_mm: Value
    width_mm: Value
    bottom_mm: Value
    height_mm: Value
    margin_mm: Value


@dataclass(frozen=True, kw_only=True)
class BottleSpec:
    """One kind of bottle as this hospital stocks it. Volumes are of blood, except ``broth_ml``, the fluid inside."""

    key: str
    name: str
    kind: BottleKind
    minimum_ml: Value
    maximum_ml: Value
    broth_ml: Value
    bore_mm: Value
    diameter_mm: Value
    panel_height_mm: Value
    zones: tuple[Zone, ...] = ()

    def __post_init__(self) -> None:
        low, high = self.minimum_ml.value, self.maximum_ml.value
        if not 0 <= low <= high or high <= 0:
            raise PolicyProblem(f"minimum {low:g} mL and maximum {high:g} mL are the wrong way round.", where=self.name)
        if min(self.bore_mm.value, self.diameter_mm.value, self.panel_height_mm.value) <= 0:
            raise PolicyProblem("bore, diameter and panel height must be above zero.", where=self.name)


@dataclass(frozen=True, kw_only=True)
class WeightBand:
    """Blood for culture by weight: from ``from_kg`` up to but not including ``to_kg``.

    Totals up to ``one_bottle_up_to_ml`` go into a single aerobic bottle; above, the adult split applies.
    """

    from_kg: Value
    to_kg: Value
    total_low_ml: Value
    total_high_ml: Value
    one_bottle_up_to_ml: Value

    def __post_init__(self) -> None:
        if not 0 < self.from_kg.value < self.to_kg.value:
            raise PolicyProblem(f"a weight band runs from {self.from_kg.value:g} to {self.to_kg.value:g} kg.")
        if not 0 < self.total_low_ml.value <= self.total_high_ml.value:
            raise PolicyProblem(
                f"totals of {self.total_low_ml.value:g} to {self.total_high_ml.value:g} mL are the wrong way round."
            )


@dataclass(frozen=True, kw_only=True)
class BloodVolumeBand:
    """Estimated blood volume per kilogram, by age in months: from inclusive, to exclusive."""

    from_months: Value
    to_months: Value
    ml_per_kg: Value


@dataclass(frozen=True, kw_only=True)
class ChildVolumes:
    """The paediatric table: bands, caps as shares of blood volume, and the rule for low haemoglobin."""

    below_months: Value  # who counts as a child here
    bands: tuple[WeightBand, ...]
    blood_volumes: tuple[BloodVolumeBand, ...]
    single_draw_share: Value
    day_share: Value
    anaemia_below_g_dl: Value
    anaemia_factor: Value
    bottles: tuple[str, ...]  # keys of bottle kinds, in order of preference

    def __post_init__(self) -> None:
        _check_joined([(b.from_kg.value, b.to_kg.value) for b in self.bands], what="weight bands", unit="kg")
        _check_joined(
            [(b.from_months.value, b.to_months.value) for b in self.blood_volumes], what="age bands", unit="months"
        )
        for name in ("single_draw_share", "day_share", "anaemia_factor"):
            share = getattr(self, name).value
            if not 0 < share <= 1:
                raise PolicyProblem(f"{name} is {share:g}, not between 0 and 1.", where="paediatric volumes")
        if self.single_draw_share.value > self.day_share.value:
            raise PolicyProblem("a single draw may take more than a whole day.", where="paediatric volumes")


def _check_joined(spans: Sequence[tuple[float, float]], *, what: str, unit: str) -> None:
    """Bands must follow one another without gap or overlap."""
    for (_, end), (start, _after) in pairwise(spans):
        if start != end:
            kind = "overlap" if start < end else "leave a gap"
            raise PolicyProblem(f"{what} {kind} between {end:g} and {start:g} {unit}.", where="paediatric volumes")


@dataclass(frozen=True, kw_only=True)
class AdultVolumes:
    """Sets per episode and the pair of bottles of one set."""

    sets: Value
    aerobic: str
    anaerobic: str
    day_cap_ml: Value
    weight_low_kg: Value
    weight_high_kg: Value


@dataclass(frozen=True, kw_only=True)
class SkinRule:
    """Antisepsis by age: from inclusive, to exclusive, in months. Times in seconds."""

    from_months: Value
    to_months: Value
    agent: str
    friction_s: Value
    dry_s: Value
    caution: str = ""


@dataclass(frozen=True, kw_only=True)
class DeviceRule:
    """Which bottle is filled first with a collecting device, and what the kit holds."""

    key: str
    name: str
    first: BottleKind
    why: str
    kit: tuple[str, ...] = ()
    kit_per_set: tuple[str, ...] = ()


@dataclass(frozen=True, kw_only=True)
class StepRule:
    """The next permitted step in a situation at the bedside, with the policy's section."""

    key: str
    situation: str
    next_step: str
    section: str
    source: str
    owner: str


@dataclass(frozen=True, kw_only=True)
class LabelRule:
    """The label stock in use, what must stand on it and where it may not lie."""

    width_mm: Value
    height_mm: Value
    printer_dpi: Value
    narrow_bar_dots: Value
    quiet_zone_modules: Value
    largest_bend_degrees: Value
    elements: tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class TransportRule:
    """How long blood may be on its way."""

    receipt_limit_min: Value
    loading_limit_min: Value
    storage: str


@dataclass(frozen=True, kw_only=True)
class CollectionPolicy:
    """One version of the whole policy. ``example`` marks the shipped one, which only a demo workspace may approve."""

    name: str
    version: int
    bottles: tuple[BottleSpec, ...]
    adult: AdultVolumes
    child: ChildVolumes | None
    skin: tuple[SkinRule, ...]
    bottle_tops: SkinRule
    devices: tuple[DeviceRule, ...]
    steps: tuple[StepRule, ...]
    label: LabelRule
    transport: TransportRule
    telephone_numbers: tuple[str, ...] = ()
    example: bool = False
    approved_by: str = ""
    approved_on: date | None = None
    review_by: date | None = None

    def __post_init__(self) -> None:
        known = {bottle.key for bottle in self.bottles}
        named = {self.adult.aerobic, self.adult.anaerobic, *(self.child.bottles if self.child else ())}
        if missing := sorted(named - known):
            raise PolicyProblem(f"unknown bottle: {', '.join(missing)}.", where=f"policy '{self.name}'")
        if self.approved_on and self.review_by and self.review_by <= self.approved_on:
            raise PolicyProblem("the review day is not after the approval day.", where=f"policy '{self.name}'")

    def bottle(self, key: str) -> BottleSpec:
        """The bottle of that key; ``PolicyProblem`` for one the policy does not know."""
        for spec in self.bottles:
            if spec.key == key:
                return spec
        raise PolicyProblem(
            f"the policy knows no bottle '{key}'.", fix=f"Known are: {', '.join(b.key for b in self.bottles)}."
        )

    def state(self, today: date) -> PolicyState:
        """Draft until approved with a review day; expired from the day after it. A future approval is no approval."""
        if not (self.approved_by and self.approved_on and self.review_by) or self.approved_on > today:
            return PolicyState.DRAFT
        return PolicyState.EXPIRED if today > self.review_by else PolicyState.APPROVED
