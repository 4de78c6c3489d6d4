"""What is compared, where, over which months, and whether the mix is allowed for."""

from __future__ import annotations

from typing import Any

from django import forms

from cubital.answers.place_words import By, by_words
from cubital.domain.words import _
from cubital.web.plain_forms import PlainForm

Choices = list[tuple[str, Any]]
COUNTED, STANDARD = "counted", "standard"


class LookForm(PlainForm):
    """Five lists to choose from; everything has a value to begin with."""

    by = forms.ChoiceField()
    place = forms.ChoiceField(required=False)
    first = forms.ChoiceField()
    last = forms.ChoiceField()
    way = forms.ChoiceField(required=False)

    def __init__(self, *args: Any, places: Choices, months: Choices, roles: bool, **kwargs: Any) -> None:
        self.places, self.months, self.roles = places, months, roles
        super().__init__(*args, **kwargs)

    def say(self) -> None:
        by = [(one.value, by_words(one)) for one in By if one is not By.ROLE or self.roles]
        ways = [(COUNTED, _("as counted")), (STANDARD, _("age group, way of drawing and shift allowed for"))]
        month = _("There are no sets in that month. Please choose one from the list.")
        for name, choices, words in (
            ("by", by, _("Nothing can be compared by that. Please choose from the list.")),
            ("place", self.places, _("There is no such place. Please choose one from the list.")),
            ("first", self.months, month),
            ("last", self.months, month),
            ("way", ways, _("Please choose from the list.")),
        ):
            field = self.fields[name]
            field.choices = choices  # type: ignore[attr-defined]
            field.error_messages["invalid_choice"] = words
        self.name_field("by", _("Compare by"))
        self.name_field("place", _("Within"))
        self.name_field("first", _("From"))
        self.name_field("last", _("To"))
        self.name_field("way", _("Shares"))

    def missing_words(self) -> dict[str, str]:
        return {
            "by": _("Please choose what to compare by."),
            "first": _("Please choose the first month."),
            "last": _("Please choose the last month."),
        }

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        if cleaned.get("first") and cleaned.get("last") and cleaned["first"] > cleaned["last"]:
            self.add_error("last", _("This month is before the first one. Please turn them round."))
        return cleaned
