"""FHIR exports whose values were exchanged for odd ones: valid JSON that no sender should write."""

from __future__ import annotations

import random
from copy import deepcopy
from functools import lru_cache
from typing import Any

import orjson

ODD: tuple[Any, ...] = (
    None, True, 0, -1, 1e308, "", " ", "\x00", "\u202eA1\u202c", "2026-02-31T25:61:00-99:99", "2026", "=1+1",
    "x" * 3000,
    [], {}, [None], [[]], [{}], {"reference": "#"}, {"reference": "Observation/o1"}, {"reference": "Specimen/s1"},
    {"coding": None}, {"coding": [{"code": 1}]}, {"coding": [{"system": "http://loinc.org", "code": "600-7"}]},
    {"text": "No growth. E. coli"}, {"start": "2026-03-01", "end": "x"}, {"value": "A1"},
    {"value": 1e300, "unit": "mL"},
    {"resourceType": "Bundle", "entry": [{"resource": {"resourceType": "Specimen", "id": "s1"}}]}, "entered-in-error",
)  # fmt: skip


@lru_cache
def _resources() -> bytes:
    """A few resources of the invented network, each kind there is."""
    from cubital.workspace.demo.draws import draw_world
    from cubital.workspace.demo.fhir_export import resources_of
    from cubital.workspace.demo.files import _march

    draws = next(iter(draw_world(2)))
    grown = [report for report in _march(draws) if report.organisms and report.draw.collector_text.isdecimal()]
    return orjson.dumps([*resources_of(grown[0]), *resources_of(grown[1])])


def twisted_export(data: bytes) -> bytes:
    """The same bytes always give the same export: lines or a bundle, with up to eight values exchanged or left out."""
    choose = random.Random(data)  # noqa: S311 nothing secret
    resources = orjson.loads(_resources())
    for _turn in range(choose.randrange(9)):
        _twist(resources, choose)
    choose.shuffle(resources)
    if choose.random() < 0.3:
        entries = [{"fullUrl": choose.choice(("urn:uuid:1", "https://a.example/Specimen/s1", 5)), "resource": each}
                   for each in resources]  # fmt: skip
        return orjson.dumps({"resourceType": "Bundle", "entry": entries})
    return b"\n".join(orjson.dumps(each) for each in resources)


def _twist(node: Any, choose: random.Random) -> None:
    """Goes down a random way and exchanges what it finds at its end."""
    while True:
        keys = list(node) if isinstance(node, dict) else list(range(len(node)))
        if not keys:
            return
        key = choose.choice(keys)
        below = node[key]
        if isinstance(below, dict | list) and below and choose.random() < 0.75:
            node = below
            continue
        if isinstance(node, dict) and choose.random() < 0.2:
            del node[key]
        else:
            node[key] = deepcopy(choose.choice(ODD))
        return
