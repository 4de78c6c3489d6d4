"""What one takes along from a month: the page for the wall, the spreadsheet, and every set on the screen."""

from __future__ import annotations

import shutil
from pathlib import Path

from django.core.paginator import Paginator
from django.http import FileResponse, Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_GET

from cubital.web.desk import the_workspace
from cubital.web.downloading import send_made_file
from cubital.web.month.places import Asked, read_place
from cubital.web.month.sets import SETS_ON_A_PAGE, classes_found, set_words, sets_behind
from cubital.web.month.views import build_place_form, head
from cubital.workspace.charters import current_charter
from cubital.workspace.places import Places, list_places


@require_GET
def every_set(request: HttpRequest) -> HttpResponse:
    """The judged sets of the place and month, with class and reason, a page at a time."""
    places, asked = find_asked(request)
    sets = sets_behind(asked, current_charter(the_workspace()).charter)
    wanted = request.GET.get("class", "")
    shown = [one for one in sets if not wanted or one.set_class == wanted]
    page = Paginator(shown, SETS_ON_A_PAGE).get_page(request.GET.get("page"))
    query = request.GET.copy()
    query.pop("page", None)
    context = {
        "sets": [set_words(one) for one in page], "sets_page": page, "classes": classes_found(sets), "wanted": wanted,
        "query": query.urlencode(), "given": request.GET, **head(places, asked),
    }  # fmt: skip
    return render(request, "month/sets.html", context)


@require_GET
def paper(request: HttpRequest) -> FileResponse:
    """One page for the wall, A4 or Letter; the unit's own, small counts included, where the address says so."""
    from cubital.workspace.printing import print_unit

    _places, asked = find_asked(request)
    size = "letter" if request.GET.get("paper") == "letter" else "a4"
    own = request.GET.get("own") == "yes"
    return send_made_file(
        f"month-{asked.month}-{size}{'-own' if own else ''}.pdf",
        lambda out: print_unit(
            the_workspace(), month=asked.month, facility=asked.facility, unit=asked.unit, out=out, paper=size,
            for_others=not own,
        ),
    )  # fmt: skip


@require_GET
def counts(request: HttpRequest) -> FileResponse:
    """Every month's counts by unit for others, small ones hidden: of the hospital asked about, or of all."""
    from cubital.workspace.count_exports import export_counts

    _places, asked = find_asked(request)
    return send_made_file(
        "counts-for-others.xlsx", lambda out: export_counts(the_workspace(), out=out, facility=asked.facility)
    )


@require_GET
def spike(request: HttpRequest) -> FileResponse:
    """The working sheet for a month that jumped, A4 or Letter."""
    from cubital.workspace.spikes import print_spike

    _places, asked = find_asked(request)
    size = "letter" if request.GET.get("paper") == "letter" else "a4"
    return send_made_file(
        f"spike-{asked.month}-{size}.pdf",
        lambda out: print_spike(
            the_workspace(), month=asked.month, facility=asked.facility, unit=asked.unit, out=out, paper=size
        ),
    )


@require_GET
def spreadsheet(request: HttpRequest) -> FileResponse:
    """Every set of the place and month as a tidy workbook with its codebook."""
    from cubital.workspace.exports import export_sets

    _places, asked = find_asked(request)
    return send_made_file(
        f"sets-{asked.month}.xlsx",
        lambda out: export_sets(
            the_workspace(), out=out, from_month=asked.month, to_month=asked.month, facility=asked.facility,
            unit=asked.unit,
        ),
    )  # fmt: skip


@require_GET
def frozen(request: HttpRequest) -> FileResponse:
    """The month frozen for good: answer, sets, charter and fingerprints in one packed folder."""
    _places, asked = find_asked(request)
    return send_made_file(f"month-{asked.month}-frozen.zip", lambda out: _freeze(asked, out))


def _freeze(asked: Asked, out: Path) -> None:
    from cubital.workspace.freezing import export_month_snapshot

    folder = out.with_suffix("")
    export_month_snapshot(the_workspace(), month=asked.month, facility=asked.facility, unit=asked.unit, out=folder)
    shutil.make_archive(str(folder), "zip", folder.parent, folder.name)


def find_asked(request: HttpRequest) -> tuple[Places, Asked]:
    """The places there are, and the one the address names; an address that names none is no page."""
    places = list_places(the_workspace())
    if not places.months:
        raise Http404
    form = build_place_form(request, places)
    if not form.is_valid():
        raise Http404
    return places, read_place(form.cleaned_data["place"], form.cleaned_data["month"])
