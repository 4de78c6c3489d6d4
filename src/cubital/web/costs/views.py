"""Is it worth it, and what does one contaminated set cost: from inputs that are not kept unless somebody says so."""

from __future__ import annotations

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_GET, require_http_methods

from cubital.answers.contamination_cost import published_table
from cubital.answers.worth_tables import accepts_table, grid_table, inputs_table, options_table
from cubital.domain.answer import Answer, AnswerTable, Verdict
from cubital.domain.costs import CostTable
from cubital.domain.errors import FileProblem, RequestProblem
from cubital.web.answer_words import answer_context
from cubital.web.costs.forms import WorthForms, table_text
from cubital.web.desk import the_inbox, the_workspace
from cubital.web.uploading import discard_upload, keep_upload
from cubital.workspace.costs import current_costs, read_costs
from cubital.workspace.worth_answers import Worth, contamination_cost_of, worth_of, worth_with_counts
from cubital.workspace.worth_counts import CountsAsk

CARRIED = ("counted", "facility", "unit", "from_month", "to_month", "first_hour", "end_hour")


@require_http_methods(["GET", "POST"])
def costs(request: HttpRequest) -> HttpResponse:
    """The list of money questions and the form of the first; after it the answer."""
    kept = current_costs(the_workspace())
    if request.method == "GET":
        forms = WorthForms.empty(kept.table if kept else None)
        return render(request, "costs/ask.html", {"forms": forms, "kept": kept})
    if "change" in request.POST:
        return render(request, "costs/ask.html", {"forms": _once_more(request), "kept": None})
    forms = WorthForms.of(request.POST, request.FILES)
    if forms.is_valid():
        try:
            worth = _worth(forms)
        except FileProblem as problem:
            forms.about.add_error("file" if forms.about.cleaned_data["file"] else "text", problem.sentence())
        except RequestProblem as problem:
            forms.about.add_error("counted", problem.sentence())
        else:
            return render(request, "costs/answer.html", _context(forms, worth))
    return render(request, "costs/ask.html", {"forms": forms, "kept": kept}, status=400)


@require_GET
def each(request: HttpRequest) -> HttpResponse:
    """What one contaminated set costs, from the inputs that are kept, beside what is published."""
    kept = current_costs(the_workspace())
    context: dict[str, Any] = {"kept": kept, "published": shown_table(published_table())}
    if kept is not None:
        context |= answer_context(contamination_cost_of(kept.table))
    return render(request, "costs/each.html", context)


def _once_more(request: HttpRequest) -> WorthForms:
    """The form with everything that an answer was made from; as it was sent where that is no table."""
    try:
        table = read_costs(request.POST.get("text", ""))
    except FileProblem:
        return WorthForms.of(request.POST, None)
    return WorthForms.empty(table, carried={name: request.POST.get(name, "") for name in CARRIED})


def counts_ask(cleaned: dict[str, Any], hours: tuple[int, int] | None) -> CountsAsk:
    """Where draws are counted, from a form that is valid."""
    place = {name: cleaned[name] or None for name in ("facility", "unit", "from_month", "to_month")}
    return CountsAsk(**place, hours=hours)


def shown_table(table: AnswerTable) -> dict[str, Any]:
    """What the template of a table needs."""
    holder = Answer(question="", verdict=Verdict.ESTIMATE, sentence="", table=table)
    context = answer_context(holder)
    return {"table": table, "rows": context["rows"], "numeric": context["numeric"]}


def _worth(forms: WorthForms) -> Worth:
    about = forms.about.cleaned_data
    table = forms.table if forms.table is not None else _brought(forms)
    forms.table = table
    if not about["counted"]:
        return worth_of(table)
    return worth_with_counts(the_workspace(), table=table, ask=counts_ask(about, forms.about.hours()))


def _brought(forms: WorthForms) -> CostTable:
    file = forms.about.cleaned_data["file"]
    if not file:
        return read_costs(str(forms.about.cleaned_data["text"]))
    place = keep_upload(file, the_inbox())
    try:
        return read_costs(place)
    finally:
        discard_upload(place)


def _context(forms: WorthForms, worth: Worth) -> dict[str, Any]:
    about = forms.about.cleaned_data
    context = {
        **answer_context(worth.answer), "counted_here": worth.counted is not None,
        "inputs": shown_table(inputs_table(worth.table)), "text": table_text(forms.table or worth.table),
        "carried": {name: about[name] if about[name] is not None else "" for name in CARRIED},
    }  # fmt: skip
    if worth.reading is None:
        return context
    first = worth.reading.first
    tables = (
        options_table(worth.reading), grid_table(worth.reading, first), accepts_table(worth.reading, first),
    )  # fmt: skip
    return {**context, "tables": [shown_table(table) for table in tables]}
