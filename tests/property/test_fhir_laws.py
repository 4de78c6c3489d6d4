"""Laws of reading FHIR: whatever stands in a resource, every resource is accounted for and nothing breaks."""

from __future__ import annotations

import csv
import json
import tempfile
from pathlib import Path
from typing import Any

from hypothesis import given
from hypothesis import strategies as st

from cubital.domain.errors import FileProblem
from cubital.intake.fhir.reading import read_resources
from fhir_help import culture, organism, patient, point, specimen

_LEAVES = (
    st.none() | st.booleans() | st.integers() | st.floats(allow_nan=False, allow_infinity=False) | st.text(max_size=20)
)
_POINTERS = st.sampled_from(["Observation/o1", "Observation/o2", "Specimen/s1", "#in", "urn:uuid:1"]).map(point)
_ODD = st.recursive(
    _LEAVES | _POINTERS,
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.sampled_from(["coding", "text", "code"]), inner),
    max_leaves=6,
)
_KINDS = st.sampled_from([patient(), specimen(), culture(), organism("o2", "E. coli"), {"resourceType": "Bundle"}])
_KEYS = st.sampled_from(
    ["id", "meta", "status", "code", "subject", "specimen", "hasMember", "derivedFrom", "component", "contained",
     "parent", "collection", "container", "identifier", "valueCodeableConcept", "interpretation", "encounter",
     "basedOn", "type"]
)  # fmt: skip


@st.composite
def _twisted(draw: st.DrawFn) -> dict[str, Any]:
    resource = dict(draw(_KINDS))
    for key in draw(st.lists(_KEYS, max_size=4)):
        resource[key] = draw(_ODD)
    return resource


@given(st.lists(_twisted(), min_size=1, max_size=8))
def test_every_resource_has_a_line_whatever_stands_in_it(resources: list[dict[str, Any]]) -> None:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "x.ndjson"
        path.write_text("".join(json.dumps(each) + "\n" for each in resources))
        try:
            table = read_resources(path, name="x", scratch=Path(folder))
        except FileProblem:  # another version of FHIR, by one of the elements put in
            return
        with table.sheet.path.open(newline="") as stream:
            numbers = {int(row[0]) for row in csv.reader(stream)}
    bundles = [each for each in resources if each["resourceType"] == "Bundle"]
    assert numbers == set(range(1, len(resources) - len(bundles) + 1))


@given(st.permutations([patient(), specimen(), culture(words="Positive", hasMember=[point("Observation/o2")]),
                        organism("o2", "E. coli")]))  # fmt: skip
def test_the_order_of_resources_makes_no_difference(resources: list[dict[str, Any]]) -> None:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "x.ndjson"
        path.write_text("".join(json.dumps(each) + "\n" for each in resources))
        table = read_resources(path, name="x", scratch=Path(folder))
        with table.sheet.path.open(newline="") as stream:
            lines = sorted(row[1:] for row in csv.reader(stream))
    assert next(line for line in lines if line[0] == "A1")[2] == "1950-02-03"
    assert len(lines) == 4
    assert sum(line[-1] == "heads_other_results" for line in lines) == 1
