"""An answer's picture, inside the page: no script, no inline style, and the page's own colours and type.

The renderer writes presentation attributes only, which the style sheet may overrule; that is how a picture follows
dark mode under a policy that forbids inline styles. Its own part-by-part labels go: the picture carries the sentence
as its text, and the table below it is the accessible form of the data.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

from django.utils.html import escape
from django.utils.safestring import SafeString, mark_safe

from cubital.papers.pictures import render_svg

WIDE, NARROW = 660, 400  # pixels of the whole picture; the style sheet shows one of the two
_DROPPED = re.compile(r"\s(?:aria-[\w-]+|role|style|font-family|xmlns:xlink|class|pointer-events)=\"[^\"]*\"")
_OPENING = re.compile(r"<svg\b[^>]*?viewBox=\"(?P<box>[^\"]+)\"[^>]*>")
_WHITE_SHEET = re.compile(r"<rect [^>]*fill=\"(?:white|#fff|#ffffff)\"[^>]*/>", re.IGNORECASE)
_NAMED_PART = re.compile(r"(?P<before>\bid=\"|url\(#)")


def draw_picture(picture: Mapping[str, Any], sentence: str) -> SafeString:
    """The picture as SVG markup, once for wide pages and once for a phone, with ``sentence`` as text alternative."""
    return mark_safe(  # noqa: S308 -- made by our renderer, which escapes its texts
        draw_once(picture, sentence, width=WIDE, name="wide")
        + draw_once(picture, sentence, width=NARROW, name="narrow")
    )


def draw_once(picture: Mapping[str, Any], sentence: str, *, width: int, name: str) -> str:
    """One drawing of ``width`` pixels; its parts are named after ``name``, so that two may stand on one page."""
    # On a page the sentence stands above the picture in the largest type; twice would be once too often.
    untitled = {key: value for key, value in picture.items() if key != "title"}
    svg = render_svg(untitled, width=width)
    opening = _OPENING.search(svg)
    if opening is None:
        raise ValueError("the renderer gave a picture without a size")
    inside = _WHITE_SHEET.sub("", svg[opening.end() :], count=1)
    if "<style" in inside or "<script" in inside:
        raise ValueError("the renderer gave a picture with a style sheet or a script in it")
    inside = _NAMED_PART.sub(rf"\g<before>{name}-", _DROPPED.sub("", inside))
    label, box = escape(sentence), escape(opening["box"])
    return f'<svg class="picture {name}" role="img" aria-label="{label}" viewBox="{box}">{inside}'
