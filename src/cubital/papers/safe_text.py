"""Keeps a cell of text from being run as a formula when a file is opened in a spreadsheet."""

from __future__ import annotations

import re
import unicodedata

# A spreadsheet reads a cell as a formula when it begins with one of these (full-width forms included), and a cell can
# begin inside a text too, after a separator, when the file is opened with another separator than it was written
# with. The list is that of the web-security handbooks on "CSV injection" (OWASP), from memory.
_STARTS = "=+\\-@＝＋－＠"
_CELL_START = re.compile(rf"((?:^|[,;|])[\s\"]*)([{_STARTS}])")
_BLANK = re.compile(r"[\t\r\n\v\f\x85\u2028\u2029]+")


def neutral_text(text: str) -> str:
    """``text`` on one line, with an apostrophe before every sign that could start a formula.

    Tabs and line ends become single spaces, other control characters vanish. ``5001`` and ``2.50E+10`` stay as they
    are; ``=1+1`` becomes ``'=1+1``, and ``a;=1+1`` becomes ``a;'=1+1``.
    """
    if not text.isprintable():  # most cells are, and a large export has millions
        spaced = _BLANK.sub(" ", text)
        text = "".join(letter for letter in spaced if unicodedata.category(letter) not in {"Cc", "Cs"})
    return _CELL_START.sub(r"\1'\2", text)
