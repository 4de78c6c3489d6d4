"""What the page *Look closer* is asked: read from its address, and written into one again."""

from __future__ import annotations

from typing import Any
from urllib.parse import urlencode

from django.http import HttpRequest
from django.urls import reverse

from cubital.answers.month_text import month_before
from cubital.answers.place_words import By, by_words
from cubital.domain.words import _, month_words
from cubital.web.desk import the_workspace
from cubital.web.look.forms import COUNTED, STANDARD, LookForm
from cubital.web.month.places import Asked, month_choices, place_choices, place_name, read_place
from cubital.workspace.places import Places
from cubital.workspace.places_gathering import USUAL_MONTHS, PlacesAsk
from cubital.workspace.staff import list_stays


def build_look_form(request: HttpRequest, places: Places) -> LookForm:
    """The form with what the address asks for; to begin with units of all hospitals over the last twelve months."""
    months = places.months
    first = max(months[0], month_before(months[-1], USUAL_MONTHS - 1))
    begin = {"by": By.UNIT.value, "place": "", "first": _held(first, months), "last": months[-1], "way": COUNTED}
    data: dict[str, Any] = {name: request.GET.get(name, value) for name, value in begin.items()}
    roles = any(stay.role for stays in list_stays(the_workspace()).values() for stay in stays)
    return LookForm(data, places=place_choices(places), months=month_choices(places), roles=roles)


def _held(month: str, months: tuple[str, ...]) -> str:
    return next((one for one in months if one >= month), months[-1])


def read_ask(form: LookForm) -> tuple[PlacesAsk, bool]:
    """What a valid form asks, and whether the mix is to be allowed for."""
    asked = read_place(form.cleaned_data["place"], form.cleaned_data["last"])
    ask = PlacesAsk(
        by=By(form.cleaned_data["by"]), facility=asked.facility, unit=asked.unit,
        from_month=form.cleaned_data["first"], to_month=form.cleaned_data["last"],
    )  # fmt: skip
    return ask, form.cleaned_data["way"] == STANDARD


def head_words(places: Places, ask: PlacesAsk) -> str:
    """What is looked at, on one line."""
    name = place_name(places, Asked(month=ask.to_month or "", facility=ask.facility, unit=ask.unit))
    first, last = (month_words(month or "", with_year=True) for month in (ask.from_month, ask.to_month))
    span = first if first == last else _("{first} to {last}").format(first=first, last=last)
    return _("{place} · by {by} · {span}").format(place=name, by=by_words(ask.by).lower(), span=span)


def sets_url(form: LookForm, key: str) -> str:
    """Where the sets of one place are listed."""
    asked = {name: str(form.cleaned_data[name]) for name in ("by", "place", "first", "last")}
    return f"{reverse('look-sets')}?{urlencode({**asked, 'key': key})}"
