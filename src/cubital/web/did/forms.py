"""What is asked about: an entry of the diary, a day and a place; or a table as text or file."""

from __future__ import annotations

from typing import Any

from django import forms

from cubital.domain.errors import FileProblem, RequestProblem
from cubital.domain.words import _
from cubital.web.month.places import read_place
from cubital.web.plain_forms import PlainForm, TextOrFileForm
from cubital.workspace.did_answers import DidAsk

Choices = list[tuple[str, Any]]


class ChangeForm(PlainForm):
    """An entry of the diary, or a day with a place and a few words; the entry comes first."""

    entry = forms.ChoiceField(required=False)
    on = forms.DateField(required=False)
    place = forms.ChoiceField(required=False)
    words = forms.CharField(required=False, max_length=120)

    def __init__(self, *args: Any, entries: Choices, places: Choices, **kwargs: Any) -> None:
        self.entries, self.places = entries, places
        super().__init__(*args, **kwargs)

    def say(self) -> None:
        chosen = [("", _("none of these")), *self.entries]
        for name, choices in (("entry", chosen), ("place", self.places)):
            self.fields[name].choices = choices  # type: ignore[attr-defined]
            self.fields[name].error_messages["invalid_choice"] = _("Please choose one from the list.")
        self.name_field("entry", _("A change in the diary"))
        self.name_field("on", _("Or a day on which something began"))
        self.name_field("place", _("Where"))
        self.name_field("words", _("What began, in a few words"), _("Without names of people or patients."))

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        if not self.errors and not cleaned.get("entry") and not cleaned.get("on"):
            raise forms.ValidationError(_("Please choose a change, or give a day and a place."))
        return cleaned

    def ask(self) -> DidAsk:
        """What was asked; the form must be valid."""
        held = self.cleaned_data
        if held["entry"]:
            return DidAsk(number=int(held["entry"]))
        place = read_place(held["place"], "")
        return DidAsk(on=held["on"], facility=place.facility, unit=place.unit, words=held["words"])


class CountsForm(TextOrFileForm):
    """Counts before and after; ``given`` is the pasted text. The column asked about and the unit may be left out."""

    asks = forms.CharField(required=False, max_length=80)
    at = forms.CharField(required=False, max_length=120)
    given = ""

    rows = (
        "unit,period,collector,kit,sets,contaminated\n"
        "M emergency,before,nurse,no,2700,119\n"
        "M emergency,after,nurse,yes,1240,49\n"
        "M emergency,after,phlebotomist,yes,1510,26\n"
        "T medical,before,nurse,no,880,25\n"
        "T medical,after,nurse,no,905,24"
    )

    @property
    def rows_hint(self) -> str:
        return _(
            "Every other column is something that differed between rows. It may hold a role or a kind, and no name."
        )

    def say(self) -> None:
        super().say()
        self.fields["text"].widget.attrs["rows"] = 8
        self.name_field(
            "text", _("Paste your counts"), _("One row per unit, period and way of collecting, headings on top.")
        )
        self.name_field("file", _("Or choose a file with the same columns"))
        self.name_field("asks", _("The column asked about"), _("Left empty: all of them."))
        self.name_field("at", _("The unit where it began"), _("Left empty: where most began."))

    def neither_words(self) -> str:
        return _("Please paste your counts, or choose a file.")

    def read_text(self, text: str) -> None:
        self.given = text

    def complain(self, problem: FileProblem | RequestProblem) -> None:
        """What is wrong, beside the field that it is about."""
        asked = isinstance(problem, RequestProblem)
        self.add_error(None if asked else "text" if self.given else "file", problem.sentence())


class AttendanceForm(CountsForm):
    """Counts by who attended."""

    rows = (
        "person,attended,period,weeks,sets,contaminated\n"
        "N1,yes,before,26,40,2\n"
        "N1,yes,after,26,44,1\n"
        "N2,no,before,26,38,2\n"
        "N2,no,after,26,41,2"
    )

    @property
    def rows_hint(self) -> str:
        return _(
            "Instead of a person there may be a unit, and instead of yes or no the share of its people who "
            "attended: 60 % or 12/20."
        )

    def say(self) -> None:
        super().say()
        del self.fields["asks"], self.fields["at"]
        self.name_field(
            "text", _("Paste your counts"), _("One row per person (a code, no name), or per unit, and period.")
        )
