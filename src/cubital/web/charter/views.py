"""The page *Charter*: what counts as a contaminated set, the definitions side by side, and the sets that move."""

from __future__ import annotations

from typing import Any

from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_GET

from cubital.answers.bench import MAIN_KEYS, Bench
from cubital.web.charter.bench import (
    MOVES_ON_A_PAGE,
    Span,
    bench_over,
    bench_rows,
    bench_soon,
    move_words,
    moves_between,
)
from cubital.web.charter.bench_forms import PairForm, SpanForm
from cubital.web.charter.words import charter_in_words
from cubital.web.desk import the_workspace
from cubital.workspace.charters import current_charter, list_charters
from cubital.workspace.places import list_places


@require_GET
def show_charter(request: HttpRequest) -> HttpResponse:
    """The charter in force, and the bench under it."""
    workspace = the_workspace()
    current = current_charter(workspace)
    versions = list_charters(workspace)
    newest = versions[-1]
    context: dict[str, Any] = {
        "current": current,
        "settings": charter_in_words(current.charter),
        "versions": versions,
        "draft": newest if not newest.frozen else None,
    }
    months = list_places(workspace).months
    if not months:
        return render(request, "charter/show.html", context)
    span_form = build_span_form(request, months)
    if not span_form.is_valid():
        return render(request, "charter/show.html", {**context, "span_form": span_form}, status=400)
    bench = bench_soon(span_form.span())
    context |= {"span_form": span_form, "counting": bench is None}
    if bench is not None:
        context |= {"bench": bench_rows(bench, in_force=current.charter.key), "pair_form": build_pair_form(bench)}
    return render(request, "charter/show.html", context)


@require_GET
def show_moves(request: HttpRequest) -> HttpResponse:
    """The sets that change their class between two definitions, and why."""
    months = list_places(the_workspace()).months
    span_form = build_span_form(request, months)
    bench = bench_over(span_form.span() if span_form.is_valid() else Span())
    form = build_pair_form(bench, request)
    if not form.is_valid():
        return render(request, "charter/moves.html", {"form": form, "span_form": span_form}, status=400)
    first, second = form.cleaned_data["first"], form.cleaned_data["second"]
    page = Paginator(moves_between(bench, first, second), MOVES_ON_A_PAGE).get_page(request.GET.get("page"))
    query = request.GET.copy()
    query.pop("page", None)
    context = {
        "form": form, "span_form": span_form, "first": bench.line(first), "second": bench.line(second),
        "moves_page": page, "moves": move_words(list(page), first=first), "query": query.urlencode(),
    }  # fmt: skip
    return render(request, "charter/moves.html", context)


def build_span_form(request: HttpRequest, months: tuple[str, ...]) -> SpanForm:
    """What the address asks for; without it all months and adults."""
    data = {name: request.GET.get(name, "") for name in ("from_month", "to_month", "people")}
    data["people"] = data["people"] or "adults"
    return SpanForm(data, months=months)


def build_pair_form(bench: Bench, request: HttpRequest | None = None) -> PairForm:
    """Two definitions to choose; A against B to begin with."""
    names = [(line.key, line.name) for line in bench.definitions]
    start = {"first": MAIN_KEYS[0], "second": MAIN_KEYS[1]}
    return PairForm(request.GET if request else None, names=names, initial=start)
