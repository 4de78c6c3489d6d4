"""The page *Look closer*: choose, read the sentence, see the picture and the table, go on to every set."""

from __future__ import annotations

from typing import Any

from django.core.paginator import Paginator
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_GET

from cubital.domain.charter import SetClass
from cubital.domain.words import _
from cubital.judge.api import judged_sets
from cubital.judge.counts import JudgedSet
from cubital.web.again.offering import offer_receipt
from cubital.web.answer_words import answer_context
from cubital.web.desk import the_workspace
from cubital.web.look.asked import build_look_form, head_words, read_ask, sets_url
from cubital.web.look.forms import LookForm
from cubital.web.month.sets import SETS_ON_A_PAGE, set_words
from cubital.web.month.views import counted_words
from cubital.workspace.asked_places import find_place
from cubital.workspace.charters import current_charter
from cubital.workspace.guarding import small_counts
from cubital.workspace.places import list_places
from cubital.workspace.places_answers import PlacesFound, places_answer
from cubital.workspace.places_gathering import PLACE_DIMENSIONS, PlacesAsk, gather_places
from cubital.workspace.policies import current_policy
from cubital.workspace.snapshots import last_batch_number, open_snapshot

MOST_SETS = 2_000  # a list longer than this is read in the spreadsheet


@require_GET
def look_closer(request: HttpRequest) -> HttpResponse:
    """The comparison that the address asks for."""
    workspace = the_workspace()
    places = list_places(workspace)
    if not places.months:
        return render(request, "month/empty.html", {"undated": places.undated_sets})
    form = build_look_form(request, places)
    if not form.is_valid():
        return render(request, "look/choose.html", {"form": form}, status=400)
    ask, standard = read_ask(form)
    found = places_answer(workspace, ask, guarded=True, standard=standard)
    limits = small_counts(current_policy(workspace))
    context: dict[str, Any] = {
        "form": form, "head": head_words(places, ask), "behind": _links(form, ask, found),
        "counted": counted_words(current_charter(workspace), last_batch_number(workspace)),
        "low": limits.low, "high": limits.high, **answer_context(found.answer),
        **offer_receipt(
            "places", by=ask.by, facility=ask.facility, unit=ask.unit, from_month=ask.from_month,
            to_month=ask.to_month, widening=ask.widening, guarded=True, standard=standard,
        ),
    }  # fmt: skip
    return render(request, "look/look.html", context)


def _links(form: LookForm, ask: PlacesAsk, found: PlacesFound) -> list[tuple[str, str]]:
    """Each place with the address of its sets; none for roles, whose sets are those of single people."""
    if ask.by not in PLACE_DIMENSIONS:
        return []
    return [(count.name, sets_url(form, count.key)) for count in found.material.counts]


@require_GET
def sets_of_place(request: HttpRequest) -> HttpResponse:
    """The counted sets of one place, the contaminated ones first of all choices."""
    workspace = the_workspace()
    places = list_places(workspace)
    form = build_look_form(request, places) if places.months else None
    if form is None or not form.is_valid():
        raise Http404
    ask, _standard = read_ask(form)
    material = gather_places(workspace, ask)
    chosen = next((count for count in material.counts if count.key == request.GET.get("key")), None)
    if chosen is None or ask.by not in PLACE_DIMENSIONS:
        raise Http404
    every = request.GET.get("class") == "every"
    sets = _sets(ask, material.keys[chosen.key], every=every)
    page = Paginator(sets, SETS_ON_A_PAGE).get_page(request.GET.get("page"))
    query = request.GET.copy()
    query.pop("page", None)
    context = {
        "form": form, "head": head_words(places, ask), "name": chosen.name, "every": every, "key": chosen.key,
        "sets": [set_words(one) for one in page], "sets_page": page, "query": query.urlencode(),
        "back": request.GET, "cut": len(sets) == MOST_SETS, "most": MOST_SETS,
        "choices": [("", _("contaminated sets")), ("every", _("every counted set"))],
    }  # fmt: skip
    return render(request, "look/sets.html", context)


def _sets(ask: PlacesAsk, key: tuple[Any, ...], *, every: bool) -> tuple[JudgedSet, ...]:
    workspace = the_workspace()
    cell = dict(zip(PLACE_DIMENSIONS[ask.by], key, strict=True))
    place = find_place(workspace, facility=ask.facility, unit=ask.unit)
    scope = place.scope(from_month=ask.from_month, to_month=ask.to_month)
    with open_snapshot(workspace) as session:
        return judged_sets(
            session, current_charter(workspace).charter, scope=scope, cell=cell, limit=MOST_SETS,
            classes=None if every else (SetClass.CONTAMINATED,),
        )  # fmt: skip
