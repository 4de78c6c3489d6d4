"""The page *Doubtful*: the blind list, the decisions, and the way back."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.http import FileResponse, Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_GET, require_POST

from cubital.answers.class_words import reason_words
from cubital.answers.doubtful import decision_words, organisms_words
from cubital.domain.errors import CubitalError, FileProblem, RequestProblem
from cubital.domain.words import _, ngettext
from cubital.web.answer_words import answer_context
from cubital.web.desk import the_inbox, the_workspace
from cubital.web.doubtful.forms import DeciderForm, FilledListForm, SpanForm, sayings, sets_to_decide
from cubital.web.downloading import send_made_file
from cubital.web.uploading import discard_upload, keep_upload
from cubital.workspace.doubtful import (
    decide_sets,
    doubtful_answer,
    export_doubtful,
    list_doubtful,
    take_decisions,
    withdraw_decision,
)
from cubital.workspace.places import list_places

SPAN_MONTHS = 3  # a quarter's doubtful sets fit on a page


@require_GET
def doubtful(request: HttpRequest) -> HttpResponse:
    """The sets of some months that wait, and those that are decided."""
    return _page(request, status=200)


@require_POST
def decide(request: HttpRequest) -> HttpResponse:
    """Notes what was decided about the listed sets, all of it or nothing."""
    form = DeciderForm(request.POST)
    span = _span(request)
    if not span.is_valid():
        raise Http404
    sets = list_doubtful(the_workspace(), from_month=span.cleaned_data["first"], to_month=span.cleaned_data["last"])
    decided = sets_to_decide(sets, request.POST)
    said = sayings([one for one in decided if not one.wrong])
    if form.is_valid() and said and not any(one.wrong for one in decided):
        entered = form.cleaned_data
        try:
            noted = decide_sets(
                the_workspace(), sayings=said, initials=entered["initials"], role=entered["role"], on=entered["on"]
            )
        except RequestProblem as problem:
            form.add_error(None, problem.sentence())
        else:
            words = ngettext("{count} decision noted.", "{count} decisions noted.", len(noted))
            messages.success(request, words.format(count=len(noted)))
            return redirect(_address(span))
    if form.is_valid() and not said:
        form.add_error(None, _("Please decide about at least one set."))
    return _page(request, decider=form, posted=request.POST, status=400)


@require_POST
def withdraw(request: HttpRequest) -> HttpResponse:
    """Takes one decision back; it stays in the records with the reason."""
    number, why = request.POST.get("number", ""), request.POST.get("why", "")
    try:
        said = withdraw_decision(the_workspace(), number=int(number) if number.isdecimal() else 0, why=why)
    except RequestProblem as problem:
        messages.error(request, problem.sentence())
    else:
        words = _("Decision {number} is taken back; set {accession} waits again.")
        messages.success(request, words.format(number=said.number, accession=said.accession))
    span = _span(request)
    return redirect(_address(span) if span.is_valid() else reverse("doubtful"))


@require_POST
def take_list(request: HttpRequest) -> HttpResponse:
    """Takes the list that the laboratory filled in."""
    form = FilledListForm(request.POST, request.FILES, prefix="filled")
    if form.is_valid():
        entered = form.cleaned_data
        place = keep_upload(entered["file"], the_inbox())
        try:
            noted = take_decisions(
                the_workspace(), file=place, initials=entered["initials"], role=entered["role"], on=entered["on"]
            )
        except (FileProblem, RequestProblem) as problem:
            form.add_error("file", problem.sentence())
        else:
            words = ngettext("{count} decision of the list stands.", "{count} decisions of the list stand.", len(noted))
            messages.success(request, words.format(count=len(noted)))
            return redirect("doubtful")
        finally:
            discard_upload(place)
    return _page(request, filled=form, status=400)


@require_GET
def save_list(request: HttpRequest) -> FileResponse:
    """The blind list for the laboratory to fill in."""
    span = _span(request)
    if not span.is_valid():
        raise Http404
    first, last = span.cleaned_data["first"], span.cleaned_data["last"]
    return send_made_file(
        f"doubtful-{first}-{last}.xlsx",
        lambda out: export_doubtful(the_workspace(), from_month=first, to_month=last, out=out),
    )


def _span(request: HttpRequest) -> SpanForm:
    months = list_places(the_workspace()).months
    data = request.POST if request.method == "POST" else request.GET
    if "first" not in data and months:
        held = sorted(months)
        return SpanForm({"first": held[-SPAN_MONTHS:][0], "last": held[-1]}, months=held)
    return SpanForm(data, months=sorted(months))


def _address(span: SpanForm) -> str:
    return f"{reverse('doubtful')}?first={span.cleaned_data['first']}&last={span.cleaned_data['last']}"


def _page(
    request: HttpRequest,
    *,
    status: int,
    decider: DeciderForm | None = None,
    posted: Any = None,
    filled: FilledListForm | None = None,
) -> HttpResponse:
    span = _span(request)
    context: dict[str, Any] = {
        "span": span, "decider": decider or DeciderForm(), "filled": filled or FilledListForm(prefix="filled"),
    }  # fmt: skip
    if not span.months:
        return render(request, "month/empty.html", {"undated": 0})
    if not span.is_valid():
        return render(request, "doubtful/doubtful.html", context, status=400)
    first, last = span.cleaned_data["first"], span.cleaned_data["last"]
    try:
        answer = doubtful_answer(the_workspace(), from_month=first, to_month=last)
        sets = list_doubtful(the_workspace(), from_month=first, to_month=last)
    except CubitalError as problem:
        context["trouble"] = problem.sentence()
        return render(request, "doubtful/doubtful.html", context, status=400)
    waiting = sets_to_decide(sets, posted)
    decided = [
        (one, organisms_words(one.organisms), decision_words(one.decision)) for one in sets if one.decision is not None
    ]
    context |= {
        **answer_context(answer), "waiting": [(one, reason_words(one.set.reason)) for one in waiting],
        "decided": decided, "first": first, "last": last,
    }  # fmt: skip
    return render(request, "doubtful/doubtful.html", context, status=status)
