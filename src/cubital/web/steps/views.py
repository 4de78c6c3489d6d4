"""Which step is left out, and what to watch next, from sheets that are not kept."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_http_methods

from cubital.answers.observation_plan import PlanRules
from cubital.answers.observation_sheets import Sheet
from cubital.answers.steps_reading import StepsPolicy
from cubital.domain.errors import FileProblem
from cubital.web.answer_words import answer_context
from cubital.web.desk import the_inbox
from cubital.web.steps.forms import SheetsForm
from cubital.web.uploading import discard_upload, keep_upload
from cubital.workspace.watched_draws import plan_answer, read_sheets, steps_answer


@require_http_methods(["GET", "POST"])
def steps(request: HttpRequest) -> HttpResponse:
    """The form; after it the answer, and below it the plan of the next round."""
    if request.method == "GET":
        return render(request, "steps/ask.html", {"form": SheetsForm()})
    form = SheetsForm(request.POST, request.FILES)
    if form.is_valid():
        try:
            sheets = _sheets(form)
        except FileProblem as problem:
            form.add_error("file", problem.sentence())
        else:
            return render(request, "steps/answer.html", _context(form, sheets))
    return render(request, "steps/ask.html", {"form": form}, status=400)


def _sheets(form: SheetsForm) -> Sequence[Sheet]:
    if form.sheets:
        return form.sheets
    place = keep_upload(form.cleaned_data["file"], the_inbox())
    try:
        return read_sheets(place)
    finally:
        discard_upload(place)


def _context(form: SheetsForm, sheets: Sequence[Sheet]) -> dict[str, Any]:
    policy = StepsPolicy(target=(form.cleaned_data["target"] or 80) / 100)
    rules = PlanRules(each_shift=form.cleaned_data["each_shift"] or 12)
    plan = answer_context(plan_answer(sheets, policy=policy, rules=rules))
    return {**answer_context(steps_answer(sheets, policy=policy)), "plan": plan}
