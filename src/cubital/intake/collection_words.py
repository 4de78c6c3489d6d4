"""How the blood was reached and who took it, as far as the text says so.

Inference from site text is common practice, no source; what is not said stays unknown.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from cubital.domain.cultures import Attribution, Method
from cubital.intake.headers import tidy_header

_METHODS: tuple[tuple[Method, re.Pattern[str]], ...] = (
    (Method.ARTERIAL, re.compile(r"\b(art|arterial|artery|a line|aline|art line|arterial line|radial a|abg)\b")),
    (
        Method.CENTRAL_LINE,
        re.compile(
            r"\b(picc|cvc|cvl|cvad|central|central line|port|tunnel\w*|lumen|line|catheter|cath|dialysis|hd|vascath"
            r"|umbilical|uvc"
            r"|midline|tlc|via central|cvp|implanted)\b"
        ),
    ),
    (
        Method.NEW_CANNULA,
        re.compile(r"\b(iv start|new iv|new cannula|cannula insertion|fresh cannula|at insertion|cannula|piv|pivc"
        r"|pvc|iv)\b"),
    ),
    (
        Method.VENEPUNCTURE,
        re.compile(
            r"\b(veni?e?puncture|venepunct\w*|venipunct\w*|vp|stick|straight stick|peripheral stick|butterfly|needle"
            r"|phlebotomy"
            r"|ac|acf|lac|rac|antecub\w*|hand|forearm|arm|wrist|foot|scalp|elbow|cubital|peripheral|periph)\b"
        ),
    ),
)  # fmt: skip
_NOBODY_WORDS = """
lab labs laboratory unknown unk none na n a nurse rn md doctor dr phleb phlebotomy phlebotomist staff generic user admin
system ward unit ed er icu other nil null x xx xxx xxxx test temp tech hca agency student by collector unspecified auto
interface ns
"""
_NOBODY = frozenset(_NOBODY_WORDS.split()) | {
    "n a", "not recorded", "not known", "lab staff", "ward staff", "nursing staff", "unit staff", "per ward",
}  # fmt: skip


def read_method(text: str) -> Method:
    """The method that a site or method cell names; unknown for "BLOOD", "VENOUS", blank and anything unclear."""
    tidy = tidy_header(text)
    return next((method for method, pattern in _METHODS if pattern.search(tidy)), Method.UNKNOWN)


@dataclass(frozen=True)
class Collector:
    """``key`` is none where nobody in particular is named."""

    key: str | None
    attribution: Attribution


def read_collector(text: str, *, badge: bool = False) -> Collector:
    """Who collected. A badge column or a bare number is grade A; initials and names are grade B; "LAB" is nobody."""
    tidy = tidy_header(text)
    if not tidy or tidy in _NOBODY or not set(tidy) - set("09x "):
        return Collector(None, Attribution.NONE)
    numbered = re.fullmatch(r"\d{3,}", tidy) is not None
    return Collector(tidy, Attribution.BADGE if badge or numbered else Attribution.ROSTER_OR_INITIALS)
