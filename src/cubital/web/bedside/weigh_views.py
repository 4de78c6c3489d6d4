"""The weigh-in sheet on the page *Bedside*: what the balance says. The sheet is read and not kept."""

from __future__ import annotations

import tempfile
from pathlib import Path

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_http_methods

from cubital.bedside.fill import BLOOD_DENSITY_G_ML, TareKind
from cubital.bedside.fill_answer import answer_weighing
from cubital.bedside.fill_sets_answer import answer_split_or_short
from cubital.bedside.overfill_answer import answer_overfill
from cubital.bedside.weigh_in import WeighIn
from cubital.domain.answer import Answer
from cubital.web.bedside.forms import WeighForm
from cubital.web.bedside.views import today
from cubital.web.desk import the_inbox, the_workspace
from cubital.workspace.bedside_files import read_weighings
from cubital.workspace.collecting import current_collection_policy


@require_http_methods(["GET", "POST"])
def weigh(request: HttpRequest) -> HttpResponse:
    """The form, and after a sheet was given the fill of every bottle with its doubt."""
    form = WeighForm(request.POST, request.FILES) if request.method == "POST" else WeighForm()
    if request.method != "POST" or not form.is_valid():
        status = 400 if request.method == "POST" else 200
        return render(request, "bedside/weigh.html", {"form": form, "answer": None}, status=status)
    return render(request, "bedside/weigh.html", {"form": WeighForm(), "answer": _answer(form)})


def _answer(form: WeighForm) -> Answer:
    given = form.cleaned_data["sheet"]
    with tempfile.TemporaryDirectory(dir=the_inbox()) as folder:
        sheet = Path(folder) / f"weigh-in{Path(given.name).suffix.lower()[:6]}"
        with sheet.open("wb") as copy:
            copy.writelines(given.chunks())
        weighings = read_weighings(sheet, tares=form.tares())
    policy, tare = current_collection_policy(the_workspace()), TareKind(form.cleaned_data["tare"])
    answer_of = {"split": answer_split_or_short, "overfill": answer_overfill}.get(form.cleaned_data["asked"])
    if answer_of is not None:
        return answer_of(policy, WeighIn(weighings=weighings, tare=tare), today=today())
    return answer_weighing(policy, weighings, tare=tare, density_g_ml=BLOOD_DENSITY_G_ML, today=today())
