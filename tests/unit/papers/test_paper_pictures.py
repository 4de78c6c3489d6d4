"""Pictures drawn on this machine: right type, right size, right language, nothing from outside, no hanging child."""

from __future__ import annotations

import os
import struct
from concurrent.futures import ThreadPoolExecutor
from xml.etree import ElementTree

import pytest
from paper_fixtures import picture

from cubital.domain.words import choose_language
from cubital.papers.pictures import render_png, render_svg, size_picture
from cubital.papers.processes import OneProcess


def test_the_picture_is_as_large_as_asked_axes_included():
    drawn = ElementTree.fromstring(render_svg(picture(), width=520, height=240))  # noqa: S314 - we drew it ourselves
    assert (float(drawn.attrib["width"]), float(drawn.attrib["height"])) == (520, 240)


def test_its_text_is_in_our_type():
    assert 'font-family="Atkinson Hyperlegible Next"' in render_svg(picture())


def test_its_numbers_follow_the_language():
    choose_language("es")
    try:
        spanish = render_svg(picture())
    finally:
        choose_language("en")
    assert "1,0%" in spanish
    assert "1.0%" in render_svg(picture())


def test_sizing_leaves_the_specification_alone():
    spec = {"mark": "point", "width": "container", "config": {"axis": {"labelFontSize": 12}}}
    sized = size_picture(spec, width=300)
    assert spec["width"] == "container"
    assert sized["width"] == 300
    assert sized["config"] == {"font": "Atkinson Hyperlegible Next", "axis": {"labelFontSize": 12}}


def test_data_from_elsewhere_are_refused():
    with pytest.raises(ValueError, match="not allowed"):
        render_svg({"data": {"url": "https://example.org/x.csv"}, "mark": "point"})


def test_a_file_on_this_machine_is_not_drawn(tmp_path):
    secret = tmp_path / "x.csv"
    secret.write_text("a\nsecret-word\n")
    spec = {"data": {"url": secret.as_uri()}, "mark": "text", "encoding": {"text": {"field": "a"}}}
    try:
        drawn = render_svg(spec)
    except ValueError:
        drawn = ""
    assert "secret-word" not in drawn


def test_the_png_has_scale_times_the_pixels():
    png = render_png(
        {**picture(), "width": 300, "height": 100, "autosize": {"type": "fit", "contains": "padding"}}, scale=3
    )
    assert struct.unpack(">II", png[16:24]) == (900, 300)  # the header chunk of every PNG (ISO/IEC 15948)


def test_many_threads_draw_the_same_picture():
    specs = [{**picture(), "title": str(n % 4)} for n in range(12)]
    with ThreadPoolExecutor(4) as pool:
        drawn = list(pool.map(render_svg, specs))
    assert drawn[0] == drawn[4] == drawn[8]
    assert drawn[0] != drawn[1]


def test_a_forked_child_is_told_instead_of_hanging(monkeypatch):
    guard = OneProcess("The renderer")
    guard.check()
    guard.check()
    monkeypatch.setattr(os, "getpid", lambda: -1)
    with pytest.raises(RuntimeError, match="The renderer was used before this process was forked"):
        guard.check()
