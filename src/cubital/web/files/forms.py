"""Dropping a file in: which hospital, which clock, what is in it; and saying that a unit has a new name."""

from __future__ import annotations

from typing import Any
from zoneinfo import available_timezones

from django import forms

from cubital.domain.words import _
from cubital.web.files.arrivals import CULTURES, MOVEMENTS
from cubital.web.plain_forms import PlainForm

ACCEPTED = ".csv,.tsv,.txt,.gz,.xlsx,.xls,.xlsm,.ods,.hl7,.oru,.msg,.dat,.json,.ndjson,.jsonl,.zip"


def named_timezones() -> list[str]:
    """Every time zone that is written as a place."""
    return sorted(zone for zone in available_timezones() if "/" in zone and not zone.startswith("Etc/"))


class DropForm(PlainForm):
    """A file and whose it is. The time zone is asked once for a hospital, here or on the next page."""

    file = forms.FileField(widget=forms.FileInput(attrs={"accept": ACCEPTED, "data-drop": "yes"}))
    facility = forms.CharField(
        max_length=200, widget=forms.TextInput(attrs={"list": "facilities", "autocomplete": "off"})
    )
    timezone = forms.CharField(
        required=False, max_length=64, widget=forms.TextInput(attrs={"list": "timezones", "autocomplete": "off"})
    )
    kind = forms.ChoiceField(widget=forms.RadioSelect)
    source = forms.CharField(required=False, max_length=200)

    def say(self) -> None:
        self.fields["kind"].choices = [  # type: ignore[attr-defined]
            (CULTURES, _("Blood cultures from the laboratory")),
            (MOVEMENTS, _("Ward movements of the patients (patient, unit, from, to)")),
        ]
        self.fields["kind"].initial = CULTURES
        self.fields["file"].error_messages["empty"] = _("This file is empty. Please ask for it again.")
        self.name_field(
            "file",
            _("The file, just as you got it"),
            _("Drop it here or choose it: CSV, text or workbook, also packed with gz."),
        )
        self.name_field("facility", _("Hospital"), _("The same name each month."))
        self.name_field(
            "timezone",
            _("Time zone of the hospital's clocks"),
            _("Asked once. Written as a place, such as America/Chicago or Europe/Madrid."),
        )
        self.name_field("kind", _("What is in it?"))
        self.name_field(
            "source",
            _("Name for this kind of file"),
            _("Only if the hospital sends several kinds; otherwise leave it empty."),
        )

    def missing_words(self) -> dict[str, str]:
        return {
            "file": _("Please choose a file."),
            "facility": _("Please write the hospital's name."),
            "kind": _("Please say what is in the file."),
        }

    def clean_timezone(self) -> str:
        zone: str = self.cleaned_data["timezone"].strip()
        if zone and zone not in available_timezones():
            raise forms.ValidationError(
                _("There is no time zone of this name. Please write a place such as America/Chicago.")
            )
        return zone

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        if self.errors and cleaned.get("file"):
            raise forms.ValidationError(_("Please choose the file once more as well: a browser does not keep it."))
        return cleaned


class RenameForm(PlainForm):
    """A unit that has a new name from a day on."""

    facility = forms.ChoiceField()
    old = forms.CharField(max_length=200, widget=forms.TextInput(attrs={"list": "unit-names", "autocomplete": "off"}))
    new = forms.CharField(max_length=200, widget=forms.TextInput(attrs={"list": "unit-names", "autocomplete": "off"}))
    on = forms.DateField()

    def __init__(self, *args: Any, facilities: list[str], **kwargs: Any) -> None:
        self.facilities = facilities
        super().__init__(*args, **kwargs)

    def say(self) -> None:
        self.fields["facility"].choices = [(name, name) for name in self.facilities]  # type: ignore[attr-defined]
        self.fields["facility"].error_messages["invalid_choice"] = _("Please choose a hospital from the list.")
        self.name_field("facility", _("Hospital"))
        self.name_field("old", _("Name before"))
        self.name_field("new", _("Name since"))
        self.name_field("on", _("First day of the new name"))

    def missing_words(self) -> dict[str, str]:
        return {
            "facility": _("Please choose a hospital."),
            "old": _("Please write the name that the unit had."),
            "new": _("Please write the name that the unit has now."),
            "on": _("Please choose the first day of the new name."),
        }

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        if cleaned.get("old") and cleaned["old"].casefold() == str(cleaned.get("new", "")).casefold():
            self.add_error("new", _("Both names are the same. Please write the new one."))
        return cleaned
