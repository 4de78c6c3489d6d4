"""The form that locks a baseline: which months, who answers for it, why."""

from __future__ import annotations

from typing import Any

from django import forms

from cubital.domain.words import _
from cubital.web.plain_forms import SignedForm
from cubital.workspace.baselines import LONGEST_WHY


class BaselineForm(SignedForm):
    """First and last month among those there are, a name, a role, a reason and a day."""

    first = forms.ChoiceField()
    last = forms.ChoiceField()
    by = forms.CharField(max_length=120)
    role = forms.CharField(max_length=120)
    why = forms.CharField(max_length=LONGEST_WHY)
    on = forms.DateField()

    def __init__(self, *args: Any, months: list[tuple[str, str]], **kwargs: Any) -> None:
        self.months = months
        super().__init__(*args, **kwargs)

    def say(self) -> None:
        for name, label in (("first", _("First month")), ("last", _("Last month"))):
            self.fields[name].choices = self.months  # type: ignore[attr-defined]
            self.name_field(name, label)
            self.fields[name].error_messages["invalid_choice"] = _("Please choose a month from the list.")
        self.name_field("by", _("Name"), _("The person who answers for this baseline."))
        self.name_field("role", _("Role"), _("For example practice educator, or medical microbiology."))
        self.name_field("why", _("Why these months"), _("One sentence: what makes them usual."))
        self.name_field("on", _("Day"))

    def missing_words(self) -> dict[str, str]:
        return {
            "first": _("Please choose the first month."),
            "last": _("Please choose the last month."),
            "by": _("Please write who signs."),
            "role": _("Please write in which role this person signs."),
            "why": _("Please write why these months are what is usual."),
            "on": _("Please choose the day of signing."),
        }
