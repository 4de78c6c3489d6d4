"""When bottles run out, from a list that is not kept; and which shifts would reach most."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TypeVar

from django.http import HttpRequest, HttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import render
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from cubital.domain.answer import Answer
from cubital.domain.errors import FileProblem, PolicyProblem, RequestProblem
from cubital.web.again.offering import offer_receipt
from cubital.web.answer_words import answer_context
from cubital.web.desk import the_inbox, the_workspace
from cubital.web.downloading import send_made_file
from cubital.web.supply.forms import CoverForm, StockForm
from cubital.web.uploading import discard_upload, keep_upload
from cubital.workspace.supply import cover_answer, stock_answer
from cubital.workspace.tier_cards import print_tier_card

Made = TypeVar("Made")


@require_http_methods(["GET", "POST"])
def stock(request: HttpRequest) -> HttpResponse:
    """The form; after it the day, what each tier changes, and the table."""
    if request.method == "GET":
        return render(request, "supply/stock.html", {"form": StockForm()})
    form = StockForm(request.POST, request.FILES)
    if form.is_valid():
        try:
            answer = _stock(form)
        except FileProblem as problem:
            form.add_error("file", problem.sentence())
        else:
            return render(request, "supply/stock.html", {"form": form, **answer_context(answer)})
    return render(request, "supply/stock.html", {"form": form}, status=400)


@require_POST
def card(request: HttpRequest) -> HttpResponseBase:
    """The card of the tiers as PDF, from the same list; A4, or Letter where that was asked for."""
    form = StockForm(request.POST, request.FILES)
    if form.is_valid():
        try:
            return _card(form, paper="letter" if request.POST.get("paper") == "letter" else "a4")
        except FileProblem as problem:
            form.add_error("file", problem.sentence())
        except (PolicyProblem, RequestProblem) as problem:
            form.add_error("tiers", problem.sentence())
    return render(request, "supply/stock.html", {"form": form}, status=400)


def _card(form: StockForm, *, paper: str) -> HttpResponseBase:
    entered = form.cleaned_data

    def from_list(listed: Path | str) -> HttpResponseBase:
        return send_made_file(
            f"tiers-{paper}.pdf",
            lambda out: print_tier_card(
                the_workspace(), stock=listed, tiers=entered["tiers"], out=out, paper=paper, today=entered["on"],
                detected_per_year=entered["detected"],
            ),
        )  # fmt: skip

    return _with_list(form, from_list)


def _stock(form: StockForm) -> Answer:
    entered = form.cleaned_data
    more = {"tiers": entered["tiers"], "today": entered["on"], "detected_per_year": entered["detected"]}
    return _with_list(form, lambda listed: stock_answer(listed, **more))


def _with_list(form: StockForm, use: Callable[[Path | str], Made]) -> Made:
    """What ``use`` makes of the list: the text that was pasted, or the file, which is not kept."""
    if text := form.cleaned_data["text"].strip():
        return use(text)
    place = keep_upload(form.cleaned_data["file"], the_inbox())
    try:
        return use(place)
    finally:
        discard_upload(place)


@require_GET
def coverage(request: HttpRequest) -> HttpResponse:
    """Which shifts of a week would reach most contaminated sets?"""
    form = CoverForm(request.GET)
    if not form.is_valid():
        return render(request, "supply/coverage.html", {"form": form}, status=400)
    where, ask = form.ask(), form.cover()
    try:
        answer = cover_answer(the_workspace(), where, ask)
    except RequestProblem as problem:
        context = {"form": form, "trouble": problem.sentence()}
        return render(request, "supply/coverage.html", context, status=400 if request.GET else 200)
    offer = offer_receipt(
        "coverage", shifts=ask.shifts, length=ask.length, collectors=ask.collectors, minutes=ask.minutes_per_set,
        risk=list(ask.risk) if ask.risk else None, facility=where.facility, unit=where.unit,
        from_month=where.from_month, to_month=where.to_month,
    )  # fmt: skip
    return render(request, "supply/coverage.html", {"form": form, **answer_context(answer), **offer})
