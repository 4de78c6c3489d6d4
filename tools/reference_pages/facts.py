"""The published definitions and lists that are shipped, each with its source."""

from __future__ import annotations

from collections import Counter, defaultdict
from dataclasses import asdict

from cubital.domain import charter
from cubital.reference.charters import published_charters
from cubital.reference.commensals import CommensalList, commensal_lists, listed_keys
from cubital.reference.organisms import organisms
from cubital.reference.standard_codes import standard_codes
from cubital.reference.tables import sources
from reference_pages.markdown import Page, choices, paragraphs, table

SETTINGS = {
    "unit_of_count": charter.UnitOfCount, "rule": charter.Rule, "window": charter.Window,
    "same_commensal": charter.SameCommensal, "different_commensals": charter.DifferentCommensals,
    "solitary_commensal": charter.SolitaryCommensal, "mixed_growth": charter.MixedGrowth,
    "population": charter.Population, "line_sets": charter.LineSets, "follow_up": charter.FollowUp,
    "denominator": charter.Denominator,
}  # fmt: skip
CODE_SYSTEMS = {"loinc": "LOINC", "snomed": "SNOMED CT"}
LABELS = ("key", "name", "version", "source", "confidence")


def build_charters_page() -> Page:
    """The page ``charters.md``."""
    lines = paragraphs(charter)
    lines += [
        "None of these is in force until a workspace signs it. *Confidence* says how far each was confirmed; read the"
    ]
    lines += ["original before quoting it.", "", "## Shipped definitions", ""]
    for shipped in published_charters().values():
        lines += [f"### {shipped.name}", "", f"Key `{shipped.key}`, fingerprint `{shipped.fingerprint()}`.", ""]
        lines += [f"- Source: {shipped.source}.", f"- Confidence: {shipped.confidence}.", ""]
        rules = {name: value for name, value in asdict(shipped).items() if name not in LABELS}
        lines += table(("Setting", "Value"), [(f"`{name}`", _value(value)) for name, value in rules.items()])
    lines += ["## Settings and their choices", ""]
    for name, kind in SETTINGS.items():
        lines += [f"### {name}", "", *paragraphs(kind), *choices(kind)]
    lines += ["## Other settings", "", *paragraphs(charter.Charter)]
    return Page(name="charters.md", title="Charters and their sources", body="\n".join(lines))


def _value(value: object) -> str:
    if isinstance(value, tuple):
        return ", ".join(f"`{part}`" for part in value) or "none"
    return f"`{value}`"


def build_organisms_page() -> Page:
    """The page ``organisms.md``: the lists in full, the table of organisms in numbers, every source."""
    ranks = Counter(organism.rank for organism in organisms().values())
    counted = ", ".join(f"{count:,} of rank {rank}" for rank, count in sorted(ranks.items()))
    by_system = Counter(system for system, _code in standard_codes())
    systems = ", ".join(f"{by_system[key]:,} of {name}" for key, name in CODE_SYSTEMS.items())
    lines = [
        f"Cubital knows {len(organisms()):,} names of organisms and stains ({counted}).",
        "They are its own table, without the codes of any terminology. Beside it lie",
        f"{len(standard_codes()):,} codes ({systems}) that messages and exports of blood cultures carry, each with",
        "the words that it stands for here: no copy of either code system. A list is for counting. It is never a",
        "judgement about a patient.",
        "",
    ]
    for entry in commensal_lists().values():
        lines += _list_section(entry)
    lines += ["## Sources", "", "*Confidence* is one of looked-up, looked-up-secondary, memory, common-practice.", ""]
    rows = [(f"`{s.key}`", s.title, s.address, s.confidence, s.note) for s in sources().values()]
    lines += table(("Key", "Title", "Address", "Confidence", "Note"), rows)
    return Page(name="organisms.md", title="Organisms and commensal lists", body="\n".join(lines))


def _list_section(entry: CommensalList) -> list[str]:
    lines = [f"## {entry.title}", "", f"Key `{entry.key}`.", "", f"- Source: {entry.source}."]
    lines += [f"- Confidence: {entry.confidence}.", ""]
    if entry.notes:
        lines += table(("Organism", "Note"), [(_name(key), note) for key, note in entry.notes.items()])
    lines += [f"Neither counted nor dismissed: {', '.join(sorted(map(_name, entry.unresolved)))}.", ""]
    by_genus: dict[str, list[str]] = defaultdict(list)
    for key in sorted(listed_keys(entry.key)):
        by_genus[organisms()[key].genus].append(_name(key))
    lines += [f"Counted as commensals ({len(listed_keys(entry.key)):,} names):", ""]
    return [*lines, *(f"- {', '.join(names)}" for _genus, names in sorted(by_genus.items())), ""]


def _name(key: str) -> str:
    found = organisms().get(key)
    return found.name if found else key
