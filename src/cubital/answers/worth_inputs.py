"""The inputs that "is it worth it?" knows: their names, what each may be, and how they multiply and add up."""

from __future__ import annotations

from dataclasses import dataclass

from cubital.domain.costs import MONEY, CostTable, InputKind
from cubital.domain.words import _

SETS, RATE = "sets", "rate"
COVERED, RISK = "covered", "relative_risk"
COVERED_RATE = "covered_rate"  # of the covered draws alone, where it is known; otherwise theirs is that of all
EACH = "cost_each"

# What one contaminated set costs, where it is built up from its parts: each line is a product, the lines add up.
PARTS: tuple[tuple[str, ...], ...] = (
    ("repeat_sets", "repeat_cost"),
    ("workup",),
    ("antibiotic_days", "antibiotic_cost"),
    ("bed_days", "released", "bed_cost"),
)
# What a programme costs a year, in the same way.
LINES: tuple[tuple[str, ...], ...] = (
    ("fixed_cost",),
    ("hours", "days", "wage", "relief"),
    ("price_per_set", SETS, COVERED),
)
MAY_LACK = frozenset({"relief"})  # a line without it counts it as 1
OF_MONEY = frozenset(
    {EACH, "repeat_cost", "workup", "antibiotic_cost", "bed_cost", "fixed_cost", "wage", "price_per_set"}
)
OF_SHARES = frozenset({RATE, COVERED, COVERED_RATE, "released"})
OF_RATIOS = frozenset({RISK, "relief"})
OF_COUNTS = frozenset({SETS, "repeat_sets", "antibiotic_days", "bed_days", "hours", "days"})
KNOWN = (
    SETS, RATE, COVERED, COVERED_RATE, RISK, EACH, "repeat_sets", "repeat_cost", "workup", "antibiotic_days",
    "antibiotic_cost", "bed_days", "released", "bed_cost", "fixed_cost", "hours", "days", "wage", "relief",
    "price_per_set",
)  # fmt: skip
INDEX = "price_index"


def input_label(key: str) -> str:
    """The input as a person calls it; also how it is written in a table of inputs."""
    return {
        SETS: _("sets a year"),
        RATE: _("contaminated share"),
        COVERED: _("share of draws covered"),
        COVERED_RATE: _("contaminated share of covered draws"),
        RISK: _("relative risk"),
        EACH: _("cost of one contaminated set"),
        "repeat_sets": _("repeat sets for each contaminated set"),
        "repeat_cost": _("cost of one repeat set"),
        "workup": _("laboratory work-up of one contaminated set"),
        "antibiotic_days": _("antibiotic days for each contaminated set"),
        "antibiotic_cost": _("cost of one antibiotic day"),
        "bed_days": _("extra bed-days for each contaminated set"),
        "released": _("share of bed-days that could really be released"),
        "bed_cost": _("cost of one bed-day"),
        "fixed_cost": _("programme cost a year"),
        "hours": _("hours a day"),
        "days": _("days a year"),
        "wage": _("wage per hour"),
        "relief": _("relief factor"),
        "price_per_set": _("price per covered set"),
        INDEX: _("price index"),
    }[key]


def kinds_of(key: str) -> frozenset[InputKind]:
    """What that input may be."""
    if key in OF_MONEY:
        return MONEY
    if key in OF_SHARES:
        return frozenset({InputKind.SHARE})
    return frozenset({InputKind.RATIO if key in OF_RATIOS or key == INDEX else InputKind.COUNT})


@dataclass(frozen=True, kw_only=True)
class Structure:
    """How the inputs of one option hang together: keys of ``find`` in products, products that are added up.

    ``names`` gives, for every key that is used, the name of the input that holds for this option.
    """

    option: str
    names: tuple[tuple[str, str], ...]
    each: tuple[tuple[str, ...], ...]
    programme: tuple[tuple[str, ...], ...]


def build_structure(table: CostTable, option: str) -> Structure:
    """The structure that the given inputs allow; products that lack a part are left out (``missing_inputs`` asks)."""
    held = {key: found.name for key in KNOWN if (found := table.find(key, option)) is not None}
    each: tuple[tuple[str, ...], ...] = ((EACH,),) if EACH in held else _whole(PARTS, held)
    programme = _whole(LINES, held)
    used = {SETS, RATE, COVERED, COVERED_RATE, RISK, *(key for line in (*each, *programme) for key in line)}
    return Structure(
        option=option, names=tuple((key, held[key]) for key in KNOWN if key in held and key in used), each=each,
        programme=programme,
    )  # fmt: skip


def _whole(lines: tuple[tuple[str, ...], ...], held: dict[str, str]) -> tuple[tuple[str, ...], ...]:
    found = []
    for line in lines:
        if all(key in held or key in MAY_LACK for key in line):
            found.append(tuple(key for key in line if key in held))
    return tuple(found)


def missing_inputs(table: CostTable, option: str, *, with_programme: bool = True) -> tuple[str, ...]:
    """What still has to be given for that option, in words; empty where nothing is missing."""
    held = {key for key in KNOWN if table.find(key, option) is not None}
    structure = build_structure(table, option)
    missing = [input_label(key) for key in (SETS, RATE, COVERED, RISK) if with_programme and key not in held]
    if not structure.each:
        missing.append(_("{cost} (or its parts)").format(cost=input_label(EACH)))
    if with_programme and not structure.programme:
        missing.append(_("what the programme costs: a sum a year, hours with a wage, or a price per covered set"))
    return (*missing, *_half_lines(held))


def _half_lines(held: set[str]) -> tuple[str, ...]:
    """Parts that are given while others of their product are not: left out silently they would be lost."""
    found = []
    for line in (*PARTS, *LINES):
        own = [key for key in line if key not in (SETS, COVERED, *MAY_LACK)]
        given = [key for key in own if key in held]
        if given and len(given) < len(own):
            found += [input_label(key) for key in own if key not in held]
    return tuple(found)


def counted_twice(table: CostTable, option: str) -> bool:
    """Whether the cost of one contaminated set is given both whole and in parts."""
    parts = [key for line in PARTS for key in line]
    return table.find(EACH, option) is not None and any(table.find(key, option) for key in parts)
