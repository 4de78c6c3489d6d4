"""Published definitions of a contaminated set as ready charters, each with its source, and the four of the bench."""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache
from types import MappingProxyType

from cubital.domain.charter import Charter, build_charter
from cubital.reference.tables import read_settings

BENCH_KEYS = (
    "a_one_of_several_all_sets",
    "b_one_of_several_eligible_sets",
    "c_with_solitary",
    "d_any_commensal",
)


@lru_cache
def published_charters() -> Mapping[str, Charter]:
    """Every shipped charter by its key, the bench definitions first.

    They differ from one another in the points that hospitals argue about; none is in force until a workspace
    signs it. ``source`` and ``confidence`` say where each comes from and what was settled here.
    """
    tables = read_settings("charters")
    return MappingProxyType({key: build_charter({"key": key, **values}) for key, values in tables.items()})


def bench_charters() -> tuple[Charter, ...]:
    """The four bench definitions in their order: A, B, C, D."""
    return tuple(published_charters()[key] for key in BENCH_KEYS)
