"""Draws a Vega-Lite specification as SVG or PNG, on this machine alone, for paper and for pages without scripts.

The renderer must not be used before a process forks: its engine hangs in the child. A child that inherits a used
renderer is told so instead of hanging.
"""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from functools import lru_cache
from threading import Lock
from typing import Any

from cubital.domain.words import current_language
from cubital.papers.fonts import FAMILY, register_chart_fonts
from cubital.papers.processes import OneProcess

VEGA_LITE = "6.4"
_LOCALES = {"en": None, "es": "es-ES"}
_lock = Lock()
_renderer = OneProcess("The renderer of pictures")


def render_svg(spec: Mapping[str, Any], *, width: int | None = None, height: int | None = None) -> str:
    """The picture as SVG text; numbers and dates in the current language.

    Parameters
    ----------
    spec
        A Vega-Lite specification with its data inside; not changed.
    width, height
        Whole picture in pixels, for a single or layered view; none keeps what the specification says (a width that
        follows its container becomes 600).

    Raises
    ------
    ValueError
        The specification cannot be drawn, or wants data from elsewhere.
    """
    text = json.dumps(size_picture(spec, width=width, height=height), sort_keys=True, default=str)
    return _draw_svg(text, current_language())


def render_png(spec: Mapping[str, Any], *, scale: float = 2.0) -> bytes:
    """The picture as PNG, ``scale`` dots to a pixel; otherwise as ``render_svg``."""
    text = json.dumps(size_picture(spec), sort_keys=True, default=str)
    return _draw_png(text, scale, current_language())


def size_picture(spec: Mapping[str, Any], *, width: int | None = None, height: int | None = None) -> dict[str, Any]:
    """The specification with our type and, where given, a size that includes axes and titles."""
    sized = dict(spec)
    sized["config"] = {"font": FAMILY, **dict(spec.get("config", {}))}
    if sized.get("width") == "container":
        sized["width"] = 600
    if width is not None:
        sized["width"] = width
    if height is not None:
        sized["height"] = height
    if width is not None or height is not None:
        sized["autosize"] = {"type": "fit", "contains": "padding"}
    return sized


@lru_cache(maxsize=64)
def _draw_svg(text: str, language: str) -> str:
    import vl_convert

    with _ready_renderer():
        return vl_convert.vegalite_to_svg(text, **_options(language))


@lru_cache(maxsize=64)
def _draw_png(text: str, scale: float, language: str) -> bytes:
    import vl_convert

    with _ready_renderer():
        return vl_convert.vegalite_to_png(text, scale=scale, **_options(language))


@contextmanager
def _ready_renderer() -> Iterator[None]:
    with _lock:
        _renderer.check()
        register_chart_fonts()
        yield


def _options(language: str) -> dict[str, Any]:
    locale = _LOCALES[language]
    return {
        "vl_version": VEGA_LITE,
        "allowed_base_urls": [],  # an empty list refuses every address
        "format_locale": locale,
        "time_format_locale": locale,
    }
