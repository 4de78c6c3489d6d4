"""The charter as a form: one question per rule, answered by choosing; and the form to sign it."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

from django import forms
from django.core.validators import MaxValueValidator, MinValueValidator

from cubital.domain.charter import Charter, build_charter
from cubital.domain.words import _
from cubital.web.charter.words import settings
from cubital.web.plain_forms import PlainForm, SignedForm

KEPT = ("key", "source", "confidence")


class CharterForm(PlainForm):
    """Every rule of a charter. What comes out is a new version; the old one stays as it was."""

    name = forms.CharField(max_length=120)
    window_hours = forms.IntegerField()
    follow_up_days = forms.IntegerField()
    excluded_units = forms.CharField(required=False, max_length=2000)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        self.asked = settings()
        super().__init__(*args, **kwargs)

    def say(self) -> None:
        for setting in self.asked:
            self.fields[setting.name] = forms.ChoiceField(
                choices=setting.choices,
                label=setting.question,
                help_text=_("Usually decided by {who}.").format(who=setting.decides),
                error_messages={
                    "required": _("Please choose one answer."),
                    "invalid_choice": _("Please choose one of the answers shown."),
                },
            )
        self.name_field("name", _("Name of this definition"), _("As it will stand under every number."))
        self.name_field(
            "window_hours", _("How many hours?"), _("Only for sets within so many hours; 1 to 168, most often 24.")
        )
        self.name_field("follow_up_days", _("For how many days?"), _("Only if follow-up sets are left out; 1 to 90."))
        self.name_field(
            "excluded_units",
            _("Units left out"),
            _("Outpatients and satellite sites, with commas between. May stay empty."),
        )
        last = ["follow_up", "follow_up_days", "excluded_units"]
        asked = [setting.name for setting in self.asked if setting.name not in ("rule", "window", *last)]
        self.order_fields(["name", "rule", "window", "window_hours", *asked, *last])
        for name, low, high in (("window_hours", 1, 168), ("follow_up_days", 1, 90)):
            words = _("Please write a whole number from {low} to {high}.").format(low=low, high=high)
            self.fields[name].error_messages["invalid"] = words
            self.fields[name].validators = [  # their own words would say the same less plainly
                MinValueValidator(low, words),
                MaxValueValidator(high, words),
            ]

    def missing_words(self) -> dict[str, str]:
        number = _("Please write a number, even where it is not used.")
        return {
            "name": _("Please give this definition a name."),
            "window_hours": number,
            "follow_up_days": number,
        }

    def build(self, base: Charter) -> Charter:
        """The charter that the form describes; what the form does not ask about comes from ``base``."""
        values = {name: getattr(base, name) for name in KEPT}
        values |= {name: value for name, value in self.cleaned_data.items() if name != "excluded_units"}
        units = self.cleaned_data["excluded_units"].split(",")
        values["excluded_units"] = tuple(" ".join(unit.split()).casefold() for unit in units if unit.strip())
        return build_charter(values)


def charter_values(charter: Charter) -> dict[str, Any]:
    """A charter as the form's starting values."""
    values = asdict(charter)
    values["excluded_units"] = ", ".join(charter.excluded_units)
    return values


class SignForm(SignedForm):
    """Who agrees, in which role, on which day."""

    name = forms.CharField(max_length=120)
    role = forms.CharField(max_length=120)
    on = forms.DateField()

    def say(self) -> None:
        self.name_field("name", _("Name"), _("The person who agrees to this definition."))
        self.name_field("role", _("Role"), _("For example practice educator, or medical microbiology."))
        self.name_field("on", _("Day"))

    def missing_words(self) -> dict[str, str]:
        return {
            "name": _("Please write who signs."),
            "role": _("Please write in which role this person signs."),
            "on": _("Please choose the day of signing."),
        }
