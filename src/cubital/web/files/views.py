"""The page *Files*: drop a file, see what waits, see what came in before."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods

from cubital.web.desk import the_inbox, the_workspace
from cubital.web.files.arrivals import Arrival, arrivals
from cubital.web.files.forms import DropForm, named_timezones
from cubital.web.files.working import start_look
from cubital.web.uploading import keep_upload
from cubital.workspace.batches import list_batches
from cubital.workspace.facilities import list_facilities


@require_http_methods(["GET", "POST"])
def files(request: HttpRequest) -> HttpResponse:
    """The form to drop a file in, the files that wait, and the list of batches."""
    facilities = list_facilities(the_workspace())
    form = DropForm(request.POST or None, request.FILES or None)
    if request.method == "POST" and form.is_valid():
        arrival = receive(form)
        start_look(arrival)
        return redirect("arrival", key=arrival.key)
    context = {
        "form": form, "facilities": facilities, "waiting": arrivals.waiting(),
        "timezones": named_timezones(),
        "batches": list(reversed(list_batches(the_workspace()))),
    }  # fmt: skip
    return render(request, "files/files.html", context, status=400 if request.method == "POST" else 200)


def receive(form: DropForm) -> Arrival:
    """Keeps the uploaded file as an arrival."""
    entered = form.cleaned_data
    arrival = Arrival(
        path=keep_upload(entered["file"], the_inbox()),
        kind=entered["kind"],
        facility=" ".join(entered["facility"].split()),
        timezone=entered["timezone"] or None,
        source=" ".join(entered["source"].split()) or None,
    )
    arrivals.add(arrival)
    return arrival
