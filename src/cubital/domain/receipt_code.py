"""The code of a receipt: short enough to type from paper, and it notices a slip of the pen.

Thirty-one characters, because a prime lets one check character catch every single wrong character and every two that
were swapped; left out are I, L, O and U, which are read as others, and Z, which is read as a 2.
"""

from __future__ import annotations

import re
from hashlib import sha256

ALPHABET = "0123456789ABCDEFGHJKMNPQRSTVWXY"
BASE = len(ALPHABET)
BODY = 11  # characters from the fingerprint, 54 bits; the twelfth is the check
GROUP = 4
PREFIX = "R-"
RECEIPT_CODE = re.compile(rf"{PREFIX}[{ALPHABET}]{{4}}-[{ALPHABET}]{{4}}-[{ALPHABET}]{{4}}")  # as it stands in a text
JOINER = "\u2060"  # forbids the end of a line where it stands, and shows nothing
_BETWEEN = f"{JOINER} -\t\u2010\u2011\u2013\u202f\u00a0"  # hyphens and spaces, also the kinds that a typesetter makes
_READ_AS = str.maketrans({"O": "0", "I": "1", "L": "1", "Z": "2", "U": "V"})


def build_code(text: str) -> str:
    """The code of anything that was written down as ``text``; the same text gives the same code.

    Examples
    --------
    >>> build_code("the same")
    'R-2YKQ-PGG0-N20S'
    """
    number = int.from_bytes(sha256(text.encode()).digest())
    body = ""
    for _position in range(BODY):
        number, digit = divmod(number, BASE)
        body += ALPHABET[digit]
    return _written(body + ALPHABET[_check(body)])


def read_code(typed: str) -> str | None:
    """The code as it is kept, from what somebody typed: any case, any hyphens, O for 0. None where it is none."""
    bare = "".join(letter for letter in typed.upper() if letter not in _BETWEEN).translate(_READ_AS)
    bare = bare.removeprefix("R") if len(bare) == BODY + 2 else bare
    if len(bare) != BODY + 1 or any(letter not in ALPHABET for letter in bare):
        return None
    return _written(bare)


def is_sound(code: str) -> bool:
    """Whether the check character of a code, as ``read_code`` gives it, fits the others."""
    bare = code.removeprefix(PREFIX).replace("-", "")
    return ALPHABET[_check(bare[:BODY])] == bare[BODY]


def _check(body: str) -> int:
    """Weights 1 to 11 modulo the prime 31: no single error and no swap of two characters gives the same sum."""
    return sum(weight * ALPHABET.index(letter) for weight, letter in enumerate(body, start=1)) % BASE


def _written(bare: str) -> str:
    return PREFIX + "-".join(bare[start : start + GROUP] for start in range(0, len(bare), GROUP))
