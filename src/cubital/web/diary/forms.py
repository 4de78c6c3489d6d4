"""One change to note or correct, a reason to withdraw it, and a diary that somebody kept by hand."""

from __future__ import annotations

from typing import Any

from django import forms

from cubital.answers.counted_words import capital
from cubital.answers.diary_entry import MOST_WORDS, kind_words
from cubital.domain.diary import ChangeKind
from cubital.domain.words import _
from cubital.web.plain_forms import PlainForm, TextOrFileForm

Choices = list[tuple[str, Any]]


class EntryForm(PlainForm):
    """A change: what, which sort, where, on which day, until when, and who notes it."""

    words = forms.CharField(max_length=MOST_WORDS)
    kind = forms.ChoiceField()
    place = forms.ChoiceField(required=False)
    on = forms.DateField()
    until = forms.DateField(required=False)
    noted_by = forms.CharField(required=False, max_length=120)

    def __init__(self, *args: Any, places: Choices, **kwargs: Any) -> None:
        self.places = places
        super().__init__(*args, **kwargs)

    def say(self) -> None:
        kinds = [(kind.value, capital(kind_words(kind))) for kind in ChangeKind if kind is not ChangeKind.RENAME]
        for name, choices in (("kind", kinds), ("place", self.places)):
            self.fields[name].choices = choices  # type: ignore[attr-defined]
            self.fields[name].error_messages["invalid_choice"] = _("Please choose one from the list.")
        self.fields["words"].error_messages["max_length"] = _("Please use at most {most} letters.").format(
            most=MOST_WORDS
        )
        self.name_field("words", _("What changed"), _("In a few words, without names of people or patients."))
        self.name_field("kind", _("Sort of change"))
        self.name_field("place", _("Where"))
        self.name_field("on", _("From which day"))
        self.name_field("until", _("Until which day"), _("Left empty: it goes on."))
        self.name_field("noted_by", _("Noted by"), _("A role is enough: practice educator."))

    def missing_words(self) -> dict[str, str]:
        return {
            "words": _("Please say what changed."),
            "kind": _("Please choose what sort of change it was."),
            "on": _("Please give the day on which it began."),
        }


class CorrectForm(EntryForm):
    """The same with the reason for the correction."""

    why = forms.CharField(max_length=400)

    def say(self) -> None:
        super().say()
        self.name_field("why", _("What was wrong"), _("Kept with the old entry."))

    def missing_words(self) -> dict[str, str]:
        return {**super().missing_words(), "why": _("Please say what was wrong with the entry.")}


class WithdrawForm(PlainForm):
    """The reason why an entry counts no more."""

    why = forms.CharField(max_length=400)

    def say(self) -> None:
        self.name_field("why", _("Why it does not count"), _("The entry stays readable in its history."))

    def missing_words(self) -> dict[str, str]:
        return {"why": _("Please say why the entry does not count.")}


class DiaryTableForm(TextOrFileForm):
    """A diary kept by hand, as text or as a file."""

    given = ""

    def say(self) -> None:
        super().say()
        self.fields["text"].widget.attrs["rows"] = 6
        self.name_field(
            "text",
            _("Paste the rows"),
            _("With the headings day, until, kind, facility, unit, what; a copy from a spreadsheet works."),
        )
        self.name_field("file", _("Or choose a file with the same columns"))

    def neither_words(self) -> str:
        return _("Please paste the rows, or choose a file.")

    def read_text(self, text: str) -> None:
        self.given = text
