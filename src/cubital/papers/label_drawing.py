"""The label's place drawn as SVG at true size: one unit is one millimetre.

The panel is unrolled with the middle of the maker's barcode at the left edge and again at the right, so that the sheet
closes when it is wrapped round the bottle. Hatching and words, not colour, say what is forbidden.
"""

from __future__ import annotations

from collections.abc import Iterator
from xml.sax.saxutils import escape

from cubital.bedside.code128 import Symbol
from cubital.bedside.label import Orientation, Stock, Window
from cubital.domain.collection import BottleSpec, Zone
from cubital.domain.words import _

INK = "#1d1d1d"
SOFT = "#6b6b6b"
EDGE = 2.0  # mm of air round the drawing, for line widths
STOP_BARS = "1100011101011"


def draw_label(bottle: BottleSpec, window: Window, stock: Stock, symbol: Symbol, *, module: float) -> str:
    """The unrolled panel with its zones and the label in place; width and height attributes are in mm."""
    turn, height = _size(bottle)
    return _document(
        turn,
        height,
        title=_("Where the label goes: the bottle unrolled, true size"),
        parts=[
            *_panel(turn, height),
            *(part for zone in bottle.zones for part in _zone(zone, turn=turn, height=height)),
            *_label(window, stock, height=height, bars=symbol_bars(symbol), module=module),
        ],
    )


def draw_bottle_only(bottle: BottleSpec) -> str:
    """The unrolled panel with its zones and no label, for bottles on which the label has no place."""
    turn, height = _size(bottle)
    zones = [part for zone in bottle.zones for part in _zone(zone, turn=turn, height=height)]
    return _document(turn, height, title=_("The bottle unrolled, true size"), parts=[*_panel(turn, height), *zones])


def drawing_size_mm(bottle: BottleSpec) -> tuple[float, float]:
    """Width and height of the drawing with its air, in mm: at this size it is true."""
    turn, height = _size(bottle)
    return turn + 2 * EDGE, height + 2 * EDGE


def symbol_bars(symbol: Symbol) -> str:
    """The symbol as ones (bar) and zeros (space), start to stop, by the barcode library's own patterns."""
    from barcode.charsets import code128

    return "".join(code128.CODES[word] for word in (*symbol.words, symbol.check())) + STOP_BARS


def _size(bottle: BottleSpec) -> tuple[float, float]:
    from math import pi

    return pi * bottle.diameter_mm.value, bottle.panel_height_mm.value


def _document(turn: float, height: float, *, title: str, parts: list[str]) -> str:
    width, tall = turn + 2 * EDGE, height + 2 * EDGE
    return "\n".join(
        [
            f'<svg xmlns="http://www.w3.org/2000/svg" width="{width:.3f}mm" height="{tall:.3f}mm" '
            f'viewBox="{-EDGE:g} {-EDGE:g} {width:.3f} {tall:.3f}" role="img" '
            'font-family="Atkinson Hyperlegible Next">',
            f"<title>{escape(title)}</title>",
            '<defs><pattern id="no" width="2" height="2" patternUnits="userSpaceOnUse" patternTransform="rotate(45)">'
            f'<line x1="0" y1="0" x2="0" y2="2" stroke="{SOFT}" stroke-width="0.5"/></pattern>'
            f'<clipPath id="panel"><rect x="0" y="0" width="{turn:.3f}" height="{height:.3f}"/></clipPath></defs>',
            *parts,
            "</svg>",
        ]
    )


def _panel(turn: float, height: float) -> Iterator[str]:
    yield (
        f'<rect x="0" y="0" width="{turn:.3f}" height="{height:.3f}" fill="#ffffff" stroke="{INK}" '
        'stroke-width="0.3" id="panel-outline"/>'
    )


