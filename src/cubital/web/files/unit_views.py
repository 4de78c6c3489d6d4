"""The names of units: one list, and the form that joins an old name with a new one."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods

from cubital.domain.errors import RequestProblem
from cubital.domain.words import _, day_words
from cubital.web.desk import the_workspace
from cubital.web.files.forms import RenameForm
from cubital.workspace.facilities import list_facilities
from cubital.workspace.units import list_units, rename_unit


@require_http_methods(["GET", "POST"])
def unit_names(request: HttpRequest) -> HttpResponse:
    """Every unit with the names it has had; saying a new name joins the two."""
    workspace = the_workspace()
    facilities = [facility.name for facility in list_facilities(workspace)]
    form = RenameForm(request.POST or None, facilities=facilities)
    if request.method == "POST" and form.is_valid():
        entered = form.cleaned_data
        try:
            done = rename_unit(workspace, **entered)
        except RequestProblem as problem:
            form.add_error("old", problem.sentence())
        else:
            words = _("{old} and {new} count as one unit; the change is marked on {day}.")
            messages.success(request, words.format(old=entered["old"], new=done.new_name, day=day_words(done.on)))
            return redirect("units")
    status = 400 if request.method == "POST" else 200
    return render(request, "files/units.html", {"form": form, "units": list_units(workspace)}, status=status)
