"""When "is it worth it?" is not answered: charges, mixed currencies, years without an index, what is missing."""

from __future__ import annotations

from cubital.answers.worth_inputs import (
    COVERED,
    COVERED_RATE,
    KNOWN,
    RATE,
    RISK,
    SETS,
    build_structure,
    counted_twice,
    input_label,
    missing_inputs,
)
from cubital.domain.answer import Answer, Receipt, Verdict
from cubital.domain.costs import CostInput, CostTable, InputKind, currencies_of, years_without_index
from cubital.domain.words import _, share_words


def refuse_worth(table: CostTable, *, question: str, with_programme: bool, receipt: Receipt | None) -> Answer | None:
    """The refusal that says what is missing or cannot be added up; none where the model can be run."""
    words = _first_trouble(table, with_programme=with_programme)
    if not words:
        return None
    return Answer(question=question, verdict=Verdict.REFUSED, sentence=words, receipt=receipt)


def _first_trouble(table: CostTable, *, with_programme: bool) -> str:
    inputs = counted_inputs(table, with_programme=with_programme)
    return (
        _missing(table, with_programme=with_programme)
        or _twice(table)
        or _charges(inputs)
        or _currencies(inputs)
        or _years(table, inputs)
        or (_no_benefit(table) or _more_than_all(table) if with_programme else "")
        or _no_range(inputs)
    )


def counted_inputs(table: CostTable, *, with_programme: bool = True) -> tuple[CostInput, ...]:
    """The inputs that are added up or multiplied; charges among them are why the question is refused."""
    used = set()
    for option in table.options:
        structure = build_structure(table, option)
        keys = dict(structure.names)
        lines = (*structure.each, *(structure.programme if with_programme else ()))
        wanted = {key for line in lines for key in line} | (
            {SETS, RATE, COVERED, COVERED_RATE, RISK} if with_programme else set()
        )
        used |= {name for key, name in keys.items() if key in wanted}
    return tuple(one for one in table.inputs if one.name in used)


def _missing(table: CostTable, *, with_programme: bool) -> str:
    for option in table.options:
        missing = missing_inputs(table, option, with_programme=with_programme)
        if missing:
            what = _("For {option} it cannot be said yet: {missing} is missing. No value is made up here.")
            return what.format(option=option_words(option), missing="; ".join(missing))
    return ""


def _twice(table: CostTable) -> str:
    if not any(counted_twice(table, option) for option in table.options):
        return ""
    return _(
        "The cost of one contaminated set is given whole and in its parts, and would be counted twice: keep one of the "
        "two."
    )


def _charges(inputs: tuple[CostInput, ...]) -> str:
    charges = [input_label(one.key) for one in inputs if one.kind is InputKind.CHARGE]
    if not charges:
        return ""
    return _(
        "A charge is what is billed, not what it costs, and the two are never added: {names}. Ask finance for the "
        "marginal cost; the charge may stand beside it as published."
    ).format(names="; ".join(charges))


def _currencies(inputs: tuple[CostInput, ...]) -> str:
    found = currencies_of(inputs)
    if len(found) < 2:
        return ""
    return _(
        "The money is in more than one currency ({names}). Nothing is converted here: ask finance for all of it in one."
    ).format(names=", ".join(found))


def _years(table: CostTable, inputs: tuple[CostInput, ...]) -> str:
    missing = years_without_index(table, inputs)
    if not missing:
        return ""
    return _(
        "Prices are of different years. Give a price index for {years}, with its source, so that all of it is in the "
        "money of one year."
    ).format(years=", ".join(str(year) for year in missing))


def _no_range(inputs: tuple[CostInput, ...]) -> str:
    if not all(one.is_fixed for one in inputs):
        return ""
    return _(
        "No input has a range, and one number alone would look like a measurement. Give low and high for what is not "
        "known exactly; usually that is the relative risk and what a contaminated set costs."
    )


def _no_benefit(table: CostTable) -> str:
    for option in table.options:
        risk = table.find(RISK, option)
        if risk is not None and risk.likely >= 1:
            what = _(
                "For {option} the relative risk is {risk}: at 1 nothing changes, and above 1 more sets are "
                "contaminated, so that there is no benefit to be weighed. Was it meant the other way round, or as a "
                "reduction?"
            )
            return what.format(option=option_words(option), risk=f"{risk.likely:g}")
        empty = [key for key in (SETS, RATE, COVERED) if not (found := table.find(key, option)) or not found.likely]
        if empty:
            what = _("For {option} there is nothing to avert: {name} is 0.")
            return what.format(option=option_words(option), name=input_label(empty[0]))
    return ""


def _more_than_all(table: CostTable) -> str:
    """Covered draws that would hold more contaminated sets than there are at all."""
    for option in table.options:
        rate, covered, own = (table.find(key, option) for key in (RATE, COVERED, COVERED_RATE))
        if rate and covered and own and covered.likely * own.likely > rate.likely * (1 + 1e-9):
            what = _(
                "For {option} the covered draws would hold {part} of all contaminated sets, which is more than all: "
                "the share covered, their contaminated share or that of all draws is wrong."
            )
            share = share_words(covered.likely * own.likely / rate.likely, 0)
            return what.format(option=option_words(option), part=share)
    return ""


def option_words(option: str) -> str:
    """The option as it stands in a sentence."""
    return option or _("the programme")


def beside_inputs(table: CostTable) -> tuple[CostInput, ...]:
    """Inputs that are given and do not count, because a product lacks a part or the key is not needed."""
    counted = {one.name for one in counted_inputs(table)}
    return tuple(one for one in table.inputs if one.name not in counted and one.key in KNOWN)
