"""The bars of what moves the result most: valid, in order, with both ends in words and no bar left out silently."""

from __future__ import annotations

import json
from importlib import resources

import jsonschema
import pytest

from collection_shift import KIT, PARTS, SHARED, SHIFT, table_of
from cubital.answers.worth import build_worth_answer
from cubital.answers.worth_picture import MOST_BARS, build_swing_picture
from cubital.answers.worth_reading import read_worth

FIXED = SHARED.replace("700,2900,6400", ",2900,")
ALL_KNOWN = SHIFT.replace("40 %,55 %,65 %", ",55 %,").replace("0.33,0.41,0.70", ",0.41,")


def _picture(*parts):
    reading = read_worth(table_of(*parts), draws=200)
    return reading, build_swing_picture(reading, reading.first, title="A title")


@pytest.mark.parametrize("parts", [(SHARED, SHIFT), (PARTS, SHIFT, KIT)])
def test_it_is_vega_lite_by_the_schema(parts):
    altair = resources.files("altair") / "vegalite" / "v6" / "schema" / "vega-lite-schema.json"
    jsonschema.validate(_picture(*parts)[1], json.loads(altair.read_text(encoding="utf-8")))


def test_the_widest_bar_comes_first_and_says_both_its_ends():
    _reading, picture = _picture(SHARED, SHIFT)
    first = picture["data"]["values"][0]
    assert first["name"].replace("|", " ") == "cost of one contaminated set"
    # by hand: 114.4836 × 700 − 166,790.4 and 114.4836 × 6400 − 166,790.4
    assert (first["left"], first["right"]) == ("−86,652", "565,905")
    low, high = picture["layer"][-1]["encoding"]["x"]["scale"]["domain"]
    assert low < -86_652 < 565_905 < high


def test_what_is_not_drawn_still_stands_in_the_table():
    reading, picture = _picture(PARTS, SHIFT, KIT)
    assert len(picture["data"]["values"]) == MOST_BARS < len(reading.first.swings)
    assert len(build_worth_answer(reading).table.rows) == len(reading.first.swings)


def test_where_everything_is_known_there_is_nothing_to_draw():
    assert _picture(FIXED, ALL_KNOWN)[1] == {}
