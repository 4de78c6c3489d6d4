"""The picture of the months: valid, honest without colour, and readable on paper."""

from __future__ import annotations

import json
from itertools import pairwise

import pytest

from cubital.answers.counts import MonthCount
from cubital.answers.month_text import next_month
from cubital.answers.palette import ACCENT, BAND, INK, MUTED, PALETTE, PAPER, recolour_picture
from cubital.answers.signal import build_signal_answer
from cubital.domain.words import choose_language

WCAG_TEXT, WCAG_SHAPE = 4.5, 3.0  # WCAG 2.2, success criteria 1.4.3 and 1.4.11


def answer_for(*pairs):
    month, counts = "2024-04", []
    for sets, contaminated in pairs:
        counts.append(MonthCount(month=month, sets=sets, contaminated=contaminated))
        month = next_month(month)
    return build_signal_answer(counts)


ORDINARY = [(480, 12), (500, 14)] * 12
LAST_HIGH = [*ORDINARY, (490, 40)]


@pytest.fixture(scope="module")
def schema():
    """Oracle: the Vega-Lite schema that altair ships."""
    from altair.vegalite.v6.schema.core import load_schema

    return load_schema()


def luminance(colour):
    parts = [int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5)]
    linear = [part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one, other):
    high, low = sorted((luminance(one), luminance(other)), reverse=True)
    return (high + 0.05) / (low + 0.05)


def texts_of(svg):
    import re

    return re.findall(r"<text[^>]*>(.*?)</text>", svg)


def draw(picture):
    import vl_convert

    return vl_convert.vegalite_to_svg(json.dumps({**picture, "width": 600}), vl_version="6.4", allowed_base_urls=[])


@pytest.mark.parametrize(
    "pairs",
    [ORDINARY, LAST_HIGH, ORDINARY[:5], [(480, 12)], [(0, 0), *ORDINARY, (0, 0), (30, 1)], ORDINARY * 3, [(9, 9)] * 3],
)
def test_every_picture_is_valid_vega_lite(schema, pairs):
    import jsonschema

    picture = answer_for(*pairs).picture
    validator = jsonschema.validators.validator_for(schema)(schema)
    assert [error.message for error in validator.iter_errors(json.loads(json.dumps(picture)))] == []


def test_the_sentence_is_the_title():
    answer = answer_for(*ORDINARY)
    assert " ".join(answer.picture["title"]["text"]) == answer.sentence
    assert answer.picture["description"] == answer.sentence


def test_lines_are_named_where_they_run_and_there_is_no_legend():
    texts = texts_of(draw(answer_for(*ORDINARY).picture))
    for words in ("baseline 2.6 %", "target 3.0 %", "480 to 500 sets a month", "14 of 500"):
        assert words in texts
    assert any(text.startswith("chance reaches") for text in texts)
    assert '"legend"' not in json.dumps(answer_for(*ORDINARY).picture)


def test_a_signal_is_a_shape_and_a_word_before_it_is_a_colour():
    picture = answer_for(*LAST_HIGH).picture
    assert "signal: 40 of 490" in texts_of(draw(picture))
    shapes = {layer["mark"].get("shape") for layer in picture["layer"]}
    assert {"triangle-up", "triangle-down"} <= shapes
    assert "signal" not in " ".join(texts_of(draw({**answer_for(*ORDINARY).picture, "title": None})))


def test_the_months_of_a_run_are_squares_and_the_last_says_signal():
    answer = answer_for(*[(480, 9)] * 20, *[(480, 13)] * 8)
    kinds = [row["kind"] for row in answer.picture["data"]["values"]]
    assert kinds == ["month"] * 20 + ["run"] * 8
    assert "signal: 13 of 480" in texts_of(draw(answer.picture))
    assert answer.table is not None
    assert [row[-1] for row in answer.table.rows] == [""] * 20 + ["signal: part of the run"] * 8


def test_the_months_of_a_trend_are_squares_too():
    answer = answer_for(*[(480, 12), (480, 13)] * 10, *[(480, x) for x in (9, 10, 11, 12, 13, 14)])
    assert [row["kind"] for row in answer.picture["data"]["values"]] == ["month"] * 20 + ["run"] * 6


def test_a_thin_baseline_draws_points_and_no_band():
    picture = answer_for(*ORDINARY[:5]).picture
    assert all("lower" not in row for row in picture["data"]["values"])
    texts = texts_of(draw(picture))
    assert not any(text.startswith(("chance reaches", "baseline")) for text in texts)
    assert "target 3.0 %" in texts


def test_long_series_label_only_the_quarters():
    axis = answer_for(*ORDINARY * 3).picture["encoding"]["x"]["axis"]
    assert axis["labelExpr"].count("['']") == 0
    assert axis["labelExpr"].count("['', '']") > 40


def test_month_initials_with_an_apostrophe_cannot_break_the_labels():
    assert "'2024-04': ['A', '2024']" in answer_for(*ORDINARY).picture["encoding"]["x"]["axis"]["labelExpr"]


def test_colours_keep_their_contrast_on_paper_and_in_grey():
    """Formula and limits: WCAG 2.2, relative luminance; it weighs colours as a grey printer does."""
    for text in (INK, MUTED, ACCENT):
        assert contrast(text, PAPER) >= WCAG_TEXT
        assert contrast(text, BAND) >= WCAG_TEXT
    assert contrast(ACCENT, BAND) >= WCAG_SHAPE


def test_a_picture_uses_no_colour_outside_the_palette():
    import re

    colours = set(re.findall(r"#[0-9a-fA-F]{3,8}\b", json.dumps(answer_for(*LAST_HIGH).picture)))
    assert colours <= set(PALETTE.values())


def test_recolouring_replaces_every_colour_and_nothing_else():
    picture = answer_for(*LAST_HIGH).picture
    dark = {name: f"#{index:06x}" for index, name in enumerate(PALETTE)}
    text = json.dumps(recolour_picture(picture, dark))
    assert not any(colour in text for colour in PALETTE.values())
    back = {name: colour for name, colour in PALETTE.items()}
    assert json.loads(json.dumps(recolour_picture(picture, back))) == json.loads(json.dumps(picture))


def test_a_spanish_picture_speaks_spanish_throughout():
    choose_language("es")
    try:
        texts = texts_of(draw({**answer_for(*ORDINARY).picture, "title": None}))
    finally:
        choose_language("en")
    joined = " ".join(texts)
    assert "meta 3,0 %" in texts
    assert not any(word in joined for word in ("baseline", "target", "chance", " of "))


@pytest.mark.parametrize("height", [130, 200, 300])
def test_labels_keep_apart_however_low_the_picture_is_drawn(height):
    import re

    picture = {**answer_for(*ORDINARY).picture, "height": height, "autosize": {"type": "fit", "contains": "padding"}}
    label = r"<text[^>]*translate\([^,]+,([-\d.]+)\)[^>]*>((?:target|baseline|chance)[^<]*)<"
    placed = re.findall(label, draw(picture))
    heights = sorted(float(y) for y, _words in placed)
    assert len(heights) == 3
    assert min(later - earlier for earlier, later in pairwise(heights)) >= 14.5
