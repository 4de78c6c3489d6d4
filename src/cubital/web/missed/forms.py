"""What is asked about missed infections: infections found, blood drawn, single sets; empty is looked up."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from django import forms

from cubital.bedside.fill import TareKind
from cubital.domain.words import _
from cubital.web.bedside.forms import WeighForm
from cubital.web.plain_forms import PlainForm
from cubital.workspace.missed import SINGLE_SETS, VOLUME, MissedAsk
from cubital.workspace.missed_gathering import PlaceAsk

_MONTH = r"^\d{4}-(0[1-9]|1[0-2])$"


class PlaceForm(PlainForm):
    """Where and when; everything may be left out."""

    facility = forms.CharField(required=False, max_length=120)
    unit = forms.CharField(required=False, max_length=120)
    from_month = forms.RegexField(_MONTH, required=False)
    to_month = forms.RegexField(_MONTH, required=False)

    def say(self) -> None:
        super().say()
        self.name_field("facility", _("Hospital"), _("Left empty: all of them."))
        self.name_field("unit", _("Unit"), _("Left empty: all of them."))
        self.name_field("from_month", _("First month"), _("Left empty: the last twelve months. Written 2026-03."))
        self.name_field("to_month", _("Last month"), _("Left empty: the last month there is."))
        for name in ("from_month", "to_month"):
            self.fields[name].error_messages["invalid"] = _("Please write the month as 2026-03.")

    def place(self) -> PlaceAsk:
        """What was asked for; the form must be valid."""
        names = ("facility", "unit", "from_month", "to_month")
        return PlaceAsk(**{name: self.cleaned_data[name] or None for name in names})


class MissedForm(PlaceForm, WeighForm):
    """Which question, the numbers that are known, and a weigh-in sheet or a mean."""

    question = forms.ChoiceField(required=False)
    sheet = forms.FileField(required=False)
    tare = forms.ChoiceField(required=False)
    found = forms.IntegerField(required=False, min_value=0, max_value=1_000_000)
    mean_ml = forms.FloatField(required=False, min_value=0.1, max_value=500)
    target_ml = forms.FloatField(required=False, min_value=0.1, max_value=500)
    single_share = forms.FloatField(required=False, min_value=0, max_value=100)
    positive_share = forms.FloatField(required=False, min_value=0.1, max_value=99.9)

    def say(self) -> None:
        super().say()
        chooser = self.fields["question"]
        assert isinstance(chooser, forms.ChoiceField)  # noqa: S101 -- declared above
        chooser.choices = [(VOLUME, _("because bottles are short")), (SINGLE_SETS, _("because only one set is taken"))]
        self.name_field("question", _("Missed"))
        self.name_field("found", _("Infections found a year"), _("Adults. Left empty: counted from your files."))
        self.name_field("mean_ml", _("Mean mL of an episode"), _("All bottles of an episode together."))
        self.name_field("target_ml", _("mL wanted for an episode"), _("Left empty: what policy asks; never above it."))
        self.name_field(
            "single_share", _("Episodes with a single set, %"), _("Left empty: counted from your files.")
        )  # fmt: skip
        self.name_field("positive_share", _("Positive episodes, %"), _("Left empty: your own, or 9."))
        self.name_field("sheet", _("Weigh-in sheet"), _("Columns: accession, bottle, gross g and, if weighed, tare g."))
        self._numbers()

    def _numbers(self) -> None:
        words = {
            "found": _("Please write a whole number of infections."),
            "mean_ml": _("Please write millilitres from 0.1 to 500 with a point, such as 22.4."),
            "target_ml": _("Please write millilitres from 0.1 to 500 with a point, such as 22.4."),
            "single_share": _("Please write a number from 0 to 100."),
            "positive_share": _("Please write a number between 0 and 100."),
        }
        for name, sentence in words.items():
            self.fields[name].widget = forms.TextInput(attrs={"inputmode": "decimal", "size": "8"})
            for code in ("invalid", "min_value", "max_value"):
                self.fields[name].error_messages[code] = sentence

    def missing_words(self) -> dict[str, str]:
        return {}

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        if cleaned.get("sheet") and cleaned.get("mean_ml") is not None:
            raise forms.ValidationError(_("Please give one of the two: a mean or a weigh-in sheet."))
        return cleaned

    def ask(self, weights: Path | None) -> MissedAsk:
        """What was said; the form must be valid."""
        said = self.cleaned_data
        return MissedAsk(
            found=said["found"], mean_ml=said["mean_ml"], target_ml=said["target_ml"],
            single_share=_share(said["single_share"]), positive_share=_share(said["positive_share"]), weights=weights,
            tare=TareKind(said["tare"] or TareKind.LOT), tares=self.tares(),
        )  # fmt: skip

    def needs_files(self) -> bool:
        """Whether something was left empty that only the workspace can say."""
        said = self.cleaned_data
        singles = said["single_share"] is None and (said["question"] == SINGLE_SETS or bool(said.get("sheet")))
        return said["found"] is None or singles


def _share(percent: float | None) -> float | None:
    return None if percent is None else percent / 100
