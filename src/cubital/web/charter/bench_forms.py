"""Which months the bench counts, whose sets, and which two definitions are compared."""

from __future__ import annotations

from typing import Any

from django import forms

from cubital.answers.bench import MAIN_KEYS
from cubital.domain.words import _, month_words
from cubital.web.charter.bench import Span
from cubital.web.plain_forms import PlainForm


class SpanForm(PlainForm):
    """Months and people. Empty means all months."""

    from_month = forms.ChoiceField(required=False)
    to_month = forms.ChoiceField(required=False)
    people = forms.ChoiceField(required=False)

    def __init__(self, *args: Any, months: tuple[str, ...], **kwargs: Any) -> None:
        self.months = months
        super().__init__(*args, **kwargs)

    def say(self) -> None:
        named = [(month, month_words(month, with_year=True)) for month in self.months]
        for name, words, everything in (
            ("from_month", _("From"), _("the first month")),
            ("to_month", _("To"), _("the last month")),
        ):
            self.fields[name].choices = [("", everything), *named]  # type: ignore[attr-defined]
            self.fields[name].label = words
            self.fields[name].error_messages["invalid_choice"] = _("There are no sets in that month.")
        self.fields["people"].choices = [  # type: ignore[attr-defined]
            ("adults", _("Adults, in every definition")),
            ("published", _("As each definition was published")),
        ]
        self.fields["people"].error_messages["invalid_choice"] = _("Please choose one of the two.")
        self.name_field("people", _("Whose sets"))

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        first, last = cleaned.get("from_month"), cleaned.get("to_month")
        if first and last and first > last:
            self.add_error("to_month", _("The last month is before the first one."))
        return cleaned

    def span(self) -> Span:
        """What was chosen."""
        chosen = self.cleaned_data
        return Span(
            from_month=chosen["from_month"] or None,
            to_month=chosen["to_month"] or None,
            adults=chosen["people"] != "published",
        )


class PairForm(PlainForm):
    """Two definitions to compare set by set. The published ones beyond the main four are compared with the first."""

    first = forms.ChoiceField()
    second = forms.ChoiceField()

    def __init__(self, *args: Any, names: list[tuple[str, str]], **kwargs: Any) -> None:
        self.names = names
        super().__init__(*args, **kwargs)

    def say(self) -> None:
        self.fields["first"].choices = [pair for pair in self.names if pair[0] in MAIN_KEYS]  # type: ignore[attr-defined]
        self.fields["second"].choices = self.names  # type: ignore[attr-defined]
        for name in ("first", "second"):
            self.fields[name].error_messages["invalid_choice"] = _("Please choose a definition from the list.")
        self.name_field("first", _("This definition"))
        self.name_field("second", _("against this one"))

    def missing_words(self) -> dict[str, str]:
        words = _("Please choose a definition.")
        return {"first": words, "second": words}

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        first, second = cleaned.get("first"), cleaned.get("second")
        if first and first == second:
            self.add_error("second", _("Please choose two different definitions."))
        elif first and second and second not in MAIN_KEYS and first != MAIN_KEYS[0]:
            self.add_error("first", _("A published definition beyond the first four is compared with definition A."))
        return cleaned
