"""The page *This month*: choose a place and a month, read the sentence, take it along."""

from __future__ import annotations

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_GET

from cubital.domain.words import _, month_words
from cubital.web.again.offering import offer_receipt
from cubital.web.answer_words import answer_context
from cubital.web.desk import the_workspace
from cubital.web.month.forms import PlaceForm
from cubital.web.month.places import Asked, month_choices, place_choices, place_key, place_name, read_place, start_place
from cubital.workspace import months
from cubital.workspace.charters import CharterVersion, current_charter
from cubital.workspace.places import Places, last_place, list_places, remember_place
from cubital.workspace.snapshots import last_batch_number


@require_GET
def resume(request: HttpRequest) -> HttpResponse:  # noqa: ARG001 -- every view takes the request
    """The start: where the person left off."""
    return redirect("month")


@require_GET
def show_month(request: HttpRequest) -> HttpResponse:
    """The sentence of a month, its doubts, its company, its picture and its table."""
    workspace = the_workspace()
    places = list_places(workspace)
    if not places.months:
        return render(request, "month/empty.html", {"undated": places.undated_sets})
    form = build_place_form(request, places)
    if not form.is_valid():
        return render(request, "month/choose.html", {"form": form}, status=400)
    asked = read_place(form.cleaned_data["place"], form.cleaned_data["month"])
    answer = months.month_answer(workspace, month=asked.month, facility=asked.facility, unit=asked.unit)
    counted = counted_words(current_charter(workspace), last_batch_number(workspace))
    remember_place(workspace, month=asked.month, facility=asked.facility, unit=asked.unit, page="month")
    return render(
        request,
        "month/month.html",
        {
            "form": form, "counted": counted, **head(places, asked), **answer_context(answer),
            **offer_receipt("month", month=asked.month, facility=asked.facility, unit=asked.unit),
        },
    )  # fmt: skip


def counted_words(charter: CharterVersion, batch: int) -> str:
    """Under which definition and from which data, on one line; the receipt says it to the digit."""
    words = _("Counted by charter {version} ({name}), {signed} · data up to batch {batch}")
    return words.format(
        version=charter.version,
        name=charter.charter.name,
        signed=_("signed") if charter.frozen else _("not signed yet"),
        batch=batch,
    )


def build_place_form(request: HttpRequest, places: Places) -> PlaceForm:
    """The form with what the address asks for; without anything asked, with the place where the person left off."""
    data: Any = request.GET
    if "month" not in request.GET and "place" not in request.GET:
        start = start_place(places, last_place(the_workspace()))
        data = {"place": place_key(start.facility, start.unit), "month": start.month}
    return PlaceForm(data, places=place_choices(places), months=month_choices(places))


def head(places: Places, asked: Asked) -> dict[str, Any]:
    """The line at the top of a month's pages, and the ways on from there."""
    return {
        "asked": asked,
        "place_name": place_name(places, asked),
        "month_name": month_words(asked.month, with_year=True),
        "links": {
            "month": asked.url("month"),
            "paper": asked.url("month-paper", paper="a4"),
            "letter": asked.url("month-paper", paper="letter"),
            "own": asked.url("month-paper", paper="a4", own="yes"),
            "counts": asked.url("month-counts"),
            "spike": asked.url("month-spike", paper="a4"),
            "spike_letter": asked.url("month-spike", paper="letter"),
            "spreadsheet": asked.url("month-spreadsheet"),
            "sets": asked.url("month-sets"),
            "frozen": asked.url("month-frozen"),
            "sure": asked.url("month-sure"),
        },
    }
