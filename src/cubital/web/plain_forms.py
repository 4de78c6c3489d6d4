"""What all forms here share: sentences instead of codes when something is missing."""

from __future__ import annotations

from datetime import date
from typing import Any

from django import forms

from cubital.domain.errors import FileProblem
from cubital.domain.words import _


class PlainForm(forms.Form):
    """A form whose labels, hints and complaints are made per request, so that they speak the request's language.

    ``missing`` gives the sentence for each field that is left empty; ``hints`` what stands under its label.
    """

    missing: dict[str, str]

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        kwargs.setdefault("label_suffix", "")
        super().__init__(*args, **kwargs)
        for field in self.fields.values():
            if isinstance(field, forms.DateField):
                field.error_messages["invalid"] = _("Please write the day as 2025-11-30.")
                field.widget = forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")
        self.say()  # after the days: a form may hide one of them
        for name, words in self.missing_words().items():
            self.fields[name].error_messages["required"] = words

    def say(self) -> None:
        """Puts labels, hints and choices in words."""

    def missing_words(self) -> dict[str, str]:
        """The sentence for each field that may not be left empty."""
        return {}

    def name_field(self, name: str, label: str, hint: str = "") -> None:
        """Label and hint of one field."""
        self.fields[name].label = label
        self.fields[name].help_text = hint


class SignedForm(PlainForm):
    """A form that somebody signs on a day, ``on``; a day that has not come yet is refused."""

    def clean_on(self) -> date:
        day: date = self.cleaned_data["on"]
        if day > date.today():  # noqa: DTZ011 -- a signature carries the local day
            raise forms.ValidationError(_("This day has not come yet. Please choose today or an earlier day."))
        return day


class TextOrFileForm(PlainForm):
    """A small table as ``text`` in a field or as a ``file``, one of the two. What is wrong stands beside the field.

    ``rows`` shows what such a table may look like, and ``rows_hint`` says a word about it.
    """

    rows = ""

    text = forms.CharField(
        required=False, strip=False, widget=forms.Textarea(attrs={"rows": 10, "spellcheck": "false"})
    )
    file = forms.FileField(required=False, widget=forms.FileInput(attrs={"accept": ".csv,.tsv,.txt,.xlsx,.xls"}))

    def say(self) -> None:
        self.fields["file"].error_messages["empty"] = _("This file is empty.")

    @property
    def rows_hint(self) -> str:
        """A word about the rows; nothing where they speak for themselves."""
        return ""

    def neither_words(self) -> str:
        """What to say where neither was given."""
        raise NotImplementedError

    def read_text(self, text: str) -> None:
        """Keeps what the text holds; raises ``FileProblem`` where it is no such table."""
        raise NotImplementedError

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        text = cleaned.get("text", "").strip()
        if self.errors:
            return cleaned
        if bool(text) == bool(cleaned.get("file")):
            both = _("Please use one of the two: the field or the file.")
            raise forms.ValidationError(both if text else self.neither_words())
        if text:
            try:
                self.read_text(text)
            except FileProblem as problem:
                self.add_error("text", problem.sentence())
        return cleaned
