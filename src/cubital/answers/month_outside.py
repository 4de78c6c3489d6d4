"""A month of which the charter counts nothing at all: said as that, and not as a lack of sets."""

from __future__ import annotations

from collections import Counter

from cubital.answers.month_material import MonthMaterial
from cubital.domain.charter import Charter, Population, Reason, SetClass
from cubital.domain.words import _, grouped_words, month_words, ngettext


def outside_words(material: MonthMaterial) -> str:
    """Why none of the month's sets is counted and what to do; empty where one is, or where there are none."""
    asked = material.asked
    outside = asked.of_class(SetClass.OUTSIDE)
    if asked.denominator or asked.sets or not outside:
        return ""
    reasons = Counter(one.reason for one in material.sets if one.set_class is SetClass.OUTSIDE)
    reason = reasons.most_common(1)[0][0] if reasons else Reason.NOT_IN_POPULATION
    return ngettext(
        "The only set of {month} is not counted here: {why}",
        "None of the {count} sets of {month} is counted here: {why}",
        outside,
    ).format(count=grouped_words(outside), month=month_words(material.month), why=_why(reason, material.charter))


def _why(reason: Reason, charter: Charter) -> str:
    if reason is Reason.NOT_IN_POPULATION and charter.population is Population.CHILDREN:
        return _("the charter counts children only. Agree a charter for adults on the page Charter.")
    if reason is Reason.NOT_IN_POPULATION:
        return _("the charter counts adults only. Agree a charter for children on the page Charter.")
    words = {
        Reason.LINE_SET: _("the charter leaves out sets taken from a line. Look at this rule on the page Charter."),
        Reason.FOLLOW_UP: _(
            "the charter leaves out sets that follow a proven infection. Look at this rule on the page Charter."
        ),
        Reason.UNIT_EXCLUDED: _("the charter leaves this unit out. Look at its list of units on the page Charter."),
    }
    return words.get(reason, _("the charter leaves them out. Look at its rules on the page Charter."))
