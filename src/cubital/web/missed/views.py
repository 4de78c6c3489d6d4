"""What are we missing? Models side by side, some struck through; and which change would move which number."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_GET, require_http_methods

from cubital.answers.missed_words import counted_words
from cubital.domain.answer import Answer
from cubital.domain.errors import CubitalError, RequestProblem
from cubital.web.again.offering import offer_receipt
from cubital.web.answer_words import CellWords, answer_context
from cubital.web.bedside.views import today
from cubital.web.desk import the_inbox, the_workspace
from cubital.web.missed.forms import MissedForm, PlaceForm
from cubital.web.uploading import discard_upload, keep_upload
from cubital.workspace.collecting import current_collection_policy
from cubital.workspace.driver_gathering import driver_answer
from cubital.workspace.missed import VOLUME, answer_asked, plain_asked


@dataclass(frozen=True, kw_only=True)
class StruckCell(CellWords):
    """A cell with a line through it; the row says in words that it is struck through."""

    @property
    def style(self) -> str:
        return f"{super().style} struck".strip()


@require_http_methods(["GET", "POST"])
def missed(request: HttpRequest) -> HttpResponse:
    """The form, and after it the range with every model."""
    if request.method == "GET":
        return render(request, "missed/missed.html", {"form": MissedForm()})
    form = MissedForm(request.POST, request.FILES)
    if not form.is_valid():
        return render(request, "missed/missed.html", {"form": form}, status=400)
    try:
        asked = _asked(form)
        answer = answer_asked(asked, workspace=the_workspace())
    except CubitalError as problem:
        form.add_error(None, problem.sentence())
        return render(request, "missed/missed.html", {"form": form}, status=400)
    return render(request, "missed/missed.html", {"form": form, **_context(answer), **offer_receipt("missed", **asked)})


def _asked(form: MissedForm) -> dict[str, Any]:
    """What was asked as plain data; a sheet is read and not kept."""
    sheet = form.cleaned_data.get("sheet")
    place = keep_upload(sheet, the_inbox()) if sheet else None
    try:
        return plain_asked(
            form.ask(place), question=form.cleaned_data["question"] or VOLUME,
            policy=current_collection_policy(the_workspace()), today=today(),
            place=form.place() if form.needs_files() else None,
        )  # fmt: skip
    finally:
        if place is not None:
            discard_upload(place)


def _context(answer: Answer) -> dict[str, Any]:
    """The answer with the names and numbers of struck models crossed out."""
    context = answer_context(answer)
    struck = {figure.key for figure in answer.figures if figure.key.startswith("model_")}
    if answer.table is not None and struck:
        context["rows"] = [_crossed(row) for row in context["rows"]]
    return context


def _crossed(row: list[CellWords]) -> list[CellWords]:
    if row[2].text == counted_words():
        return row
    return [StruckCell(text=cell.text, number=cell.number) for cell in row[:2]] + row[2:]


@require_GET
def drivers(request: HttpRequest) -> HttpResponse:
    """Which policy change would move which number, over the shares of a place."""
    form = PlaceForm(request.GET)
    if not form.is_valid():
        return render(request, "missed/drivers.html", {"form": form}, status=400)
    try:
        answer = driver_answer(the_workspace(), form.place())
    except RequestProblem as problem:
        status = 400 if request.GET else 200
        context = {"form": form, "trouble": problem.sentence()}
        return render(request, "missed/drivers.html", context, status=status)
    offer = offer_receipt("drivers", **asdict(form.place()))
    return render(request, "missed/drivers.html", {"form": form, **answer_context(answer), **offer})
