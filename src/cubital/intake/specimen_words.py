"""Which specimens and tests are routine blood cultures, and which only look like them.

Serology on blood, mycobacterial and fungal bottles, fluids put into blood culture bottles and stem cells are not.
Common practice, no source; checked against the open intensive-care extract in the tests.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from enum import StrEnum

from cubital.intake.headers import tidy_header


class Scope(StrEnum):
    IN = "in"
    OTHER_SPECIMEN = "other_specimen"
    OTHER_TEST = "other_test"


_BLOOD = re.compile(
    r"\b(bloods?|bld|bl|sangre|blut|sang|hemo?cultiv\w*|hemocultur\w*|blutkultur\w*|bc|bcx|blcx|bcul|bldcx)\b|blut|hemo"
)
_CULTURE = re.compile(
    r"\b(cultures?|cult|cx|cul|c|cultivo|kultur|culture|bc|bcx|blcx|bldcx|bcul)\b|kultur|cultiv|hemocult"
)
_FOREIGN = re.compile(
    r"\b(fluid|bag|stem|marrow|tip|toxo|ebv|cmv|lyme|serolog\w*|immunolog\w*|antibod\w*|antigen|igg|igm|pcr|viral"
    r"|virus|load"
    r"|afb|acid|mycobact\w*|myco|tb|fung\w*|yeast|mould|mold|brucella|lytic|urine|csf|swab|sputum|stool|tissue|wound"
    r"|donor|unit|product"
    r"|parasit\w*|malaria|film|smear|gas|gases|count|group|film|cord|post mortem|autopsy|platelets?|bone)\b"
)
_STAIN = re.compile(r"\b(gram|stain|smear|microscopy)\b")
_OTHER_WORK = re.compile(r"\b(mic|suscept\w*|sensitiv\w*|identification|maldi|pcr|subculture|id)\b")


def reads_as_blood(text: str) -> bool:
    """The specimen text speaks of blood at all."""
    return _BLOOD.search(tidy_header(text)) is not None


def reads_as_blood_culture(text: str) -> bool:
    """The text names a blood culture and nothing that makes it another specimen."""
    tidy = tidy_header(text)
    return bool(_BLOOD.search(tidy) and _CULTURE.search(tidy) and not _FOREIGN.search(tidy))


def reads_as_foreign(text: str) -> bool:
    """The text names a specimen, or a way of working, that is no routine blood culture."""
    return _FOREIGN.search(tidy_header(text)) is not None


def specimens_in_scope(texts: Iterable[str]) -> set[str]:
    """The specimen types that are blood for culture, among all those of one file.

    Where some type says "blood culture", only such types are in; a file that knows only "BLOOD" means that.
    """
    known = list(texts)
    named = {text for text in known if reads_as_blood_culture(text)}
    if named:
        return named
    return {text for text in known if reads_as_blood(text) and not _FOREIGN.search(tidy_header(text))}


def routine_tests(texts: Iterable[str]) -> set[str]:
    """The tests that are a routine culture of blood, among all those of one file.

    A test called only "Culture" or "Aerobic culture" counts where no test of the file names blood.
    """
    known = [text for text in texts if not _STAIN.search(tidy_header(text))]
    named = {text for text in known if reads_as_blood_culture(text)}
    if named:
        return named
    plain = {text for text in known if _CULTURE.search(tidy_header(text)) and not _FOREIGN.search(tidy_header(text))}
    return plain or {text for text in known if not _FOREIGN.search(tidy_header(text))}


def reads_as_stain(text: str) -> bool:
    """The test is a microscopy row, which is no negative culture when its organism is blank."""
    return _STAIN.search(tidy_header(text)) is not None
