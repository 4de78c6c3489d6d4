"""The known truth of the invented network, and what the default charter must make of it, counted on its own.

Written only when asked, and never into a workspace: it exists to test the judge and the answers against.
"""

from __future__ import annotations

import csv
from collections.abc import Iterable, Sequence
from dataclasses import asdict, dataclass, fields
from itertools import groupby
from pathlib import Path

from cubital.domain.charter import SetClass
from cubital.workspace.demo.draws import Damage, Draw
from cubital.workspace.demo.organisms import GROWERS, same_organism

CALLED_OFF = "called_off"
SHORTENED = "shortened"


@dataclass(frozen=True, kw_only=True)
class TrueSet:
    """One set as it was.

    ``expected`` is its class by the default charter; ``called_off`` where it must not count, ``shortened`` where it
    must count but its accession number cannot be known any more.
    """

    facility: str
    accession: int
    month: str
    unit: str
    stated_unit: str
    collector: str
    stated_collector: str
    line: bool
    contaminated: bool
    infected: bool
    organisms: str
    expected: str


def build_truth(draws: Iterable[Draw]) -> list[TrueSet]:
    """The truth of one hospital's draws, in order of accession."""
    found: list[TrueSet] = []
    for _episode, members in groupby(sorted(draws, key=lambda draw: draw.episode), key=lambda draw: draw.episode):
        episode = list(members)
        found += [_true_set(draw, episode) for draw in episode]
    return sorted(found, key=lambda true: true.accession)


def _true_set(draw: Draw, episode: Sequence[Draw]) -> TrueSet:
    return TrueSet(
        facility=draw.hospital.name, accession=draw.accession, month=draw.local.strftime("%Y-%m"),
        unit=draw.unit.label, stated_unit=draw.stated_unit, collector=draw.person.key,
        stated_collector=draw.collector_text, line=draw.line, contaminated=draw.contaminated, infected=draw.infected,
        organisms=" + ".join(draw.organisms), expected=expected_class(draw, episode),
    )  # fmt: skip


def expected_class(draw: Draw, episode: Sequence[Draw]) -> str:
    """The class by the default charter, for a draw among the draws of its episode.

    The default charter: one of several within 24 hours, adults, the same commensal in two sets or mixed growth to
    adjudicate, different commensals contaminated, solitary commensals apart.
    """
    if draw.call_off:
        return CALLED_OFF
    if draw.damage is Damage.ACCESSION:
        return SHORTENED
    if draw.unit.children:
        return SetClass.OUTSIDE
    if not draw.organisms:
        return SetClass.NO_GROWTH
    return _class_of_growth(draw, episode)


def _class_of_growth(draw: Draw, episode: Sequence[Draw]) -> SetClass:
    kinds = {GROWERS[name].commensal for name in draw.organisms}
    if kinds == {False}:
        return SetClass.PATHOGEN
    if len(kinds) == 2:
        return SetClass.ADJUDICATE
    others = [other for other in episode if other is not draw and not other.call_off]
    if not others:
        return SetClass.SOLITARY_COMMENSAL
    grown = [name for other in others for name in other.organisms]
    shared = any(same_organism(mine, theirs) for mine in draw.organisms for theirs in grown)
    return SetClass.ADJUDICATE if shared else SetClass.CONTAMINATED


def write_truth(truth: Sequence[TrueSet], file: Path) -> Path:
    """The truth as a CSV, one row per set."""
    with file.open("w", newline="", encoding="utf-8") as handle:
        writer = csv.DictWriter(handle, [field.name for field in fields(TrueSet)])
        writer.writeheader()
        writer.writerows(asdict(true) for true in truth)
    return file
