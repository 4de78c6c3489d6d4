"""One coded element (CE, CWE): what it is called, and its codes with their systems."""

from __future__ import annotations

import re
from typing import NamedTuple

from cubital.intake.hl7.delimiters import Delimiters

_LOINC_CODE = re.compile(r"\d{1,5}-\d")
_SYSTEMS = {
    "LN": "loinc", "LOINC": "loinc", "LNC": "loinc", "2.16.840.1.113883.6.1": "loinc",
    "SCT": "snomed", "SCT2": "snomed", "SNM": "snomed", "SNM3": "snomed", "SNOMED": "snomed", "SNOMED-CT": "snomed",
    "SNOMEDCT": "snomed", "SNOMED CT": "snomed", "2.16.840.1.113883.6.96": "snomed",
}  # fmt: skip
_HL7_TABLE = re.compile(r"HL7\d{4}")


class Coded(NamedTuple):
    """``codes`` as (system, code): ``loinc``, ``snomed``, ``HL70487`` …, empty for a sender's own. Best text first."""

    codes: tuple[tuple[str, str], ...]
    texts: tuple[str, ...]

    @property
    def words(self) -> str:
        """What people read: the first text, else the first code."""
        return self.texts[0] if self.texts else self.codes[0][1] if self.codes else ""

    @property
    def local(self) -> tuple[str, ...]:
        """The sender's own codes; the name where nothing is coded at all."""
        return tuple(code for system, code in self.codes if not system) if self.codes else self.texts[:1]

    @property
    def shown(self) -> str:
        """Name and code for the account of rows."""
        code = self.codes[0][1] if self.codes else ""
        return " ".join(dict.fromkeys(part for part in (code, self.texts[0] if self.texts else "") if part))


def read_coded(value: str, signs: Delimiters) -> Coded:
    """The first repetition of a field: both codings and, from 2.5 on, the text as it was first written."""
    parts = signs.parts(value)
    parts += [""] * (9 - len(parts))
    codes = []
    for place in (0, 3):
        code, system = parts[place], parts[place + 2].upper()
        if code:
            codes.append((_system(code, system), code))
    texts = dict.fromkeys(text for text in (parts[8], parts[1], parts[4]) if text)
    return Coded(tuple(codes), tuple(texts))


def _system(code: str, named: str) -> str:
    known = _SYSTEMS.get(named)
    if known:
        return known
    if _HL7_TABLE.fullmatch(named):
        return named
    return "loinc" if not named and _LOINC_CODE.fullmatch(code) else ""
