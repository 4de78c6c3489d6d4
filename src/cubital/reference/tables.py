"""Opens the tables that ship beside this module; every row names its source in ``data/sources.toml``."""

from __future__ import annotations

import csv
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from importlib import resources
from types import MappingProxyType
from typing import Any


@dataclass(frozen=True, kw_only=True)
class Source:
    """Where rows come from. ``confidence``: looked-up, looked-up-secondary, memory or common-practice."""

    key: str
    title: str
    address: str
    confidence: str
    note: str


def _data_text(name: str) -> str:
    return (resources.files("cubital.reference") / "data" / name).read_text(encoding="utf-8")


def read_rows(name: str) -> list[dict[str, str]]:
    """The rows of ``data/NAME.csv``, every value as text."""
    return list(csv.DictReader(_data_text(f"{name}.csv").splitlines()))


def read_settings(name: str) -> dict[str, Any]:
    """The tables of ``data/NAME.toml``."""
    return tomllib.loads(_data_text(f"{name}.toml"))


@lru_cache
def sources() -> Mapping[str, Source]:
    """Every source by its key."""
    return MappingProxyType({key: Source(key=key, **values) for key, values in read_settings("sources").items()})
