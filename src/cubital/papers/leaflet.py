"""P18: why two needles, why so much blood, what happens next. For patients and families, in plain words.

Volumes are said in millilitres and spoons, and come from the policy.
"""

from __future__ import annotations

from datetime import date

from cubital.domain.collection import CollectionPolicy
from cubital.domain.words import _
from cubital.papers.bedside_sheets import must_speak, number_words, sheet_of_policy
from cubital.papers.typeset import PaperSize

TEASPOON_ML = 5  # the metric teaspoon of medicine labels


def leaflet_parts(policy: CollectionPolicy) -> tuple[tuple[str, str], ...]:
    """Question and answer, in reading order, in the current language."""
    a_set = (
        policy.bottle(policy.adult.aerobic).maximum_ml.value + policy.bottle(policy.adult.anaerobic).maximum_ml.value
    )
    return (
        (
            _("Why do you take my blood?"),
            _("We look for germs in your blood. If we find one, we know which medicine can help you."),
        ),
        (
            _("Why two times?"),
            _(
                "Germs also live on the skin of healthy people. One can slip into a bottle. When we take blood from "
                "two places, we can tell a germ of the skin from one that makes you ill."
            ),
        ),
        (
            _("How much do you take?"),
            _(
                "From a grown-up each time up to {ml} mL. That is about {spoons} teaspoons. Your body makes it new in "
                "a short time. Children give much less. It goes by their weight."
            ).format(ml=number_words(a_set), spoons=round(a_set / TEASPOON_ML)),
        ),
        (
            _("What can I do?"),
            _(
                "Tell us if you are afraid, if you have fainted before, or if your skin does not like a cleaning "
                "fluid. Hold still while the skin dries, and do not touch the clean place."
            ),
        ),
        (
            _("What happens next?"),
            _(
                "The bottles stay warm in the laboratory for some days. Most often nothing grows. If something grows, "
                "your team looks at it with you. Sometimes it was only a germ of the skin. Then you may hear from us "
                "again, and it was a false alarm."
            ),
        ),
        (
            _("You may say no."),
            _("Ask us anything. Tell us if you do not want it. We explain what that means for your care."),
        ),
    )


def print_leaflet(policy: CollectionPolicy, *, today: date, paper: PaperSize = PaperSize.A4) -> bytes:
    """The leaflet as one page in the current language."""
    must_speak(policy, today)
    data = {
        "parts": [list(part) for part in leaflet_parts(policy)],
        "telephones": " · ".join(policy.telephone_numbers),
    }
    return sheet_of_policy(
        policy, "leaflet", title=_("Blood for culture: what it is for"), data=data, today=today, paper=paper
    )
