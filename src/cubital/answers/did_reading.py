"""Everything that is found of one dated change: its design, its counts, the fit, and when the rate changed anyway."""

from __future__ import annotations

from dataclasses import dataclass

from cubital.answers.did_design import REFUSALS, Design, DidDesign, read_design
from cubital.answers.did_material import DidMaterial, UnitDays, Window, dates_of, is_harmless, label_of
from cubital.answers.did_models import DidCounts, DidFit, Model, count_did, find_when, fit_did
from cubital.answers.did_table import DidRow, build_did_table
from cubital.answers.did_table_reading import DidReading, DidState, read_did_table
from cubital.answers.visit import beyond as beyond_by_itself
from cubital.stats.change_point import ChangePoint


@dataclass(frozen=True, kw_only=True)
class ChangeReading:
    """``together`` reads two changes of one day over all units; none where there was only one."""

    material: DidMaterial
    design: DidDesign
    counts: DidCounts | None
    fit: DidFit | None
    when: ChangePoint | None
    together: DidReading | None = None

    @property
    def refused(self) -> bool:
        """Whether the design, or an empty side, forbids any estimate."""
        return self.design.kind in REFUSALS or (self.fit is None and self.together is None)

    @property
    def only_described(self) -> bool:
        """Whether there is nothing but two times."""
        return self.fit is not None and self.fit.model is Model.PLAIN

    @property
    def beyond(self) -> bool:
        """More than chance, than others changed, and than comes by itself where the place was chosen as worst."""
        if self.fit is None or self.only_described or not self.fit.beyond:
            return False
        visit = self.design.visit
        falls = self.fit.ratio < 1
        return not (falls and self.design.was_worst and visit is not None and not beyond_by_itself(visit))


def read_change(material: DidMaterial) -> ChangeReading:
    """Reads the design first; what it refuses is not estimated."""
    design = read_design(material)
    together = _together(material, design) if design.kind is Design.TWIN else None
    counts = count_did(material, design)
    return ChangeReading(
        material=material, design=design, counts=counts, fit=fit_did(material, design),
        when=find_when(counts) if counts else None, together=together,
    )  # fmt: skip


def _together(material: DidMaterial, design: DidDesign) -> DidReading | None:
    """The changes of that day as columns over all units that nothing else reached; none where it tells them apart not.

    A unit that had only one of the two tells them apart, as long as others had neither or the other one.
    """
    window = design.window
    if window is None:
        return None
    labels = tuple(dict.fromkeys(label_of(entry) for entry in (material.change, *design.twins)))
    same_day = [
        entry for entry in (*material.entries, material.change) if entry.on == window.on and label_of(entry) in labels
    ]  # fmt: skip
    had = {
        unit.key: frozenset(
            label_of(entry) for entry in same_day if entry.covers(facility=unit.facility, unit=unit.unit)
        )
        for unit in material.units
    }
    undisturbed = {unit.key for unit in design.peers} | {unit.key for unit in material.mine}
    undisturbed |= {unit.key for unit in material.units if had[unit.key] and _only_these(material, unit, window)}
    rows = [
        DidRow(
            place=unit.name, after=after, sets=n, contaminated=x,
            levels=tuple("yes" if after and label in had[unit.key] else "no" for label in labels),
        )
        for unit in material.units
        if unit.key in undisturbed
        for after, (x, n) in ((False, unit.before(window)), (True, unit.after(window)))
        if n
    ]  # fmt: skip
    words = {label_of(entry): entry.words for entry in reversed((material.change, *design.twins))}
    table = build_did_table(rows, factors=tuple(words[label] for label in labels))
    if len(table.factors) != len(labels):
        return None
    return read_did_table(table, at=material.mine[0].name if material.mine else "")


def _only_these(material: DidMaterial, unit: UnitDays, window: Window) -> bool:
    """Whether nothing of its own reached the unit inside the window but what began on the day itself."""
    return not any(
        day != window.on and window.holds(day)
        for entry in material.entries
        if entry.facility is not None
        and not is_harmless(entry)
        and entry.covers(facility=unit.facility, unit=unit.unit)
        for day in dates_of(entry)
    )


def told_apart(reading: ChangeReading) -> bool:
    """Whether two changes of one day are told apart by other units."""
    return reading.together is not None and reading.together.state is DidState.SAID
