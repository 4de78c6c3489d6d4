"""Which place, which month: two lists to choose from."""

from __future__ import annotations

from typing import Any

from django import forms

from cubital.domain.words import _
from cubital.web.plain_forms import PlainForm

Choices = list[tuple[str, Any]]


class PlaceForm(PlainForm):
    """A place and a month among those there are data for."""

    place = forms.ChoiceField(required=False)
    month = forms.ChoiceField()

    def __init__(self, *args: Any, places: Choices, months: Choices, **kwargs: Any) -> None:
        self.places, self.months = places, months
        super().__init__(*args, **kwargs)

    def say(self) -> None:
        for name, choices, words in (
            ("place", self.places, _("There is no such place. Please choose one from the list.")),
            ("month", self.months, _("There are no sets in that month. Please choose one from the list.")),
        ):
            field = self.fields[name]
            field.choices = choices  # type: ignore[attr-defined]
            field.error_messages["invalid_choice"] = words
        self.name_field("place", _("Place"))
        self.name_field("month", _("Month"))

    def missing_words(self) -> dict[str, str]:
        return {"month": _("Please choose a month.")}
