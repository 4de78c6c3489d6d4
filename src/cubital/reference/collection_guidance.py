"""Published ranges to stand beside the fields of a policy on collecting: guidance with its confidence, no value."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from enum import StrEnum
from functools import lru_cache
from importlib import resources


class Confidence(StrEnum):
    """How the fact was come by."""

    READ = "read"
    SECONDARY = "secondary"
    MEMORY = "memory"


@dataclass(frozen=True, kw_only=True)
class Guidance:
    """One published statement about a field of the policy, such as ``child.bands``."""

    field: str
    words: str
    source: str
    confidence: Confidence


@lru_cache
def collection_guidance() -> tuple[Guidance, ...]:
    """Every statement, in the order of the data file."""
    path = resources.files("cubital.reference") / "data" / "collection_guidance.toml"
    entries = tomllib.loads(path.read_text(encoding="utf-8"))["guidance"]
    return tuple(Guidance(**(entry | {"confidence": Confidence(entry["confidence"])})) for entry in entries)


def guidance_for(path: str) -> tuple[Guidance, ...]:
    """The statements about the field at ``path`` (``bottles[adult_aerobic].minimum_ml.value``) or its section."""
    bare = "".join(part.split("]")[-1] for part in path.split("["))
    return tuple(entry for entry in collection_guidance() if bare == entry.field or bare.startswith(f"{entry.field}."))
