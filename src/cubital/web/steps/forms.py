"""Sheets of watched draws, pasted or as a file; and what is compared, or which hours, where and when."""

from __future__ import annotations

from django import forms

from cubital.answers.observation_sheets import Sheet
from cubital.domain.words import _
from cubital.web.plain_forms import PlainForm, TextOrFileForm
from cubital.workspace.fair_gathering import FairAsk, FairBy
from cubital.workspace.watched_draws import read_sheets


class SheetsForm(TextOrFileForm):
    """Text in a field or a file, one of the two; the target and the plan have usual values."""

    target = forms.IntegerField(required=False, min_value=1, max_value=99, initial=80)
    each_shift = forms.IntegerField(required=False, min_value=1, max_value=1000, initial=12)

    sheets: tuple[Sheet, ...] = ()

    rows = (
        "draw,observer,when,unit,role,policy,hand hygiene,full dry time\n"
        "1,A,2026-03-02 08:30,Emergency,nurse,7,yes,no\n"
        "1,B,2026-03-02 08:30,Emergency,nurse,7,yes,yes\n"
        "2,A,2026-03-02 22:15,5 West,phlebotomist,7,yes,yes"
    )

    @property
    def rows_hint(self) -> str:
        return _(
            "Every other column is a step. Yes, no, x, or empty for not seen; both boxes ticked (yes no) is "
            "unreadable and counts as neither. Two observers of one draw share its number."
        )

    def say(self) -> None:
        super().say()
        self.name_field(
            "text",
            _("Paste your sheets"),
            _("One row per sheet with its headings on top. Leave out the patient and the collector."),
        )
        self.name_field("file", _("Or choose a file with the same columns"))
        self.name_field("target", _("A step is due in so many of 100 draws"), _("80 where nothing else is agreed."))
        self.name_field("each_shift", _("Draws to watch by day and at night"), _("Split evenly over units and roles."))
        for name, most in (("target", 99), ("each_shift", 1000)):
            words = _("Please write a whole number from 1 to {most}.").format(most=most)
            for code in ("invalid", "min_value", "max_value"):
                self.fields[name].error_messages[code] = words

    def neither_words(self) -> str:
        return _("Please paste your sheets, or choose a file.")

    def read_text(self, text: str) -> None:
        self.sheets = read_sheets(text)


class PlaceForm(PlainForm):
    """Where and when; everything may be left out."""

    facility = forms.CharField(required=False, max_length=120)
    unit = forms.CharField(required=False, max_length=120)
    from_month = forms.RegexField(r"^\d{4}-(0[1-9]|1[0-2])$", required=False)
    to_month = forms.RegexField(r"^\d{4}-(0[1-9]|1[0-2])$", required=False)

    def say(self) -> None:
        self.name_field("facility", _("Hospital"), _("Left empty: all of them."))
        self.name_field("unit", _("Unit"), _("Left empty: all of them."))
        self.name_field("from_month", _("First month"), _("Left empty: the last twelve months. Written 2026-03."))
        self.name_field("to_month", _("Last month"), _("Left empty: the last month there is."))
        for name in ("from_month", "to_month"):
            self.fields[name].error_messages["invalid"] = _("Please write the month as 2026-03.")

    def ask(self, by: FairBy = FairBy.SHIFT) -> FairAsk:
        """What was asked for; the form must be valid."""
        found = {name: self.cleaned_data[name] or None for name in ("facility", "unit", "from_month", "to_month")}
        return FairAsk(by=by, **found)


class CompareForm(PlaceForm):
    """What is compared."""

    by = forms.ChoiceField(required=False)

    def say(self) -> None:
        super().say()
        self.name_field("by", _("Compare"))
        choices = {
            FairBy.SHIFT: _("day and night"), FairBy.WEEKEND: _("weekday and weekend"), FairBy.METHOD: _("methods"),
            FairBy.ROLE: _("roles"), FairBy.FACILITY: _("hospitals"),
        }  # fmt: skip
        field = self.fields["by"]
        field.choices = [(by.value, words) for by, words in choices.items()]  # type: ignore[attr-defined]
        field.error_messages["invalid_choice"] = _("Please choose one of the list.")


class HoursForm(PlaceForm):
    """How many hours, and on which days they begin."""

    length = forms.IntegerField(required=False, min_value=1, max_value=23, initial=12)
    days = forms.ChoiceField(required=False)

    def say(self) -> None:
        super().say()
        self.name_field("length", _("Hours in a row"), _("12 where left empty."))
        self.name_field("days", _("Beginning"))
        field = self.fields["days"]
        field.choices = [  # type: ignore[attr-defined]
            ("all", _("every day")), ("week", _("Monday to Friday")), ("end", _("Saturday and Sunday")),
        ]  # fmt: skip
        field.error_messages["invalid_choice"] = _("Please choose one of the list.")
        for code in ("invalid", "min_value", "max_value"):
            self.fields["length"].error_messages[code] = _("Please write a whole number from 1 to {most}.").format(
                most=23
            )

    def chosen_days(self) -> tuple[int, ...]:
        """The days as numbers, 0 for Monday; the form must be valid."""
        return {"week": (0, 1, 2, 3, 4), "end": (5, 6)}.get(self.cleaned_data["days"], tuple(range(7)))
