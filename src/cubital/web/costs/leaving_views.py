"""What leaves of a money question, and what is kept: workbook, business case, the inputs as a version."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import redirect, render
from django.views.decorators.http import require_POST

from cubital.domain.errors import CubitalError, FileProblem, RequestProblem
from cubital.domain.words import _
from cubital.web.costs.forms import AboutForm
from cubital.web.costs.views import counts_ask
from cubital.web.desk import the_workspace
from cubital.web.downloading import send_made_file
from cubital.workspace.costs import read_costs, save_costs
from cubital.workspace.worth_answers import Worth, worth_of, worth_with_counts
from cubital.workspace.worth_files import write_business_case, write_finance_workbook

PAPERS = {"a4": "business-case-a4.pdf", "letter": "business-case-letter.pdf"}


@require_POST
def leave(request: HttpRequest) -> HttpResponseBase:
    """The workbook or the paper, made anew from the inputs that came with the request."""
    wanted = request.POST.get("as", "")
    try:
        worth = _worth_of_request(request)
        if wanted == "workbook":
            return send_made_file(
                "is-it-worth-it.xlsx", lambda out: write_finance_workbook(the_workspace(), worth=worth, out=out)
            )
        paper = wanted if wanted in PAPERS else "a4"
        return send_made_file(
            PAPERS[paper], lambda out: write_business_case(the_workspace(), worth=worth, out=out, paper=paper)
        )
    except CubitalError as problem:
        return _refused(request, problem)


@require_POST
def keep(request: HttpRequest) -> HttpResponse:
    """Keeps the inputs as the next version and goes back to the form, which begins with them from then on."""
    try:
        save_costs(
            the_workspace(), table=read_costs(request.POST.get("text", "")),
            noted_by=request.POST.get("noted_by", ""), role=request.POST.get("role", ""),
        )  # fmt: skip
    except (FileProblem, RequestProblem) as problem:
        return _refused(request, problem)
    return redirect("costs")


def _worth_of_request(request: HttpRequest) -> Worth:
    form = AboutForm(request.POST)
    if not form.is_valid():
        raise RequestProblem(_("what was asked for cannot be read."), fix=_("Ask again from the page."))
    table = read_costs(str(form.cleaned_data["text"]))
    if not form.cleaned_data["counted"]:
        return worth_of(table)
    return worth_with_counts(the_workspace(), table=table, ask=counts_ask(form.cleaned_data, form.hours()))


def _refused(request: HttpRequest, problem: CubitalError) -> HttpResponse:
    return render(request, "costs/refused.html", {"trouble": problem.sentence()}, status=400)
