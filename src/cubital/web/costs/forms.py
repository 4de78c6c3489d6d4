"""Every input of the model with its range, what it is and where it is from; or a table; and where draws are counted."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from django import forms

from cubital.answers.worth_inputs import COVERED, EACH, OF_MONEY, RATE, RISK, SETS, input_label
from cubital.answers.worth_table import cost_rows, exact_words, read_input_cells
from cubital.answers.worth_tables import kind_words, origin_words
from cubital.domain.costs import CostInput, CostTable, InputKind, Origin
from cubital.domain.words import _
from cubital.web.plain_forms import PlainForm

DRAWS = (SETS, RATE, COVERED, RISK)
PROGRAMME = ("fixed_cost", "price_per_set")
HOURS = ("hours", "days", "wage", "relief")
PARTS = (
    "repeat_sets",
    "repeat_cost",
    "workup",
    "antibiotic_days",
    "antibiotic_cost",
    "bed_days",
    "released",
    "bed_cost",
)
EVERY = (*DRAWS, EACH, *PARTS, *PROGRAMME, *HOURS)
_FILLED = ("low", "likely", "high", "source", "given_by")
_KINDS = (InputKind.COST, InputKind.PRICE, InputKind.WAGE, InputKind.CHARGE)


class InputForm(PlainForm):
    """One input; left empty it does not count."""

    low = forms.CharField(required=False, max_length=30)
    likely = forms.CharField(required=False, max_length=30)
    high = forms.CharField(required=False, max_length=30)
    kind = forms.ChoiceField(required=False)
    origin = forms.ChoiceField(required=False)
    source = forms.CharField(required=False, max_length=200)
    given_by = forms.CharField(required=False, max_length=120)

    def __init__(self, key: str, *args: Any, **kwargs: Any) -> None:
        self.key = key
        self.found: CostInput | None = None
        super().__init__(*args, **kwargs)

    def say(self) -> None:
        for name, words in (("low", _("Low")), ("likely", _("Likely")), ("high", _("High")), ("kind", _("Kind")),
                            ("origin", _("From")), ("source", _("Source")), ("given_by", _("Given by"))):  # fmt: skip
            self.name_field(name, words)
        for name in ("low", "likely", "high"):
            self.fields[name].widget.attrs["inputmode"] = "decimal"
        kinds, origins = self.fields["kind"], self.fields["origin"]
        kinds.choices = [(kind.value, kind_words(kind)) for kind in _KINDS]  # type: ignore[attr-defined]
        origins.choices = [(one.value, origin_words(one)) for one in Origin]  # type: ignore[attr-defined]
        for field in (kinds, origins):
            field.error_messages["invalid_choice"] = _("Please choose one of the list.")
        if self.key not in OF_MONEY:
            del self.fields["kind"], self.fields["given_by"]

    @property
    def label(self) -> str:
        """The input as a person calls it."""
        return input_label(self.key)

    def is_filled(self) -> bool:
        """Whether anything was written for it."""
        return any(str(self.cleaned_data.get(name, "")).strip() for name in _FILLED)

    def read(self, *, option: str, currency: str, year: str) -> None:
        """Makes the input, or says beside the field what is wrong. The form must be valid."""
        money = self.key in OF_MONEY
        cells = {
            "option": option, "from": self.cleaned_data["origin"] or Origin.LOCAL.value,
            "kind": self.cleaned_data.get("kind", "") if money else "",
            "currency": currency if money else "", "year": year if money else "",
            "given by": self.cleaned_data.get("given_by", ""),
            **{name: " ".join(self.cleaned_data[name].split()) for name in ("low", "likely", "high", "source")},
        }  # fmt: skip
        self.found, problems = read_input_cells(self.key, cells)
        for words in problems:
            self.add_error("likely", f"{words[:1].upper()}{words[1:]}.")


class AboutForm(PlainForm):
    """What the choice is called, the money, and where draws are counted from; or the whole as a table."""

    option = forms.CharField(required=False, max_length=60)
    currency = forms.CharField(required=False, max_length=3)
    year = forms.CharField(required=False, max_length=4)
    counted = forms.BooleanField(required=False)
    facility = forms.CharField(required=False, max_length=120)
    unit = forms.CharField(required=False, max_length=120)
    from_month = forms.RegexField(r"^\d{4}-(0[1-9]|1[0-2])$", required=False)
    to_month = forms.RegexField(r"^\d{4}-(0[1-9]|1[0-2])$", required=False)
    first_hour = forms.IntegerField(required=False, min_value=0, max_value=23)
    end_hour = forms.IntegerField(required=False, min_value=0, max_value=24)
    text = forms.CharField(
        required=False, strip=False, widget=forms.Textarea(attrs={"rows": 8, "spellcheck": "false", "wrap": "off"})
    )
    file = forms.FileField(required=False, widget=forms.FileInput(attrs={"accept": ".csv,.tsv,.txt,.xlsx,.xls"}))

    def say(self) -> None:
        names = {
            "option": (_("What is it?"), _("As in a sentence: the collection shift, the kit.")),
            "currency": (_("Currency"), _("Three letters: USD.")), "year": (_("Year of the prices"), ""),
            "counted": (_("Take sets and contaminated share from the stored cultures"), ""),
            "facility": (_("Hospital"), _("Left empty: all of them.")),
            "unit": (_("Unit"), _("Left empty: all of them.")),
            "from_month": (_("First month"), _("Left empty: the last twelve months. Written 2026-03.")),
            "to_month": (_("Last month"), _("Left empty: the last month there is.")),
            "first_hour": (_("First hour it would cover"), _("Both hours left empty: the share you write above.")),
            "end_hour": (_("Hour in which it ends"), ""),
            "text": (_("Paste your table"), _("One row per input, with its headings on top.")),
            "file": (_("Or choose a file with the same columns"), ""),
        }  # fmt: skip
        for name, (label, hint) in names.items():
            self.name_field(name, label, hint)
        for name in ("from_month", "to_month"):
            self.fields[name].error_messages["invalid"] = _("Please write the month as 2026-03.")
        for name, most in (("first_hour", 23), ("end_hour", 24)):
            for code in ("invalid", "min_value", "max_value"):
                words = _("Please write an hour from 0 to {most}.").format(most=most)
                self.fields[name].error_messages[code] = words
        self.fields["file"].error_messages["empty"] = _("This file is empty.")

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        first, end = cleaned.get("first_hour"), cleaned.get("end_hour")
        if (first is None) != (end is None):
            self.add_error("end_hour", _("Please give both hours, or neither."))
        elif first is not None and end is not None and first == end % 24:
            self.add_error("end_hour", _("Please give an hour other than the first."))
        return cleaned

    def hours(self) -> tuple[int, int] | None:
        """The stretch of the day; none where none was given. The form must be valid."""
        first, end = self.cleaned_data["first_hour"], self.cleaned_data["end_hour"]
        return None if first is None else (first, end % 24)


@dataclass(kw_only=True)
class WorthForms:
    """All of it together: ``about``, and a form for every input in its group."""

    about: AboutForm
    inputs: dict[str, InputForm]
    table: CostTable | None = None

    @classmethod
    def empty(cls, table: CostTable | None = None, *, carried: Mapping[str, str] | None = None) -> WorthForms:
        """New forms, filled from a table; one of several choices stands in the field for tables."""
        held = _initials(table) if table and len(table.options) == 1 and not table.index else {}
        return cls(
            about=AboutForm(initial={**_about_initial(table), **(carried or {})}),
            inputs={key: InputForm(key, prefix=key, initial=held.get(key, {})) for key in EVERY},
        )

    @classmethod
    def of(cls, data: Any, files: Any) -> WorthForms:
        """The forms as they were sent."""
        return cls(
            about=AboutForm(data, files),
            inputs={key: InputForm(key, data, prefix=key) for key in EVERY},
        )

    def is_valid(self) -> bool:
        """Whether everything that was written is in order; all is checked, so that all complaints show at once."""
        fine = all([self.about.is_valid(), *(form.is_valid() for form in self.inputs.values())])
        if not fine or self.brings_table():
            return fine
        about = self.about.cleaned_data
        filled = [form for form in self.inputs.values() if form.is_filled()]
        for form in filled:
            form.read(option="" if form.key in (SETS, RATE, EACH, *PARTS) else about["option"].strip(),
                      currency=about["currency"].upper(), year=about["year"])  # fmt: skip
        found = tuple(form.found for form in filled if form.found is not None)
        self.table = CostTable(inputs=found)
        return len(found) == len(filled)

    def brings_table(self) -> bool:
        """Whether a table was pasted or sent instead; ``about`` must be valid."""
        return bool(self.about.cleaned_data["text"].strip() or self.about.cleaned_data["file"])

    @property
    def draws_forms(self) -> list[InputForm]:
        """What is drawn, and what would change."""
        return [self.inputs[key] for key in DRAWS]

    @property
    def each_forms(self) -> list[InputForm]:
        """What one contaminated set costs, whole."""
        return [self.inputs[EACH]]

    @property
    def parts_forms(self) -> list[InputForm]:
        """The same in its parts."""
        return [self.inputs[key] for key in PARTS]

    @property
    def programme_forms(self) -> list[InputForm]:
        """What the programme costs, as a sum or a price."""
        return [self.inputs[key] for key in PROGRAMME]

    @property
    def hours_forms(self) -> list[InputForm]:
        """The same as hours with a wage."""
        return [self.inputs[key] for key in HOURS]

    @property
    def hours_open(self) -> bool:
        """Whether anything stands among the hours, so that it is shown."""
        return _stands(self.hours_forms)

    @property
    def parts_open(self) -> bool:
        """Whether anything stands among the parts."""
        return _stands(self.parts_forms)

    @property
    def wrong(self) -> list[InputForm]:
        """The inputs that something is wrong with."""
        return [form for form in self.inputs.values() if form.errors]


def _stands(forms: list[InputForm]) -> bool:
    return any(form[name].value() for form in forms for name in ("low", "likely", "high"))


def _about_initial(table: CostTable | None) -> dict[str, Any]:
    if table is None:
        return {}
    if len(table.options) > 1 or table.index:
        return {"text": table_text(table)}
    return {"option": table.options[0], "currency": table.currency, "year": table.money_year or ""}


def table_text(table: CostTable) -> str:
    """The table as text with commas, as it can be pasted again."""
    import csv
    import io

    text = io.StringIO()
    csv.writer(text, lineterminator="\n").writerows(cost_rows(table))
    return text.getvalue()


def _initials(table: CostTable) -> dict[str, Mapping[str, Any]]:
    return {
        one.key: {
            "low": "" if one.is_fixed else exact_words(one.low), "likely": exact_words(one.likely),
            "high": "" if one.is_fixed else exact_words(one.high), "kind": one.kind.value, "origin": one.origin.value,
            "source": one.source, "given_by": one.given_by,
        }
        for one in table.inputs
    }  # fmt: skip
