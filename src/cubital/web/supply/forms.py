"""A stock list with its tiers, and what is asked about shifts."""

from __future__ import annotations

from typing import Any

from django import forms

from cubital.answers.cover_reading import CoverAsk
from cubital.answers.stock_table import parse_stock, parse_tiers, stock_columns, tier_columns
from cubital.domain.errors import FileProblem
from cubital.domain.words import _
from cubital.web.plain_forms import TextOrFileForm
from cubital.web.steps.forms import PlaceForm
from cubital.workspace.small_tables import read_rows


class StockForm(TextOrFileForm):
    """The list as text or as a file; tiers as text, if there are any."""

    tiers = forms.CharField(
        required=False, strip=False, widget=forms.Textarea(attrs={"rows": 5, "spellcheck": "false"})
    )
    on = forms.DateField(required=False)
    detected = forms.IntegerField(required=False, min_value=0, max_value=100_000)

    rows = (
        "item,day,used,counted,delivery\naerobic,2026-03-27,29,,\naerobic,2026-03-28,30,600,\naerobic,2026-04-20,,,600"
    )

    @property
    def rows_hint(self) -> str:
        return _("Counted is what was there at the end of that day. Two weeks of use are needed.")

    def say(self) -> None:
        super().say()
        self.name_field(
            "text", _("Paste your stock list"), _("One row per item and day: item, day, used, counted, delivery.")
        )
        self.name_field("file", _("Or choose a file with the same columns"))
        self.name_field(
            "tiers", _("The tiers of a shortage, if there are any"),
            _("One row each, with the clinical owner and the days of approval and review."),
        )  # fmt: skip
        self.name_field("on", _("Last day that is over"), _("Left empty: the last day of the list."))
        self.name_field("detected", _("Infections found in a year"), _("For what a tier may cost; may be left out."))
        for code in ("invalid", "min_value", "max_value"):
            self.fields["detected"].error_messages[code] = _("Please write a whole number of zero or more.")

    def neither_words(self) -> str:
        return _("Please paste your stock list, or choose a file.")

    def read_text(self, text: str) -> None:
        name, rows = read_rows(text, advice=stock_columns().advice, pasted=_("the stock list"))
        parse_stock(rows, where=name)

    def clean_tiers(self) -> str:
        text: str = self.cleaned_data["tiers"].strip()
        if text:
            try:
                name, rows = read_rows(text, advice=tier_columns().advice, pasted=_("the list of tiers"))
                parse_tiers(rows, where=name)
            except FileProblem as problem:
                raise forms.ValidationError(problem.sentence()) from None
        return text


class CoverForm(PlaceForm):
    """Shifts, hours, collectors, minutes for a set, and the relative risk when they draw."""

    shifts = forms.IntegerField(required=False, min_value=1, max_value=168, initial=7)
    length = forms.IntegerField(required=False, min_value=1, max_value=24, initial=12)
    collectors = forms.IntegerField(required=False, min_value=1, max_value=20, initial=1)
    minutes = forms.IntegerField(required=False, min_value=1, max_value=120, initial=15)
    low = forms.FloatField(required=False)
    likely = forms.FloatField(required=False)
    high = forms.FloatField(required=False)

    def say(self) -> None:
        super().say()
        self.name_field("shifts", _("Shifts a week"), _("7 where left empty."))
        self.name_field("length", _("Hours of a shift"), _("12 where left empty."))
        self.name_field("collectors", _("Collectors in a shift"), _("1 where left empty."))
        self.name_field("minutes", _("Minutes a set takes"), _("15 where left empty."))
        self.name_field(
            "low", _("Relative risk when they draw, lowest"),
            _("0.33: where 100 sets are contaminated today, 33 would be. All three or none."),
        )  # fmt: skip
        self.name_field("likely", _("Relative risk, most likely"))
        self.name_field("high", _("Relative risk, highest"))
        for name, most in (("shifts", 168), ("length", 24), ("collectors", 20), ("minutes", 120)):
            words = _("Please write a whole number from 1 to {most}.").format(most=most)
            for code in ("invalid", "min_value", "max_value"):
                self.fields[name].error_messages[code] = words
        for name in ("low", "likely", "high"):
            self.fields[name].error_messages["invalid"] = _("Please write a number such as 0.41.")

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        given = [cleaned.get(name) is not None for name in ("low", "likely", "high")]
        if not self.errors and any(given) and not all(given):
            self.add_error("low", _("Please give all three relative risks, or none."))
        return cleaned

    def cover(self) -> CoverAsk:
        """What was asked for; the form must be valid."""
        entered = self.cleaned_data
        risk = (entered["low"], entered["likely"], entered["high"]) if entered["low"] is not None else None
        return CoverAsk(
            shifts=entered["shifts"] or 7, length=entered["length"] or 12, collectors=entered["collectors"] or 1,
            minutes_per_set=float(entered["minutes"] or 15), risk=risk,
        )  # fmt: skip
