"""What all forms here share: sentences instead of codes when something is missing."""

from __future__ import annotations

from typing import Any

from django import forms

from cubital.domain.words import _


class PlainForm(forms.Form):
    """A form whose labels, hints and complaints are made per request, so that they speak the request's language.

    ``missing`` gives the sentence for each field that is left empty; ``hints`` what stands under its label.
    """

    missing: dict[str, str]

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        kwargs.setdefault("label_suffix", "")
        super().__init__(*args, **kwargs)
        self.say()
        for name, words in self.missing_words().items():
            self.fields[name].error_messages["required"] = words
        for name in self.fields:
            if isinstance(self.fields[name], forms.DateField):
                self.fields[name].error_messages["invalid"] = _("Please write the day as 2025-11-30.")
                self.fields[name].widget = forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")

    def say(self) -> None:
        """Puts labels, hints and choices in words."""

    def missing_words(self) -> dict[str, str]:
        """The sentence for each field that may not be left empty."""
        return {}

    def name_field(self, name: str, label: str, hint: str = "") -> None:
        """Label and hint of one field."""
        self.fields[name].label = label
        self.fields[name].help_text = hint