def _zone(zone: Zone, *, turn: float, height: float) -> Iterator[str]:
    """A zone where it lies; one that passes the seam is drawn on both sides of it and cut at the edges."""
    half, margin = zone.width_mm.value / 2, zone.margin_mm.value
    top = height - zone.bottom_mm.value - zone.height_mm.value
    for shift in (-turn, 0.0, turn):
        left = zone.centre_mm.value % turn - half + shift
        if left + 2 * half + margin <= 0 or left - margin >= turn:
            continue
        yield (
            f'<rect x="{left - margin:.3f}" y="{top - margin:.3f}" width="{2 * (half + margin):.3f}" '
            f'height="{zone.height_mm.value + 2 * margin:.3f}" fill="none" stroke="{SOFT}" stroke-width="0.25" '
            'stroke-dasharray="1 1" clip-path="url(#panel)"/>'
        )
        yield (
            f'<rect x="{left:.3f}" y="{top:.3f}" width="{2 * half:.3f}" height="{zone.height_mm.value:.3f}" '
            f'fill="url(#no)" stroke="{INK}" stroke-width="0.3" clip-path="url(#panel)"/>'
        )
        middle, centre = top + zone.height_mm.value / 2, min(max(left + half, 4.0), turn - 4.0)
        yield _turned(zone.name, x=centre, y=middle, size=3.2)


def _turned(words: str, *, x: float, y: float, size: float) -> str:
    """Words that run up the panel, on a white ground so that hatching does not eat them."""
    wide = 0.55 * size * len(words)
    return (
        f'<g transform="translate({x:.3f} {y:.3f}) rotate(-90)">'
        f'<rect x="{-wide / 2 - 1:.2f}" y="{-size * 0.75:.2f}" width="{wide + 2:.2f}" height="{size * 1.5:.2f}" '
        'fill="#ffffff"/>'
        f'<text text-anchor="middle" y="{size * 0.35:.2f}" font-size="{size:g}" fill="{INK}">{escape(words)}</text></g>'
    )


def _label(window: Window, stock: Stock, *, height: float, bars: str, module: float) -> Iterator[str]:
    """The label: outline, name line and barcode. Upright, its text runs from the bottle's foot to its cap."""
    turned = window.orientation is Orientation.UPRIGHT
    rotate = " rotate(-90)" if turned else ""
    long_mm, short_mm = stock.long_mm, stock.short_mm
    yield f'<g transform="translate({window.x_mm:.3f} {height - window.y_mm:.3f}){rotate}">'
    yield (
        f'<rect x="{-long_mm / 2:.3f}" y="{-short_mm / 2:.3f}" width="{long_mm:g}" height="{short_mm:g}" rx="1" '
        f'fill="#ffffff" stroke="{INK}" stroke-width="0.6" id="label"/>'
    )
    yield (
        f'<text x="{-long_mm / 2 + 2:.3f}" y="{-short_mm / 2 + 5:.3f}" font-size="4" font-weight="bold" '
        f'fill="{INK}">{escape(_("PATIENT NAME"))}</text>'
    )
    yield (
        f'<text x="{-long_mm / 2 + 2:.3f}" y="{-short_mm / 2 + 9:.3f}" font-size="2.4" fill="{INK}">'
        f"{escape(_('number · born · collected · by · site · set'))}</text>"
    )
    yield from _barcode(bars, module=module, long_mm=long_mm, top=-short_mm / 2 + 11, tall=short_mm - 13)
    yield "</g>"


def _barcode(bars: str, *, module: float, long_mm: float, top: float, tall: float) -> Iterator[str]:
    """The symbol at its true length; left out where it is longer than the label."""
    length = len(bars) * module
    if length > long_mm or tall <= 1:
        return
    start = -length / 2
    index = 0
    while index < len(bars):
        run = len(bars[index:]) - len(bars[index:].lstrip(bars[index]))
        if bars[index] == "1":
            yield (
                f'<rect x="{start + index * module:.4f}" y="{top:.3f}" width="{run * module:.4f}" height="{tall:.3f}" '
                f'fill="{INK}"/>'
            )
        index += run
