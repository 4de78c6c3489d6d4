"""The model behind a comparison: logistic, what is held equal as columns, a random intercept per person or unit."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Collection, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from scipy.special import expit, stdtrit

from cubital.stats.attribute_charts import Values
from cubital.stats.interval import Interval, normal_quantile
from cubital.stats.mixed_logistic import MixedFit, NotIdentifiable, fit_logistic, fit_mixed_logistic

if TYPE_CHECKING:
    from cubital.answers.compared_reading import ComparedCell, ComparedMaterial

_FEW_NODES, _MANY_NODES = 9, 25  # nine nodes agree with twenty-five to four digits where a person has many sets
_MANY_ROWS = 2_000


@dataclass(frozen=True, kw_only=True)
class GroupEffect:
    """One group beside the reference: the odds ratio, and contaminated sets per set drawn by it instead of the other.

    ``difference`` is averaged over all sets compared, as they were drawn.
    """

    group: str
    odds_ratio: Interval
    ratio: float
    difference: Interval
    middle: float


@dataclass(frozen=True, kw_only=True)
class AlikeSets:
    """All ``sets`` of one part of the strata (``name``, such as *age group: unknown*) ended alike."""

    name: str
    sets: int
    contaminated: int


@dataclass(frozen=True, kw_only=True)
class ModelReading:
    """The fit, or ``refused`` with the ``columns`` that made it impossible. ``spread`` is how far clusters differ, in
    log odds; ``clusters`` how many there are, 0 where the model has none; ``alike`` what it leaves out because it
    cannot tell the groups apart.
    """

    effects: tuple[GroupEffect, ...] = ()
    refused: str = ""
    columns: tuple[str, ...] = ()
    spread: float = 0.0
    clusters: int = 0
    alike: tuple[AlikeSets, ...] = ()

    def effect(self, group: str) -> GroupEffect | None:
        """The effect of one group; none where the model does not say."""
        return next((one for one in self.effects if one.group == group), None)


@dataclass(frozen=True)
class _Design:
    events: Values
    sets: Values
    matrix: np.ndarray[tuple[int, int], np.dtype[np.float64]]
    names: tuple[str, ...]
    groups: tuple[str, ...]
    cluster: np.ndarray[tuple[int], np.dtype[np.int64]]
    clusters: int


def fit_groups(
    known: Sequence[ComparedCell], *, material: ComparedMaterial, reference: str, groups: Collection[str]
) -> ModelReading:
    """Fits the model to the cells of ``groups`` and of ``reference``, aggregated. A refusal is a reading, no error.

    Where no set of a held-equal part is contaminated, or every one, its own coefficient runs to infinity and its sets
    say nothing about the groups: the others are fitted without them, which is the limit of the likelihood.
    """
    asked = [cell for cell in known if cell.group in {reference, *groups}]
    telling, alike = _without_alike(asked, material)
    design = _design(telling, material, reference)
    share = sum(cell.sets for cell in telling) / sum(cell.sets for cell in asked)
    try:
        if design.clusters > 1:
            nodes = _FEW_NODES if len(design.sets) > _MANY_ROWS else _MANY_NODES
            fit = fit_mixed_logistic(design.events, design.sets, design.matrix, design.cluster, nodes=nodes)  # type: ignore[arg-type]
        else:
            fit = fit_logistic(design.events, design.sets, design.matrix)  # type: ignore[arg-type]
    except NotIdentifiable as problem:
        return ModelReading(refused=problem.why, columns=tuple(design.names[i] for i in problem.columns))
    return ModelReading(
        effects=tuple(
            _effect(group, 1 + i, design=design, fit=fit, share=share) for i, group in enumerate(design.groups)
        ),
        spread=fit.group_sd,
        clusters=design.clusters if design.clusters > 1 else 0,
        alike=alike,
    )


def _without_alike(
    cells: Sequence[ComparedCell], material: ComparedMaterial
) -> tuple[Sequence[ComparedCell], tuple[AlikeSets, ...]]:
    """The cells that can tell groups apart, and what is left out; everything where a group would go with it."""
    left, alike = cells, list[AlikeSets]()
    while found := _alike_part(left, material):
        place, label, one = found
        left = [cell for cell in left if cell.stratum[place] != label]
        alike.append(one)
    whole = {cell.group for cell in left} == {cell.group for cell in cells}
    return (left, tuple(alike)) if whole else (cells, ())


def _alike_part(cells: Sequence[ComparedCell], material: ComparedMaterial) -> tuple[int, str, AlikeSets] | None:
    """The first part of the strata whose sets all ended alike: its column, its label, its counts."""
    for place in range(len(material.columns)):
        counts: dict[str, list[int]] = defaultdict(lambda: [0, 0])
        for cell in cells:
            found = counts[cell.stratum[place]]
            found[0] += cell.contaminated
            found[1] += cell.sets
        for label, (bad, sets) in sorted(counts.items()):
            if bad in (0, sets):
                name = _part_name((place, label), material)
                return place, label, AlikeSets(name=name, sets=sets, contaminated=bad)
    return None


def _design(cells: Sequence[ComparedCell], material: ComparedMaterial, reference: str) -> _Design:
    """One row per distinct row of the design and cluster; each label but the first of a column has its own column."""
    groups = sorted({cell.group for cell in cells} - {reference})
    labels = [sorted({cell.stratum[place] for cell in cells}) for place in range(len(material.columns))]
    whole: dict[tuple[str, tuple[str, ...], str], list[int]] = defaultdict(lambda: [0, 0])
    for cell in cells:
        found = whole[cell.group, cell.stratum, cell.cluster if material.clusters else ""]
        found[0] += cell.contaminated
        found[1] += cell.sets
    parts = [(-1, group) for group in groups]
    parts += [(place, value) for place, values in enumerate(labels) for value in values[1:]]
    # Few kinds of rows for many clusters: each kind is written once.
    kinds = {kind: i for i, kind in enumerate(dict.fromkeys(key[:2] for key in whole))}
    written = np.array(
        [[1, *(part in ((-1, group), *enumerate(stratum)) for part in parts)] for group, stratum in kinds], dtype=float
    )
    clusters = {name: i for i, name in enumerate(sorted({key[2] for key in whole}))}
    counts = np.asarray(list(whole.values()), dtype=float).reshape(-1, 2)
    return _Design(
        counts[:, 0], counts[:, 1], written[[kinds[key[:2]] for key in whole]],
        ("", *(_part_name(part, material) for part in parts)), tuple(groups),
        np.asarray([clusters[key[2]] for key in whole], dtype=np.int64), len(clusters),
    )  # fmt: skip


def _part_name(part: tuple[int, str], material: ComparedMaterial) -> str:
    place, label = part
    return label if place < 0 else f"{material.columns[place]}: {label}"


def _effect(group: str, place: int, *, design: _Design, fit: MixedFit, share: float) -> GroupEffect:
    # Student's t with as many degrees of freedom as clusters allow: with few of them their spread is itself in doubt.
    spare = design.clusters - design.matrix.shape[1]
    level = fit.odds_ratio(place).level
    quantile = (
        float(stdtrit(spare, 1 - (1 - level) / 2)) if design.clusters > 1 and spare > 0 else normal_quantile(level)
    )
    middle, reach = float(fit.coefficients[place]), quantile * float(fit.errors[place])
    ratio = Interval(math.exp(middle - reach), math.exp(middle + reach), level, "mixed logistic, Wald with t")
    effects = fit.group_effects[design.cluster] if len(fit.group_effects) else 0.0
    bare = np.array(design.matrix)
    bare[:, 1 : 1 + len(design.groups)] = 0
    base = bare @ fit.coefficients + effects

    def difference(by: float) -> float:
        # Sets that all end alike end so with any group: they count with a difference of nothing.
        return share * float(np.average(expit(base + by) - expit(base), weights=design.sets))

    low, high = difference(middle - reach), difference(middle + reach)
    return GroupEffect(
        group=group, odds_ratio=ratio, ratio=float(np.exp(middle)), middle=difference(middle),
        difference=Interval(low, high, ratio.level, "mixed logistic, averaged over all sets"),
    )  # fmt: skip
