"""Pictures inside a page: nothing that the content policy forbids, one text alternative, sizes by the page."""

from __future__ import annotations

from importlib.resources import files
from xml.etree import ElementTree

import pytest

from cubital.answers.palette import PALETTE
from cubital.web.drawing import draw_once, draw_picture

PICTURE = {
    "$schema": "https://vega.github.io/schema/vega-lite/v6.json",
    "width": 300,
    "height": 100,
    "data": {"values": [{"m": "a<b", "n": 1}, {"m": "c", "n": 3}]},
    "mark": {"type": "line", "point": True},
    "encoding": {"x": {"field": "m", "type": "nominal"}, "y": {"field": "n", "type": "quantitative"}},
}


@pytest.fixture(scope="module")
def drawn() -> ElementTree.Element:
    return ElementTree.fromstring(draw_once(PICTURE, 'March ("19 of 498") & no more', width=500, name="wide"))  # noqa: S314 -- ours


def test_the_picture_says_the_sentence(drawn):
    assert drawn.attrib["role"] == "img"
    assert drawn.attrib["aria-label"] == 'March ("19 of 498") & no more'


def test_no_part_of_the_picture_has_a_style_or_a_role_of_its_own(drawn):
    parts = [part.attrib for part in drawn.iter() if part is not drawn]
    assert len(parts) > 20
    assert not any({"style", "role", "aria-label", "class"} & set(attributes) for attributes in parts)


def test_the_picture_takes_its_size_from_the_page(drawn):
    assert "width" not in drawn.attrib
    assert drawn.attrib["viewBox"].startswith("0 0 ")


def test_text_of_the_data_stays_text(drawn):
    texts = [part.text for part in drawn.iter() if part.tag.endswith("text")]
    assert "a<b" in texts


def test_two_sizes_are_drawn_whose_parts_do_not_share_names():
    both = ElementTree.fromstring(f"<div>{draw_picture(PICTURE, 'a sentence')}</div>")  # noqa: S314 -- our own drawing
    names = [part.attrib["id"] for part in both.iter() if "id" in part.attrib]
    assert len(both) == 2
    assert len(names) == len(set(names))


def test_the_title_is_left_to_the_page():
    titled = {**PICTURE, "title": "Said already"}
    assert "Said already" not in draw_picture(titled, "a sentence")


@pytest.mark.parametrize("name", sorted(PALETTE))
def test_every_colour_of_the_palette_follows_the_page(name):
    style = files("cubital.web").joinpath("static/cubital/picture.css").read_text()
    assert f'[fill="{PALETTE[name]}"]' in style
    assert f'[stroke="{PALETTE[name]}"]' in style
