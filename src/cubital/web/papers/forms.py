"""What a pack is about and asks; what the meeting decided; an action and what became of it."""

from __future__ import annotations

from typing import Any

from django import forms

from cubital.answers.owner_words import owner_advice
from cubital.domain.actions import StepKind
from cubital.domain.words import _
from cubital.papers.minute_page import Outcome
from cubital.web.plain_forms import PlainForm, SignedForm
from cubital.workspace.actions import MOST_LETTERS

Choices = list[tuple[str, Any]]


class PackForm(PlainForm):
    """Which months of which hospital, the one thing asked, and a line of the educator's own."""

    from_month = forms.ChoiceField()
    to_month = forms.ChoiceField()
    facility = forms.ChoiceField(required=False)
    ask = forms.CharField(required=False, max_length=MOST_LETTERS)
    message = forms.CharField(required=False, max_length=MOST_LETTERS)

    def __init__(self, *args: Any, months: Choices, facilities: Choices, **kwargs: Any) -> None:
        self.months, self.facilities = months, facilities
        super().__init__(*args, **kwargs)

    def say(self) -> None:
        for name, choices in (
            ("from_month", self.months), ("to_month", self.months), ("facility", self.facilities),
        ):  # fmt: skip
            self.fields[name].choices = choices  # type: ignore[attr-defined]
            self.fields[name].error_messages["invalid_choice"] = _("Please choose one from the list.")
        self.name_field("from_month", _("First month"))
        self.name_field("to_month", _("Last month"), _("Three months are a quarter; at most twelve."))
        self.name_field("facility", _("Hospital"))
        self.name_field(
            "ask",
            _("What the committee is asked to decide"),
            _("One thing, without names of people. Left empty: what follows from the figures."),
        )
        self.name_field(
            "message", _("A line of your own"), _("Stands under the sentence. Without names of people.")
        )  # fmt: skip
        for name in ("ask", "message"):
            self.fields[name].error_messages["max_length"] = _("Please use at most {most} letters.").format(
                most=MOST_LETTERS
            )

    def missing_words(self) -> dict[str, str]:
        return {"from_month": _("Please choose a month."), "to_month": _("Please choose a month.")}


class MinuteForm(PlainForm):
    """What became of the ask, in which words, on which day."""

    decision = forms.ChoiceField(required=False)
    wording = forms.CharField(required=False, max_length=MOST_LETTERS)
    on = forms.DateField()
    kind = forms.ChoiceField(required=False)

    def say(self) -> None:
        outcomes = {
            Outcome.AGREED: _("agreed as asked"), Outcome.CHANGED: _("agreed with changes"),
            Outcome.NOT_AGREED: _("not agreed"), Outcome.LATER: _("put off"), Outcome.OPEN: _("left open, for a pen"),
        }  # fmt: skip
        kinds = [("pdf", _("one page (PDF)")), ("txt", _("plain text"))]
        for name, choices in (("decision", [(one.value, words) for one, words in outcomes.items()]), ("kind", kinds)):
            self.fields[name].choices = choices  # type: ignore[attr-defined]
            self.fields[name].error_messages["invalid_choice"] = _("Please choose one from the list.")
        self.name_field("decision", _("What was decided"))
        self.name_field("wording", _("In which words, where they were changed"), _("Without names of people."))
        self.name_field("on", _("Day of the meeting"))
        self.name_field("kind", _("As"))

    def missing_words(self) -> dict[str, str]:
        return {"on": _("Please give the day of the meeting.")}


class ActionForm(PlainForm):
    """What is to be done, by which role, by when, where and why."""

    words = forms.CharField(max_length=MOST_LETTERS)
    owner = forms.CharField(max_length=120)
    due_on = forms.DateField()
    place = forms.ChoiceField(required=False)
    because = forms.CharField(required=False, max_length=MOST_LETTERS)

    def __init__(self, *args: Any, places: Choices, **kwargs: Any) -> None:
        self.places = places
        super().__init__(*args, **kwargs)

    def say(self) -> None:
        self.fields["place"].choices = self.places  # type: ignore[attr-defined]
        self.fields["place"].error_messages["invalid_choice"] = _("Please choose one from the list.")
        self.name_field("words", _("What is to be done"), _("In one sentence, without names of people."))
        self.name_field("owner", _("Which role answers for it"), owner_advice())
        self.name_field("due_on", _("Due on"))
        self.name_field("place", _("Where"))
        self.name_field("because", _("Why it was decided"), _("May be left empty."))

    def missing_words(self) -> dict[str, str]:
        return {
            "words": _("Please say what is to be done."),
            "owner": _("Please name the role that answers for it."),
            "due_on": _("Please give the day by which it is due."),
        }


class StepForm(SignedForm):
    """What happened to an action. What may be left empty depends on what happened; the log says so."""

    what = forms.ChoiceField()
    words = forms.CharField(required=False, max_length=MOST_LETTERS)
    due_on = forms.DateField(required=False)
    owner = forms.CharField(required=False, max_length=120)
    on = forms.DateField()

    def __init__(self, *args: Any, is_open: bool, **kwargs: Any) -> None:
        self.is_open = is_open
        super().__init__(*args, **kwargs)

    def say(self) -> None:
        words = {
            StepKind.NOTED: _("a remark"), StepKind.MOVED: _("another day or another owner"),
            StepKind.DONE: _("it is done"), StepKind.DROPPED: _("it is dropped"),
            StepKind.REOPENED: _("it is opened again"),
        }  # fmt: skip
        kinds = [kind for kind in words if (kind is StepKind.REOPENED) is not self.is_open]
        self.fields["what"].choices = [(kind.value, words[kind]) for kind in kinds]  # type: ignore[attr-defined]
        self.fields["what"].error_messages["invalid_choice"] = _("Please choose one from the list.")
        self.name_field("what", _("What happened"))
        self.name_field("words", _("In words"), _("Needed for a remark, to drop, and to open again. Without names."))
        self.name_field("due_on", _("New day"), _("Only where it moves."))
        self.name_field("owner", _("New role"), _("Only where another role takes it over."))
        self.name_field("on", _("Day on which it happened"))

    def missing_words(self) -> dict[str, str]:
        return {"what": _("Please choose what happened."), "on": _("Please give the day.")}
