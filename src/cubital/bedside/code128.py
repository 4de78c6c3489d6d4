"""How long a Code 128 symbol is: the shortest choice among code sets A, B and C, in modules and millimetres.

Structure by ISO/IEC 15417: eleven modules for every symbol character (start, data, shifts and code changes, check),
thirteen for the stop, a quiet zone on both sides. Character values by the standard's table: set A holds ASCII
0–95, B holds 32–127, C pairs of digits. Drawing is left to a barcode library; this decides code words and length.
"""

from __future__ import annotations

from dataclasses import dataclass

from cubital.domain.errors import RequestProblem

CHARACTER_MODULES = 11
STOP_MODULES = 13
MM_PER_INCH = 25.4
START = {"A": 103, "B": 104, "C": 105}
CHANGE = {"A": 101, "B": 100, "C": 99}
SHIFT = 98
SETS = "ABC"


@dataclass(frozen=True, kw_only=True)
class Symbol:
    """The code words of one symbol without check and stop, and its length.

    ``modules`` counts start to stop without quiet zones.
    """

    text: str
    words: tuple[int, ...]
    modules: int

    def check(self) -> int:
        """The check character: start plus position-weighted data, modulo 103."""
        return (self.words[0] + sum(i * word for i, word in enumerate(self.words[1:], start=1))) % 103


@dataclass(frozen=True, kw_only=True)
class _Path:
    """The cheapest way found to encode a prefix, ending in one code set."""

    words: tuple[int, ...]


def build_symbol(text: str) -> Symbol:
    """The shortest symbol for ``text`` (ASCII, at least one character)."""
    if not text or any(ord(character) > 127 for character in text):
        raise RequestProblem(
            "a linear symbol holds plain ASCII characters, at least one.", fix="Use letters, digits and signs only."
        )
    best: list[dict[str, _Path]] = [{} for _ in range(len(text) + 1)]
    best[0] = {code_set: _Path(words=(START[code_set],)) for code_set in SETS}
    for position in range(len(text)):
        for code_set, path in sorted(best[position].items()):
            _extend(best, text, position, code_set, path)
    words = min((best[-1][code_set].words for code_set in sorted(best[-1])), key=len)
    return Symbol(text=text, words=words, modules=CHARACTER_MODULES * (len(words) + 1) + STOP_MODULES)


def _extend(best: list[dict[str, _Path]], text: str, position: int, code_set: str, path: _Path) -> None:
    """Every way to encode the next one or two characters from here."""
    for target in SETS:
        change = () if target == code_set else (CHANGE[target],)
        encoded = _encode(text, position, target)
        if encoded is not None:
            word, width = encoded
            _keep(best, position + width, target, (*path.words, *change, word))
    other = {"A": "B", "B": "A"}.get(code_set)
    if other is not None:
        shifted = _encode(text, position, other)
        if shifted is not None:
            _keep(best, position + 1, code_set, (*path.words, SHIFT, shifted[0]))


def _encode(text: str, position: int, code_set: str) -> tuple[int, int] | None:
    """The word for the next character (or pair) in a code set and how many characters it covers; none if impossible."""
    if code_set == "C":
        pair = text[position : position + 2]
        return (int(pair), 2) if len(pair) == 2 and pair.isascii() and pair.isdigit() else None
    code = ord(text[position])
    if code_set == "A" and code < 96:
        return (code - 32 if code >= 32 else code + 64), 1
    if code_set == "B" and code >= 32:
        return code - 32, 1
    return None


def _keep(best: list[dict[str, _Path]], position: int, code_set: str, words: tuple[int, ...]) -> None:
    known = best[position].get(code_set)
    if known is None or len(words) < len(known.words):
        best[position][code_set] = _Path(words=words)


def module_mm(printer_dpi: float, narrow_dots: float) -> float:
    """The width of one module in mm on a printer of that many dots per inch."""
    if printer_dpi <= 0 or narrow_dots <= 0:
        raise RequestProblem("dots per inch and dots per bar must be above zero.")
    return MM_PER_INCH / printer_dpi * narrow_dots


def symbol_length_mm(symbol: Symbol, *, module: float, quiet_zone_modules: float) -> float:
    """The length in mm with a quiet zone at both ends."""
    return (symbol.modules + 2 * quiet_zone_modules) * module
