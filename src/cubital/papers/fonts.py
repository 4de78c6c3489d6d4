"""Where the one type family lies, for paper, pictures and the web, and how pictures get it."""

from __future__ import annotations

from enum import StrEnum
from pathlib import Path
from threading import Lock

FAMILY = "Atkinson Hyperlegible Next"
FONT_FOLDER = Path(__file__).parent / "fonts"

_lock = Lock()
_registered = False


class FontStyle(StrEnum):
    REGULAR = "Regular"
    BOLD = "Bold"
    ITALIC = "Italic"


def desktop_font(style: FontStyle) -> Path:
    """The TrueType file of one style, for paper and pictures."""
    return FONT_FOLDER / f"AtkinsonHyperlegibleNext-{style}.ttf"


def web_font(style: FontStyle) -> Path:
    """The WOFF2 file of one style, for pages."""
    return FONT_FOLDER / f"AtkinsonHyperlegibleNext-{style}.woff2"


def font_licence() -> Path:
    """The licence that goes wherever the files go."""
    return FONT_FOLDER / "OFL.txt"


def register_chart_fonts() -> None:
    """Makes the family known to the chart renderer of this process, once; safe to call from any thread."""
    global _registered  # noqa: PLW0603 -- the renderer keeps one font list per process, and so do we
    import vl_convert

    with _lock:
        if not _registered:
            vl_convert.register_font_directory(str(FONT_FOLDER))
            _registered = True
