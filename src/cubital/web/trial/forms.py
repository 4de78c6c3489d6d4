"""What a trial is planned with, and what people agree on before it is sealed."""

from __future__ import annotations

import re
from typing import Any

from django import forms

from cubital.domain.trial import TrialDesign
from cubital.domain.words import _
from cubital.web.plain_forms import PlainForm
from cubital.workspace.trial_drafts import TrialWords
from cubital.workspace.trial_planning import TrialRequest

PLANNING = ("facility", "units", "start", "weeks", "baseline", "expected", "design", "seed")
LOOKS = {"1": (1.0,), "2": (0.5, 1.0), "3": (1 / 3, 2 / 3, 1.0)}


class PercentField(forms.CharField):
    """A percentage such as 4.2 or 4,2, as a share; none where it is left empty."""

    def clean(self, value: Any) -> float | None:
        text = str(super().clean(value) or "").strip().removesuffix("%").strip().replace(",", ".")
        if not text:
            return None
        if not re.fullmatch(r"\d{1,3}(\.\d{1,4})?", text):
            raise forms.ValidationError(_("Please write a percentage such as 4.2."))
        return float(text) / 100


class PlanForm(PlainForm):
    """Where, from when, and what is hoped for; everything else is found where it is left empty."""

    facility = forms.CharField(required=False, max_length=120)
    units = forms.CharField(required=False, max_length=600)
    start = forms.DateField()
    weeks = forms.IntegerField(required=False, min_value=2, max_value=156)
    baseline = PercentField(required=False, max_length=12)
    expected = PercentField(max_length=12)
    design = forms.ChoiceField(required=False)
    looks = forms.ChoiceField(required=False)
    seed = forms.IntegerField(required=False, min_value=0, max_value=999_999_999)

    def say(self) -> None:
        self.name_field("facility", _("Hospital"), _("Left empty: all of them."))
        self.name_field("units", _("Units that take part"), _("Several with commas between. Left empty: all of them."))
        self.name_field("start", _("First day"), _("Best a Monday, after the last file."))
        self.name_field("weeks", _("Weeks"), _("Left empty: as many as it takes."))
        self.name_field("baseline", _("Contaminated now, per cent"), _("Left empty: the last twelve months."))
        self.name_field("expected", _("What is hoped for, per cent"), _("The rate that would make it worth the money."))
        self.name_field("design", _("How"))
        self.name_field("looks", _("How often to look"))
        self.name_field("seed", _("Number to draw the lot with"), _("Left empty: one is found, and shown."))
        self._choices("design", {
            TrialDesign.WEEKS.value: _("each unit in turn, by week"),
            TrialDesign.DAYS.value: _("each unit in turn, by day"),
            TrialDesign.PARALLEL.value: _("half of the units"),
            TrialDesign.STEPPED.value: _("one unit after the other"),
        })  # fmt: skip
        self._choices("looks", {"2": _("twice: at half, and at the end"), "1": _("once, at the end"),
                                "3": _("three times")})  # fmt: skip
        for name, words in (("weeks", _("Please write a whole number of weeks from 2 to 156.")),
                            ("seed", _("Please write a whole number."))):  # fmt: skip
            for code in ("invalid", "min_value", "max_value"):
                self.fields[name].error_messages[code] = words

    def _choices(self, name: str, choices: dict[str, str]) -> None:
        field = self.fields[name]
        field.choices = list(choices.items())  # type: ignore[attr-defined]
        field.error_messages["invalid_choice"] = _("Please choose one of the list.")

    def missing_words(self) -> dict[str, str]:
        return {
            "start": _("Please say on which day it would begin."),
            "expected": _("Please say which rate is hoped for."),
        }

    def ask(self) -> TrialRequest:
        """What was asked for; the form must be valid."""
        held = self.cleaned_data
        return TrialRequest(
            start=held["start"], expected=held["expected"], baseline=held["baseline"],
            facility=held["facility"] or None,
            units=tuple(name.strip() for name in held["units"].split(",") if name.strip()),
            design=TrialDesign(held["design"] or TrialDesign.WEEKS), weeks=held["weeks"], seed=held["seed"],
            looks=LOOKS[held["looks"] or "2"],
        )  # fmt: skip


class SealForm(PlanForm):
    """The same, with the words that only people can give. The planning fields travel hidden."""

    name = forms.CharField(max_length=80)
    new = forms.CharField(max_length=60)
    usual = forms.CharField(required=False, max_length=60)
    question = forms.CharField(required=False, max_length=200)
    meaningful = PercentField(max_length=12)
    decides = forms.CharField(max_length=120)
    settle_days = forms.IntegerField(required=False, min_value=0, max_value=28)
    replaces = forms.IntegerField(required=False, min_value=1)
    by = forms.CharField(max_length=120)
    role = forms.CharField(max_length=120)
    late = forms.BooleanField(required=False)

    def say(self) -> None:
        super().say()
        for name in (*PLANNING, "looks"):
            self.fields[name].widget = forms.HiddenInput()
        self.name_field("name", _("Name of the trial"))
        self.name_field("new", _("What is new"), _("In a word or two: kit."))
        self.name_field("usual", _("What is usual"), _("Left empty: as now."))
        self.name_field("question", _("The question"), _("Left empty: does the new lower contamination?"))
        self.name_field("meaningful", _("The least fall that would be acted on, in points"), _("Such as 1."))
        self.name_field("decides", _("Who decides"), _("By role, such as value analysis."))
        self.name_field("settle_days", _("Days after each change that do not count"), _("Left empty: none."))
        self.name_field("replaces", _("Replaces trial"), _("The number of the trial that this plan changes."))
        self.name_field("by", _("Who answers for the plan"))
        self.name_field("role", _("In which role"))
        self.name_field("late", _("Data of these days are there already: seal it as late, and say so for ever"))
        for name in ("settle_days", "replaces"):
            for code in ("invalid", "min_value", "max_value"):
                self.fields[name].error_messages[code] = _("Please write a whole number.")

    def missing_words(self) -> dict[str, str]:
        return {
            **super().missing_words(),
            "name": _("Please give the trial a name."),
            "new": _("Please say what is new, in a word or two."),
            "meaningful": _("Please say which fall would be acted on."),
            "decides": _("Please say who decides."),
            "by": _("Please say who answers for the plan."),
            "role": _("Please say in which role."),
        }

    def words(self) -> TrialWords:
        """What people agreed on; the form must be valid."""
        held = self.cleaned_data
        return TrialWords(
            name=held["name"], new=held["new"], usual=held["usual"], question=held["question"],
            meaningful=held["meaningful"] or 0.0, decides=held["decides"], settle_days=held["settle_days"] or 0,
            replaces=held["replaces"],
        )  # fmt: skip
