"""Odd organisms, dates, units, lots: call now? And the list of lots on its way in."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_GET, require_POST

from cubital.domain.answer import Answer
from cubital.domain.errors import FileProblem, RequestProblem
from cubital.domain.words import _
from cubital.web.answer_words import answer_context
from cubital.web.clusters.forms import LookForm, LotListForm
from cubital.web.desk import the_inbox, the_workspace
from cubital.web.uploading import discard_upload, keep_upload
from cubital.workspace.clusters import LOOK_DAYS, ClusterQuestion, ClusterReport, cluster_report
from cubital.workspace.lots import list_lots, take_lots


@require_GET
def clusters(request: HttpRequest) -> HttpResponse:
    """The answer about clusters, with the lots beside it."""
    return _page(request, LookForm(request.GET), LotListForm(), status=200)


@require_POST
def take_lot_list(request: HttpRequest) -> HttpResponse:
    """Takes a list of lots, whole or not at all."""
    form = LotListForm(request.POST, request.FILES)
    if form.is_valid():
        place = keep_upload(form.cleaned_data["file"], the_inbox())
        try:
            taken = take_lots(the_workspace(), file=place)
        except FileProblem as problem:
            form.add_error("file", problem.sentence())
        else:
            words = _("{added} lots are new, {changed} changed, {unchanged} were known.")
            messages.success(request, words.format(added=taken.added, changed=taken.changed, unchanged=taken.unchanged))
            return redirect("clusters")
        finally:
            discard_upload(place)
    return _page(request, LookForm({}), form, status=400)


def _page(request: HttpRequest, look: LookForm, lots: LotListForm, *, status: int) -> HttpResponse:
    context: dict[str, Any] = {"look": look, "lots_form": lots}
    workspace = the_workspace()
    try:
        report = _report(look) if look.is_valid() else None
        context["stays"] = list_lots(workspace)
    except RequestProblem as problem:
        report = None
        context["trouble"] = problem.sentence()
    if report is None:
        status = 400 if status == 200 and request.GET else status
    else:
        context |= {**answer_context(report.cluster), "lots": _lots_context(report.lots)}
    return render(request, "clusters/clusters.html", context, status=status)


def _report(look: LookForm) -> ClusterReport:
    asked = look.cleaned_data
    return cluster_report(
        the_workspace(),
        ClusterQuestion(organism=asked["organism"] or None, until=asked["until"], days=asked["days"] or LOOK_DAYS),
    )


def _lots_context(answer: Answer) -> dict[str, Any]:
    words = answer_context(answer)
    return {"answer": answer, "rows": words["rows"], "numeric": words["numeric"]}
