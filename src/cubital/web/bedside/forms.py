"""Forms of the page *Bedside*: which label, and a policy brought as a file."""

from __future__ import annotations

from typing import Any

from django import forms

from cubital.domain.collection import CollectionPolicy
from cubital.domain.words import _
from cubital.web.plain_forms import PlainForm


class LabelForm(PlainForm):
    """Bottle, label size, and what the barcode holds."""

    bottle = forms.ChoiceField()
    long_mm = forms.FloatField(min_value=1, max_value=500)
    short_mm = forms.FloatField(min_value=1, max_value=500)
    accession = forms.CharField(max_length=40)

    def __init__(self, policy: CollectionPolicy, data: Any = None) -> None:
        self.policy = policy
        initial = {
            "long_mm": f"{policy.label.width_mm.value:g}",
            "short_mm": f"{policy.label.height_mm.value:g}",
            "accession": "0123456789",
        }
        super().__init__(data, initial=initial)

    def say(self) -> None:
        self.name_field("bottle", _("Bottle"))
        self.name_field("long_mm", _("Long side of the label, mm"))
        self.name_field("short_mm", _("Short side of the label, mm"))
        self.name_field(
            "accession", _("What the barcode holds"), _("As many characters as your accession numbers have.")
        )
        chooser = self.fields["bottle"]
        assert isinstance(chooser, forms.ChoiceField)  # noqa: S101 -- declared above
        chooser.choices = [(bottle.key, bottle.name) for bottle in self.policy.bottles]
        for name in ("long_mm", "short_mm"):
            self.fields[name].widget = forms.TextInput(attrs={"inputmode": "decimal", "size": "6"})
            self.fields[name].error_messages["invalid"] = _("Please write a number of millimetres, such as 50.")

    def missing_words(self) -> dict[str, str]:
        return {
            "bottle": _("Please choose a bottle."),
            "long_mm": _("Please write the label's long side in millimetres."),
            "short_mm": _("Please write the label's short side in millimetres."),
            "accession": _("Please write an accession number, such as 0123456789."),
        }


class PolicyFileForm(PlainForm):
    """A policy on collecting as a TOML file."""

    file = forms.FileField()

    def say(self) -> None:
        self.name_field("file", _("Policy file"), _("Save the present one first to see how such a file looks."))

    def missing_words(self) -> dict[str, str]:
        return {"file": _("Please choose the policy's file.")}


class WeighForm(PlainForm):
    """A weigh-in sheet, where its tares come from, and the empty weights of the lot if the sheet has none."""

    sheet = forms.FileField()
    asked = forms.ChoiceField(required=False)
    tare = forms.ChoiceField()
    tare_aerobic = forms.FloatField(required=False, min_value=1, max_value=1000)
    tare_anaerobic = forms.FloatField(required=False, min_value=1, max_value=1000)

    def say(self) -> None:
        self.name_field("sheet", _("Weigh-in sheet"), _("Columns: accession, bottle, gross g and, if weighed, tare g."))
        self.name_field("asked", _("Say"))
        self.name_field("tare", _("Empty weights were taken"))
        self.name_field("tare_aerobic", _("Empty aerobic bottle of the lot, g"))
        self.name_field("tare_anaerobic", _("Empty anaerobic bottle of the lot, g"))
        wanted = self.fields["asked"]
        assert isinstance(wanted, forms.ChoiceField)  # noqa: S101 -- declared above
        wanted.choices = [
            ("fill", _("how full the bottles are")), ("split", _("whether they are short or split badly")),
            ("overfill", _("whether they are overfilled")),
        ]  # fmt: skip
        chooser = self.fields["tare"]
        assert isinstance(chooser, forms.ChoiceField)  # noqa: S101 -- declared above
        chooser.choices = [
            ("lot", _("once for each lot")), ("bottle", _("from this very bottle")),
            ("catalogue", _("from a catalogue")),
        ]  # fmt: skip
        for name in ("tare_aerobic", "tare_anaerobic"):
            self.fields[name].widget = forms.TextInput(attrs={"inputmode": "decimal", "size": "6"})
            self.fields[name].error_messages["invalid"] = _("Please write a weight in grams, such as 62.4.")

    def missing_words(self) -> dict[str, str]:
        return {"sheet": _("Please choose the sheet."), "tare": _("Please say where the empty weights come from.")}

    def tares(self) -> dict[str, float]:
        """Grams by kind of bottle, for those that were given."""
        given = {"aerobic": self.cleaned_data["tare_aerobic"], "anaerobic": self.cleaned_data["tare_anaerobic"]}
        return {kind: grams for kind, grams in given.items() if grams is not None}
