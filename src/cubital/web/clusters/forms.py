"""What to look for, and the list of lots."""

from __future__ import annotations

from django import forms

from cubital.domain.words import _
from cubital.web.plain_forms import PlainForm
from cubital.workspace.clusters import LOOK_DAYS, MOST_DAYS


class LookForm(PlainForm):
    """One organism or all, and which days; everything may be left out."""

    organism = forms.CharField(required=False, max_length=120)
    until = forms.DateField(required=False)
    days = forms.IntegerField(required=False, min_value=1, max_value=MOST_DAYS)

    def say(self) -> None:
        self.name_field("organism", _("Organism"), _("Left empty: every organism that is rare here."))
        self.name_field("until", _("Up to"), _("Left empty: the last day with a set."))
        self.name_field("days", _("Days"), _("Left empty: {days} days.").format(days=LOOK_DAYS))
        words = _("Please write a whole number of days from 1 to {most}.").format(most=MOST_DAYS)
        for code in ("invalid", "min_value", "max_value"):
            self.fields["days"].error_messages[code] = words


class LotListForm(PlainForm):
    """A list of lots as a file."""

    file = forms.FileField(widget=forms.FileInput(attrs={"accept": ".csv,.tsv,.txt,.xlsx,.xls"}))

    def say(self) -> None:
        self.name_field(
            "file",
            _("List of lots"),
            _("One row per stay: item, lot, facility, unit, from, to. An empty unit is the whole hospital."),
        )
        self.fields["file"].error_messages["empty"] = _("This file is empty.")

    def missing_words(self) -> dict[str, str]:
        return {"file": _("Please choose a file.")}
