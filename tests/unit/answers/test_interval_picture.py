"""The picture of rates side by side: valid by the published schema, every row drawn, nothing where nothing is known."""

from __future__ import annotations

import jsonschema
import pytest
from altair.vegalite.v6.schema.core import load_schema

from cubital.answers.interval_picture import IntervalRow, build_interval_picture

ROWS = (
    IntervalRow(name="Emergency", value=0.038, low=0.024, high=0.059, words="19 of 498"),
    IntervalRow(name="5W-MED ONC", value=0.071, low=0.033, high=0.147, words="6 of 84", stands_out=True),
    IntervalRow(name="Infant Unit", value=None, low=None, high=None, words="too few to say"),
)


def test_it_is_vega_lite_by_the_schema():
    """Schema of Vega-Lite as the package altair carries it."""
    picture = build_interval_picture(ROWS, title="Three units", line=0.03, line_words="target 3.0 %")
    jsonschema.validate(picture, load_schema())


def test_every_row_stands_in_its_order_with_its_words():
    picture = build_interval_picture(ROWS, title="Three units")
    assert [row["name"] for row in picture["data"]["values"]] == ["Emergency", "5W-MED ONC", "Infant Unit"]
    assert picture["data"]["values"][2]["words"] == "too few to say"
    assert picture["encoding"]["y"]["sort"] == [row.name for row in ROWS]


def test_nothing_known_is_no_picture():
    assert build_interval_picture(ROWS[2:], title="None") == {}
    assert build_interval_picture((), title="None") == {}


def test_two_rows_of_one_name_are_refused():
    with pytest.raises(ValueError, match="same name"):
        build_interval_picture((ROWS[0], ROWS[0]), title="Twice")
