"""The colours of every picture, in one place: paper, ink, one accent. Pages and dark mode recolour by these names.

Contrast on ``paper`` by the formula of WCAG 2.2 (needs 4.5 for text, 3 for lines): ink 13.9, muted 5.6, accent 6.0.
A signal is a shape and a word before it is the accent, so that a grey printer loses nothing.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

PAPER = "#fbf8f1"
INK = "#1f2933"
MUTED = "#5b6570"
BAND = "#ece6d8"
ACCENT = "#9a4d1f"
FONT = "Atkinson Hyperlegible Next, Atkinson Hyperlegible, Verdana, sans-serif"

PALETTE: Mapping[str, str] = {"paper": PAPER, "ink": INK, "muted": MUTED, "band": BAND, "accent": ACCENT}


def recolour_picture(picture: Any, palette: Mapping[str, str]) -> Any:
    """The same specification with our colours replaced by those of ``palette`` (names as in ``PALETTE``)."""
    swaps = {PALETTE[name]: colour for name, colour in palette.items()}
    if isinstance(picture, Mapping):
        return {key: recolour_picture(value, palette) for key, value in picture.items()}
    if isinstance(picture, list | tuple):
        return [recolour_picture(value, palette) for value in picture]
    return swaps.get(picture, picture) if isinstance(picture, str) else picture
