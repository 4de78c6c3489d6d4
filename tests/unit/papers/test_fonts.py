"""The type family: what is in it, that it may be shipped, that figures can be told apart and lined up."""

from __future__ import annotations

import pytest
from fontTools.pens.boundsPen import BoundsPen
from fontTools.ttLib import TTFont

from cubital.papers.fonts import FAMILY, FontStyle, desktop_font, font_licence, web_font

SPANISH = "áéíóúüñÁÉÍÓÚÜÑ¿¡«»"
OURS = "–—‘’“”…·×±§%°½−"


@pytest.mark.parametrize("style", FontStyle)
@pytest.mark.parametrize("file", [desktop_font, web_font])
def test_it_writes_spanish_and_our_own_signs(style, file):
    letters = TTFont(file(style)).getBestCmap()
    assert [sign for sign in SPANISH + OURS if ord(sign) not in letters] == []


@pytest.mark.parametrize("style", FontStyle)
def test_screen_and_paper_carry_the_same_letters(style):
    assert TTFont(desktop_font(style)).getBestCmap() == TTFont(web_font(style)).getBestCmap()


@pytest.mark.parametrize("style", FontStyle)
def test_the_files_carry_the_family_name_and_style(style):
    names = TTFont(desktop_font(style))["name"]
    assert names.getDebugName(1) == FAMILY
    assert names.getDebugName(2) == style


@pytest.mark.parametrize("style", FontStyle)
def test_tabular_figures_are_all_of_one_width(style):
    font = TTFont(desktop_font(style))
    features = font["GSUB"].table.FeatureList.FeatureRecord
    lookups = {i for f in features if f.FeatureTag == "tnum" for i in f.Feature.LookupListIndex}
    swaps = {}
    for index in lookups:
        for table in font["GSUB"].table.LookupList.Lookup[index].SubTable:
            swaps.update(getattr(table, "ExtSubTable", table).mapping)
    widths = {font["hmtx"][swaps[font.getBestCmap()[ord(digit)]]][0] for digit in "0123456789"}
    assert len(widths) == 1


def test_nought_has_a_stroke_inside_and_one_has_a_foot():
    font = TTFont(desktop_font(FontStyle.REGULAR))
    glyphs = font.getGlyphSet()
    bounds = BoundsPen(glyphs)
    glyphs[font.getBestCmap()[ord("1")]].draw(bounds)
    assert font["glyf"][font.getBestCmap()[ord("0")]].numberOfContours > 2
    assert bounds.bounds[2] - bounds.bounds[0] > 200


def test_the_licence_stands_beside_the_files_and_reserves_no_name():
    text = font_licence().read_text(encoding="utf-8")
    assert "SIL OPEN FONT LICENSE Version 1.1" in text
    assert "with Reserved Font Name" not in text
