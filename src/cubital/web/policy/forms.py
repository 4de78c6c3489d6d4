"""The local policy as a form: each value with the place it comes from and whose it is; and the form to approve it."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from typing import Any

from django import forms

from cubital.domain.policy import Policy, PolicyValue
from cubital.domain.words import _
from cubital.web.plain_forms import PlainForm
from cubital.web.policy.words import shown_unit, shown_value, stored_value


class ValueForm(PlainForm):
    """One value of the policy."""

    value = forms.FloatField()
    source = forms.CharField(max_length=300)
    owner = forms.CharField(max_length=120)

    def say(self) -> None:
        self.name_field("value", _("Value"))
        self.name_field("source", _("Where the number comes from"))
        self.name_field("owner", _("Who may change it"))
        number = self.fields["value"]
        number.error_messages["invalid"] = _("Please write a number, such as 3 or 2.5.")
        number.widget = forms.TextInput(attrs={"inputmode": "decimal", "size": "6"})

    def missing_words(self) -> dict[str, str]:
        return {
            "value": _("Please write a number; a value cannot be left empty."),
            "source": _("Please say where this number comes from, such as the name of a local procedure."),
            "owner": _("Please say who may change this value, such as the laboratory."),
        }


class NameForm(PlainForm):
    """What the policy is called."""

    name = forms.CharField(max_length=120)

    def say(self) -> None:
        self.name_field("name", _("Name of the policy"), _("As it stands under every answer that uses it."))

    def missing_words(self) -> dict[str, str]:
        return {"name": _("Please give the policy a name.")}


class PolicyForms:
    """The name and one ``ValueForm`` for each value of a policy, read and checked together."""

    def __init__(self, policy: Policy, data: Any = None) -> None:
        self.policy = policy
        self.title = NameForm(data, initial={"name": policy.name}, prefix="policy")
        self.entries = [(value, shown_unit(value.unit), self._form(value, data)) for value in policy.values]

    def is_valid(self) -> bool:
        """Whether everything is in order; all is checked, so that all complaints show at once."""
        return all([self.title.is_valid(), *(form.is_valid() for _value, _unit, form in self.entries)])

    def build(self) -> Policy:
        """A draft with the values of the forms: nobody has approved it yet."""
        values = tuple(
            replace(
                value,
                value=stored_value(form.cleaned_data["value"], value.unit),
                source=form.cleaned_data["source"],
                owner=form.cleaned_data["owner"],
            )
            for value, _unit, form in self.entries
        )
        name = self.title.cleaned_data["name"]
        return replace(self.policy, name=name, values=values, approved_by="", approved_on=None, review_by=None)

    @staticmethod
    def _form(value: PolicyValue, data: Any) -> ValueForm:
        start = {"value": shown_value(value.value, value.unit), "source": value.source, "owner": value.owner}
        return ValueForm(data, initial=start, prefix=value.key)


class ApproveForm(PlainForm):
    """Who approves the draft, on which day, and by when it is looked at again."""

    name = forms.CharField(max_length=120)
    on = forms.DateField()
    review_by = forms.DateField()

    def say(self) -> None:
        self.name_field("name", _("Approved by"), _("Name and role, such as the chair of the committee."))
        self.name_field("on", _("Approved on"))
        self.name_field("review_by", _("Looked at again by"), _("From the day after, the policy is out of date."))

    def missing_words(self) -> dict[str, str]:
        return {
            "name": _("Please write who approves."),
            "on": _("Please choose the day of approval."),
            "review_by": _("Please choose the day by which the policy is looked at again."),
        }

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        on, review_by = cleaned.get("on"), cleaned.get("review_by")
        if on and on > date.today():  # noqa: DTZ011 -- an approval carries the local day
            self.add_error("on", _("This day has not come yet. Please choose today or an earlier day."))
        if on and review_by and review_by <= on:
            self.add_error("review_by", _("The review has to be after the approval."))
        return cleaned
