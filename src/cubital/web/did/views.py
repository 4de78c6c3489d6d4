"""Did it work? The design is checked first, and stands first on the page."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_GET, require_http_methods

from cubital.answers.diary import entry_words
from cubital.answers.did_hours import MatchedHours
from cubital.domain.answer import Answer
from cubital.domain.errors import FileProblem, RequestProblem
from cubital.web.again.offering import offer_receipt
from cubital.web.answer_words import answer_context, table_words
from cubital.web.desk import the_inbox, the_workspace
from cubital.web.diary.words import place_list
from cubital.web.did.forms import AttendanceForm, ChangeForm, CountsForm
from cubital.web.uploading import discard_upload, keep_upload
from cubital.workspace.diary import list_entries
from cubital.workspace.did_answers import attendance_answer, did_answer, did_of_counts


@require_GET
def did(request: HttpRequest) -> HttpResponse:
    """The forms; with a change asked about, its answer above them."""
    is_asked = not {"entry", "on", "place", "words"}.isdisjoint(request.GET)
    form = ChangeForm(request.GET if is_asked else None, entries=_entries(), places=place_list())
    if not is_asked:
        return render(request, "did/did.html", {"form": form})
    if not form.is_valid():
        return render(request, "did/did.html", {"form": form}, status=400)
    ask = form.ask()
    try:
        found = did_answer(the_workspace(), ask)
    except RequestProblem as problem:
        form.add_error(None, problem.sentence())
        return render(request, "did/did.html", {"form": form}, status=400)
    asked: dict[str, Any] = {
        "number": ask.number, "on": ask.on.isoformat() if ask.on else None, "facility": ask.facility,
        "unit": ask.unit, "words": ask.words,
    }  # fmt: skip
    context = {"form": form, **_context(found.answer, found.hours), **offer_receipt("did", **asked)}
    return render(request, "did/did.html", context)


@require_http_methods(["GET", "POST"])
def table(request: HttpRequest) -> HttpResponse:
    """A table of counts before and after, which is not kept."""
    form = CountsForm(request.POST or None, request.FILES or None)

    def answer(source: Path | str) -> Answer:
        held = form.cleaned_data
        return did_of_counts(source, asks=held["asks"], at=held["at"])

    return _counted(request, form, template="did/table.html", answer=answer)


@require_http_methods(["GET", "POST"])
def attended(request: HttpRequest) -> HttpResponse:
    """A table by who attended, which is not kept."""
    form = AttendanceForm(request.POST or None, request.FILES or None)
    return _counted(request, form, template="did/attended.html", answer=attendance_answer)


def _counted(
    request: HttpRequest, form: CountsForm, *, template: str, answer: Callable[[Path | str], Answer]
) -> HttpResponse:
    if request.method == "GET":
        return render(request, template, {"form": form})
    if form.is_valid():
        try:
            found = _answered(form, answer)
        except (FileProblem, RequestProblem) as problem:
            form.complain(problem)
        else:
            return render(request, template, {"form": form, **_context(found)})
    return render(request, template, {"form": form}, status=400)


def _answered(form: CountsForm, answer: Callable[[Path | str], Answer]) -> Answer:
    if form.given:
        return answer(form.given)
    place = keep_upload(form.cleaned_data["file"], the_inbox())
    try:
        return answer(place)
    finally:
        discard_upload(place)


def _entries() -> list[tuple[str, Any]]:
    """The diary's own entries, the last one first."""
    kept = [entry for entry in list_entries(the_workspace()) if entry.number]
    return [(str(entry.number), entry_words(entry)) for entry in reversed(kept)]


def _context(answer: Answer, hours: MatchedHours | None = None) -> dict[str, Any]:
    """The answer with its checks in their order, and the same hours beside it."""
    matched = hours.table if hours is not None else None
    return {
        **answer_context(answer),
        "checks_passed": [], "checks_failed": [], "checks_open": [],  # they stand above the sentence, in their order
        "hours": hours,
        "hour_rows": table_words(matched) if matched else [],
        "hour_columns": [(heading, place > 1) for place, heading in enumerate(matched.columns)] if matched else [],
    }  # fmt: skip
