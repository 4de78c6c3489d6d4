"""What opens the private page, and what is done on it: staff list, letter, dispute."""

from __future__ import annotations

from typing import Any

from django import forms

from cubital.domain.words import _
from cubital.web.plain_forms import PlainForm
from cubital.workspace.people import Purpose, purpose_name

ACCEPTED = ".csv,.tsv,.txt,.xlsx,.xls,.ods"
Choices = list[tuple[str, Any]]


class OpenForm(PlainForm):
    """The purpose, which is recorded, the months, and the staff list for whoever wants to see names."""

    purpose = forms.ChoiceField(widget=forms.RadioSelect)
    from_month = forms.ChoiceField(required=False)
    to_month = forms.ChoiceField(required=False)
    facility = forms.ChoiceField(required=False)
    staff_list = forms.FileField(required=False, widget=forms.FileInput(attrs={"accept": ACCEPTED}))

    def __init__(self, *args: Any, months: Choices, facilities: Choices, **kwargs: Any) -> None:
        self.month_choices, self.facility_choices = months, facilities
        super().__init__(*args, **kwargs)

    def say(self) -> None:
        choices: dict[str, Choices] = {
            "purpose": [(one.value, purpose_name(one)) for one in Purpose],
            "from_month": [("", _("twelve months back")), *self.month_choices],
            "to_month": [("", _("the newest month")), *self.month_choices],
            "facility": [("", _("every hospital")), *self.facility_choices],
        }
        for name, found in choices.items():
            self.fields[name].choices = found  # type: ignore[attr-defined]
        self.name_field("purpose", _("What do you open it for?"), _("Recorded with day and hour; nobody's name is."))
        self.name_field("from_month", _("From"))
        self.name_field("to_month", _("To"))
        self.name_field("facility", _("Hospital"))
        self.name_field(
            "staff_list",
            _("Staff list, to see names"),
            _("Read into memory, not kept. Without it you see keys, which is enough for most of it."),
        )

    def missing_words(self) -> dict[str, str]:
        return {"purpose": _("Please say what you open it for; there is no other purpose than these.")}


class StaffForm(PlainForm):
    """A staff list to take in for a hospital."""

    facility = forms.ChoiceField()
    file = forms.FileField(widget=forms.FileInput(attrs={"accept": ACCEPTED}))

    def __init__(self, *args: Any, facilities: Choices, **kwargs: Any) -> None:
        self.facility_choices = facilities
        super().__init__(*args, **kwargs)

    def say(self) -> None:
        self.fields["facility"].choices = self.facility_choices  # type: ignore[attr-defined]
        self.name_field("facility", _("Hospital"))
        self.name_field(
            "file",
            _("Staff list"),
            _("One row per person: name, initials, badge, role, unit, from, to. CSV or workbook, days as 2025-06-30."),
        )

    def missing_words(self) -> dict[str, str]:
        return {
            "facility": _("Please choose the hospital whose staff it lists."),
            "file": _("Please choose the staff list."),
        }


class LetterForm(PlainForm):
    """Whom the letter says to ask, and on which paper."""

    contact = forms.CharField(required=False, max_length=160)
    paper = forms.ChoiceField(widget=forms.RadioSelect)

    def say(self) -> None:
        self.fields["paper"].choices = [("a4", "A4"), ("letter", _("Letter"))]  # type: ignore[attr-defined]
        self.fields["paper"].initial = "a4"
        self.name_field("contact", _("Whom to ask"), _("Such as: the educator on 4 East, extension 4417."))
        self.name_field("paper", _("Paper"))

    def missing_words(self) -> dict[str, str]:
        return {"paper": _("Please choose a paper.")}
