"""Which months, who decides, and the list that the laboratory filled in."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from django import forms

from cubital.answers.doubtful import DoubtfulSet, organisms_words, partners_words
from cubital.answers.doubtful_file import LONGEST_WHY, Saying
from cubital.domain.decisions import Decision
from cubital.domain.words import _, month_words
from cubital.web.plain_forms import PlainForm, SignedForm


class SpanForm(PlainForm):
    """From a month to a month, both included."""

    first = forms.ChoiceField()
    last = forms.ChoiceField()

    def __init__(self, data: Any, *, months: Sequence[str]) -> None:
        self.months = months
        super().__init__(data)

    def say(self) -> None:
        choices = [(month, month_words(month, with_year=True)) for month in reversed(self.months)]
        for name, label in (("first", _("From")), ("last", _("To"))):
            field = self.fields[name]
            assert isinstance(field, forms.ChoiceField)  # noqa: S101 - for the type checker
            field.choices = choices
            field.error_messages["invalid_choice"] = _("Please choose a month that is listed.")
            self.name_field(name, label)

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        if not self.errors and cleaned["last"] < cleaned["first"]:
            self.add_error("last", _("The last month is before the first one."))
        return cleaned


class DeciderForm(SignedForm):
    """Who decides, by initials and role, and on which day."""

    initials = forms.CharField(max_length=12, widget=forms.TextInput(attrs={"autocomplete": "off"}))
    role = forms.CharField(max_length=120)
    on = forms.DateField(initial=date.today)

    def say(self) -> None:
        self.name_field("initials", _("Initials"), _("One to six letters; no name is kept."))
        self.name_field("role", _("In which role"), _("Such as: medical microbiology."))
        self.name_field("on", _("Day"))

    def missing_words(self) -> dict[str, str]:
        return {
            "initials": _("Please write the initials of who decides."),
            "role": _("Please say in which role."),
            "on": _("Please give the day."),
        }


class FilledListForm(DeciderForm):
    """The list as the laboratory sent it back."""

    file = forms.FileField(widget=forms.FileInput(attrs={"accept": ".csv,.tsv,.txt,.xlsx,.xls"}))
    field_order = ("file", "initials", "role", "on")

    def say(self) -> None:
        super().say()
        self.name_field("file", _("The filled list"), _("Rows without a decision still wait."))
        self.fields["file"].error_messages["empty"] = _("This file is empty.")

    def missing_words(self) -> dict[str, str]:
        return {**super().missing_words(), "file": _("Please choose a file.")}


@dataclass(frozen=True, kw_only=True)
class SetToDecide:
    """One doubtful set as the page shows it; ``place`` numbers its fields, ``wrong`` says what is missing in them."""

    place: int
    set: DoubtfulSet
    grew: str
    others: str
    chosen: str = ""
    why: str = ""
    wrong: str = ""


def sets_to_decide(sets: Sequence[DoubtfulSet], posted: Any = None) -> list[SetToDecide]:
    """The sets that wait, with what was entered about each."""
    found = []
    for place, one in enumerate((one for one in sets if one.decision is None), start=1):
        chosen = posted.get(f"decision-{place}", "") if posted else ""
        why = " ".join(posted.get(f"why-{place}", "").split()) if posted else ""
        found.append(SetToDecide(
            place=place, set=one, grew=organisms_words(one.organisms), others=partners_words(one.partners),
            chosen=chosen, why=why, wrong=_missing(chosen, why),
        ))  # fmt: skip
    return found


def _missing(chosen: str, why: str) -> str:
    if chosen and chosen not in list(Decision):
        return _("Please choose one of the decisions.")
    if chosen and not why:
        return _("Please say why, in one sentence.")
    return _("Please say it in fewer words.") if len(why) > LONGEST_WHY else ""


def sayings(decided: Sequence[SetToDecide]) -> list[Saying]:
    """What was decided among them."""
    return [
        Saying(
            facility=one.set.facility, accession=one.set.accession, decision=Decision(one.chosen), why=one.why
        )
        for one in decided
        if one.chosen
    ]  # fmt: skip
