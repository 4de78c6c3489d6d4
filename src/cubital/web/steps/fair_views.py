"""Fair comparisons and the hours of the week, from what the workspace holds."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import asdict
from typing import TypeVar

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_GET

from cubital.domain.answer import Answer
from cubital.domain.errors import RequestProblem
from cubital.web.again.offering import offer_receipt
from cubital.web.answer_words import answer_context
from cubital.web.desk import the_workspace
from cubital.web.steps.forms import CompareForm, HoursForm, PlaceForm
from cubital.workspace.fair_answers import comparison_answer, hours_answer
from cubital.workspace.fair_gathering import FairBy

Form = TypeVar("Form", bound=PlaceForm)


@require_GET
def compare(request: HttpRequest) -> HttpResponse:
    """Are day and night, roles, methods different, compared fairly?"""
    form = CompareForm(request.GET)

    def answer() -> Answer:
        return comparison_answer(the_workspace(), form.ask(FairBy(form.cleaned_data["by"] or FairBy.SHIFT)))

    return _page(request, "steps/compare.html", form=form, answer=answer, offer=_offer_comparison)


@require_GET
def hours(request: HttpRequest) -> HttpResponse:
    """Which hours in a row hold most of the contamination?"""
    form = HoursForm(request.GET)

    def answer() -> Answer:
        length = form.cleaned_data["length"] or 12
        return hours_answer(the_workspace(), form.ask(), length=length, days=form.chosen_days())

    return _page(request, "steps/hours.html", form=form, answer=answer, offer=_offer_hours)


def _offer_comparison(form: CompareForm) -> dict[str, str]:
    ask = form.ask(FairBy(form.cleaned_data["by"] or FairBy.SHIFT))
    return offer_receipt("compare", **asdict(ask))


def _offer_hours(form: HoursForm) -> dict[str, str]:
    length = form.cleaned_data["length"] or 12
    return offer_receipt("hours", length=length, days=list(form.chosen_days()), **asdict(form.ask()))


def _page(
    request: HttpRequest, template: str, *, form: Form, answer: Callable[[], Answer],
    offer: Callable[[Form], dict[str, str]],
) -> HttpResponse:  # fmt: skip
    if not form.is_valid():
        return render(request, template, {"form": form}, status=400)
    try:
        found = answer()
    except RequestProblem as problem:
        status = 400 if request.GET else 200
        return render(request, template, {"form": form, "trouble": problem.sentence()}, status=status)
    return render(request, template, {"form": form, **answer_context(found), **offer(form)})
