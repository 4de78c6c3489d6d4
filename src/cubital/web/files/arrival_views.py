"""One file on its way in: how far the work is, what it was read as, and the person's word on it."""

from __future__ import annotations

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_GET, require_POST
from django_htmx.http import HttpResponseClientRedirect

from cubital.domain.errors import CubitalError, QuestionsOpen
from cubital.domain.words import _
from cubital.web.desk import the_workspace
from cubital.web.files.arrivals import Arrival, arrivals
from cubital.web.files.checking import answers_given, confirmations_given, roles_given, unanswered
from cubital.web.files.forms import named_timezones
from cubital.web.files.look_words import Look, look_words
from cubital.web.files.movement_words import MovementLook, movement_words
from cubital.web.files.working import source_name, start_look, start_taking
from cubital.web.running import Job
from cubital.workspace.previewing import MovementPreview
from cubital.workspace.sources import teach_source


@require_GET
def show_arrival(request: HttpRequest, key: str) -> HttpResponse:
    """The progress while there is work; then what was recognised, or the batch that came of it."""
    arrival = find_arrival(key)
    job = arrival.job
    if job is None or job.running:
        return render(request, "files/progress.html", progress_context(arrival))
    if arrival.taking is not None:
        return _after_taking(request, arrival)
    try:
        look = look_at(job)
    except QuestionsOpen as asked:
        return _show_questions(request, arrival, asked)
    except CubitalError as problem:
        return _show_problem(request, arrival, problem)
    return show_check(request, arrival, look)


def look_at(job: Job) -> Look | MovementLook:
    """What the look found, in words."""
    found = job.outcome()
    return movement_words(found) if isinstance(found, MovementPreview) else look_words(found)


@require_GET
def show_progress(request: HttpRequest, key: str) -> HttpResponse:
    """How far the work is, for the page that waits; sends it on when the work is done."""
    arrival = arrivals.find(key)
    if arrival is None:
        return HttpResponseClientRedirect(reverse("files"))
    if arrival.job is None or arrival.job.running:
        return render(request, "files/progress_bar.html", progress_context(arrival))
    return HttpResponseClientRedirect(reverse("arrival", args=[key]))


@require_POST
def answer_arrival(request: HttpRequest, key: str) -> HttpResponse:
    """Keeps what the person settled, then looks again or takes the file in."""
    arrival = find_arrival(key)
    if arrival.job is not None and arrival.job.running:
        return redirect("arrival", key=key)
    arrival.answers |= answers_given(request.POST)
    learnt = {"columns": roles_given(request.POST), "organisms": confirmations_given(request.POST)}
    if any(learnt.values()):
        teach_source(the_workspace(), source=source_name(arrival), **learnt)
    if request.POST.get("do") == "take" and not any(learnt.values()) and not unanswered(request.POST):
        start_taking(arrival)
    else:
        arrival.taking = None
        start_look(arrival)
    return redirect("arrival", key=key)


@require_POST
def discard_arrival(request: HttpRequest, key: str) -> HttpResponse:
    """Sends the file back: it is removed and nothing of it is kept."""
    arrival = find_arrival(key)
    if arrival.taking is not None and arrival.taking.running:
        messages.info(request, _("The file is being taken in just now and can no longer be sent back."))
        return redirect("arrival", key=key)
    arrivals.discard(arrival)
    messages.success(request, _("{name} was sent back. Nothing of it is kept.").format(name=arrival.name))
    return redirect("files")


def find_arrival(key: str) -> Arrival:
    """The file that waits under ``key``; no such page where it has been dealt with."""
    arrival = arrivals.find(key)
    if arrival is None:
        raise Http404
    return arrival


def progress_context(arrival: Arrival) -> dict[str, object]:
    """What the waiting page shows."""
    job = arrival.job
    return {"arrival": arrival, "job": job, "percent": round(100 * job.share) if job else 0}


def show_check(request: HttpRequest, arrival: Arrival, look: Look | MovementLook) -> HttpResponse:
    """The page on which the person says whether the file is used."""
    return render(request, "files/check.html", {"arrival": arrival, "look": look, "questions": look.questions})


def _after_taking(request: HttpRequest, arrival: Arrival) -> HttpResponse:
    assert arrival.taking is not None  # noqa: S101 -- asked by the caller
    try:
        report = arrival.taking.outcome()
    except QuestionsOpen as asked:
        arrival.taking = None
        return _show_questions(request, arrival, asked)
    except CubitalError as problem:
        arrival.taking = None
        return _show_problem(request, arrival, problem)
    arrivals.discard(arrival)
    if report.already_taken:
        messages.info(request, _("This file was taken in before. Nothing was changed."))
    return redirect("batch", number=report.batch)


def _show_questions(request: HttpRequest, arrival: Arrival, asked: QuestionsOpen) -> HttpResponse:
    context = {"arrival": arrival, "questions": asked.questions, "timezones": named_timezones()}
    return render(request, "files/check.html", context, status=409)


def _show_problem(request: HttpRequest, arrival: Arrival, problem: CubitalError) -> HttpResponse:
    """Says why; an answer that may have caused it is asked for again on the next try."""
    arrival.answers.clear()
    return render(request, "files/sent_back.html", {"arrival": arrival, "problem": problem}, status=400)
