"""One person's own page behind the private one: their sets, their letter, their corrections, what they dispute."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from django.contrib import messages
from django.http import HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import redirect, render
from django.views.decorators.http import require_GET, require_POST

from cubital.answers.person_letter import change_words
from cubital.domain.words import _
from cubital.web.answer_words import table_words
from cubital.web.desk import the_workspace
from cubital.web.downloading import send_made_file
from cubital.web.people.forms import LetterForm
from cubital.web.people.opened import Opened, opened_only
from cubital.web.people.words import clean_of, offer_words, set_words
from cubital.workspace.people import dispute_sets, purpose_name, take_back_disputes
from cubital.workspace.people_gathering import gather_people
from cubital.workspace.people_letters import (
    LetterStyle,
    corrections_due,
    letter_words,
    make_correction,
    make_letter,
    person_history,
)


@require_GET
@opened_only
def person(request: HttpRequest, opened: Opened, key: str) -> HttpResponse:
    """Everything counted as one person's, and the words of their letter."""
    workspace = the_workspace()
    material = gather_people(workspace, opened.window, persons=(key,))
    draws = material.draws_of(key)
    reading = next((one for one in material.reading.people if one.count.key == key), None)
    due = next((one for one in corrections_due(workspace) if one.key == key), None)
    context = {
        "opened": opened, "purpose": purpose_name(opened.purpose), "key": key, "name": opened.name(key),
        "role": material.roles.get(key, ""), "period": material.period.words(),
        "clean": clean_of(draws.count.clean, draws.count.draws), "parts": letter_words(material, key),
        "offer": offer_words(reading) if reading else "", "sets": [set_words(one) for one in draws.sets],
        "history": person_history(workspace, key), "form": LetterForm(),
        "changes": [change_words(change) for change in due.changes] if due else [],
    }  # fmt: skip
    return render(request, "people/person.html", context)


@require_POST
@opened_only
def letter(request: HttpRequest, opened: Opened, key: str) -> HttpResponseBase:
    """The letter of this one person as PDF; its record is kept until its day."""

    def make(out: Path, style: LetterStyle) -> object:
        return make_letter(the_workspace(), opened.window, key=key, out=out, style=style)

    return _send(request, opened, key, name="letter", make=make)


@require_POST
@opened_only
def correction(request: HttpRequest, opened: Opened, key: str) -> HttpResponseBase:
    """The correction of their last letter as PDF."""

    def make(out: Path, style: LetterStyle) -> object:
        return make_correction(the_workspace(), key=key, out=out, style=style)

    return _send(request, opened, key, name="correction", make=make)


@require_POST
@opened_only
def dispute(request: HttpRequest, opened: Opened, key: str) -> HttpResponse:
    """Notes which sets were not theirs, and shows old and new figures."""
    accessions = request.POST.getlist("set")
    if not accessions:
        messages.error(request, _("Please choose at least one set."))
        return redirect("people-person", key=key)
    answer = dispute_sets(the_workspace(), opened.window, key=key, accessions=accessions)
    columns = answer.table.columns if answer.table else ()
    context = {
        "opened": opened, "purpose": purpose_name(opened.purpose), "key": key, "name": opened.name(key),
        "answer": answer, "rows": table_words(answer.table) if answer.table else [],
        "numeric": [(heading, place > 0) for place, heading in enumerate(columns)],
    }  # fmt: skip
    return render(request, "people/dispute.html", context)


@require_POST
@opened_only
def take_back(request: HttpRequest, _opened: Opened, key: str) -> HttpResponse:
    """Takes every dispute of this person back."""
    count = take_back_disputes(the_workspace(), key=key)
    messages.success(request, _("{count} disputes taken back.").format(count=count))
    return redirect("people-person", key=key)


def _send(
    request: HttpRequest, opened: Opened, key: str, *, name: str, make: Callable[[Path, LetterStyle], object]
) -> HttpResponseBase:
    form = LetterForm(request.POST)
    if not form.is_valid():
        for sentences in form.errors.values():
            messages.error(request, " ".join(map(str, sentences)))
        return redirect("people-person", key=key)
    entered = form.cleaned_data
    style = LetterStyle(name=opened.names.get(key, ""), contact=entered["contact"], paper=entered["paper"])
    return send_made_file(f"{name}-{key}.pdf", lambda out: make(out, style))
