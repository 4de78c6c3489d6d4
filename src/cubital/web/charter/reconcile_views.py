"""Why does the laboratory's number differ? Their list beside the charter, set by set. Nothing of it is kept."""

from __future__ import annotations

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_http_methods

from cubital.domain.answer import Answer
from cubital.domain.errors import FileProblem, RequestProblem
from cubital.web.answer_words import answer_context
from cubital.web.charter.reconcile_forms import TheirListForm
from cubital.web.desk import the_inbox, the_workspace
from cubital.web.uploading import discard_upload, keep_upload
from cubital.workspace.places import list_places
from cubital.workspace.reconciled_lists import reconciled_answer


@require_http_methods(["GET", "POST"])
def reconcile_list(request: HttpRequest) -> HttpResponse:
    """The form; after it every set that one side counts and the other does not, and why."""
    places = list_places(the_workspace())
    hospitals = tuple(one.name for one in places.facilities)
    if request.method == "GET":
        form = TheirListForm(months=places.months, hospitals=hospitals)
        return render(request, "charter/reconcile.html", {"form": form, "empty": not places.months})
    form = TheirListForm(request.POST, request.FILES, months=places.months, hospitals=hospitals)
    if form.is_valid():
        try:
            context: dict[str, Any] = answer_context(_answer(form))
        except FileProblem as problem:
            form.add_error("file", problem.sentence())
        except RequestProblem as problem:
            form.add_error("month", problem.sentence())
        else:
            return render(request, "charter/reconciled.html", context)
    return render(request, "charter/reconcile.html", {"form": form, "empty": not places.months}, status=400)


def _answer(form: TheirListForm) -> Answer:
    asked = {"from_month": form.cleaned_data["month"], "facility": form.cleaned_data["hospital"] or None}
    if form.text_given:
        return reconciled_answer(the_workspace(), form.text_given, **asked)
    place = keep_upload(form.cleaned_data["file"], the_inbox())
    try:
        return reconciled_answer(the_workspace(), place, **asked)
    finally:
        discard_upload(place)
