"""A laboratory's own codes in messages: which test is a blood culture, which bottle, which specimen, which organism."""

from __future__ import annotations

import csv
from collections.abc import Iterable, Mapping
from types import MappingProxyType

from cubital.domain.cultures import BottleKind
from cubital.domain.errors import FileProblem
from cubital.domain.words import _
from cubital.reference.code_maps import find_organism

# What a code of each kind may mean; an organism's meaning is looked up instead.
_MEANINGS: Mapping[str, frozenset[str]] = MappingProxyType(
    {
        "test": frozenset({"blood-culture", "other"}),
        "specimen": frozenset({"blood", "other"}),
        "bottle": frozenset(kind.value for kind in BottleKind),
    }
)


def read_site_codes(lines: Iterable[str], *, where: str) -> Mapping[str, str]:
    """The answers that a site map gives, from the lines of a comma-separated file with ``kind, code, meaning``.

    ``kind`` is ``test`` (meaning ``blood-culture`` or ``other``), ``specimen`` (``blood`` or ``other``), ``bottle``
    (``aerobic``, ``anaerobic``, ``paediatric``, ``other``) or ``organism`` (a key, a scientific name or a known
    abbreviation). Codes are text: leading zeros and capitals stay. Every line that cannot be used is named in one
    ``FileProblem``. The keys are those of the questions, such as ``test_code.MB7``.
    """
    reader = csv.DictReader(lines)
    heads = {(name or "").strip().lower(): name for name in reader.fieldnames or ()}
    if not {"kind", "code", "meaning"} <= heads.keys():
        raise FileProblem(
            _("the columns 'kind', 'code' and 'meaning' are not all there."),
            where=where,
            fix=_("Give one code per line under these three headings."),
        )
    found: dict[str, str] = {}
    problems: list[str] = []
    for row in reader:
        kind, code, words = ((row[heads[name]] or "").strip() for name in ("kind", "code", "meaning"))
        meaning = _meaning(kind.lower(), words)
        key = f"{kind.lower()}_code.{code}"
        if not code or not meaning or found.get(key, meaning) != meaning:
            problems.append(str(reader.line_num))
        else:
            found[key] = meaning
    if problems:
        raise FileProblem(
            _("lines {lines} cannot be used: no code, a meaning that is not known, or a second one for a code.").format(
                lines=", ".join(problems)
            ),
            where=where,
            fix=_("A test is 'blood-culture' or 'other', a specimen 'blood' or 'other', a bottle its kind."),
        )
    return MappingProxyType(found)


def _meaning(kind: str, words: str) -> str:
    if kind == "organism":
        return find_organism(words)
    tidy = words.lower()
    return tidy if tidy in _MEANINGS.get(kind, frozenset()) else ""
