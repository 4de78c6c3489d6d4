"""How sure, since when: one question at a time about the place and month, and the page that locks a baseline."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_GET, require_http_methods

from cubital.answers.charts.kinds import ChartKind, chart_words
from cubital.answers.counted_words import capital
from cubital.answers.phases import phase_words, proposal_words
from cubital.domain.errors import RequestProblem
from cubital.domain.words import _
from cubital.web.again.offering import offer_receipt
from cubital.web.answer_words import answer_context
from cubital.web.desk import the_workspace
from cubital.web.month.places import Asked, month_choices
from cubital.web.month.take_along import find_asked
from cubital.web.month.views import head
from cubital.web.signal.forms import BaselineForm
from cubital.workspace.baselines import list_baselines, lock_baseline, propose_new_baseline
from cubital.workspace.signals import Question, ask_place


@dataclass(frozen=True, kw_only=True)
class Choice:
    """One question or chart to ask for."""

    url: str
    words: str
    here: bool


def question_words(question: Question) -> str:
    """The question as a person asks it; the month's own question stands on the page *This month*."""
    return {
        Question.REAL: _("Is it really different?"),
        Question.PHASES: _("Against the agreed baseline"),
        Question.SINCE: _("Since when?"),
        Question.BETTER: _("Are we getting better?"),
        Question.BELOW: _("Are we below the target?"),
        Question.GAP: _("We had none for a while: celebrate?"),
        Question.UNITS: _("Would some unit look like that anyway?"),
        Question.NOTICED: _("What month should we have noticed?"),
        Question.CHART: _("How often does the chart cry wolf?"),
    }[question]


@require_GET
def show_question(request: HttpRequest) -> HttpResponse:
    """One of the questions, answered for the place and month of the address."""
    places, asked = find_asked(request)
    question, chart = _asked_question(request)
    answer = ask_place(
        the_workspace(), question=question, chart=chart, month=asked.month, facility=asked.facility, unit=asked.unit
    )
    context = {
        "questions": _question_choices(asked, question),
        "charts": _chart_choices(asked, chart) if question is Question.CHART else [],
        "baseline_url": asked.url("month-baseline"),
        "asked_words": question_words(question),
        **head(places, asked),
        **answer_context(answer),
        **offer_receipt(
            "signal", question=question, chart=chart, month=asked.month, facility=asked.facility, unit=asked.unit
        ),
    }
    return render(request, "signal/question.html", context)


def _asked_question(request: HttpRequest) -> tuple[Question, ChartKind | None]:
    try:
        question = Question(request.GET.get("ask", Question.PHASES))
        chart = ChartKind(request.GET["chart"]) if request.GET.get("chart") else None
    except ValueError:
        raise Http404 from None
    return question, chart


def _question_choices(asked: Asked, question: Question) -> list[Choice]:
    shown = (one for one in Question if one is not Question.REAL)
    return [
        Choice(url=asked.url("month-sure", ask=one.value), words=question_words(one), here=one is question)
        for one in shown
    ]


def _chart_choices(asked: Asked, chart: ChartKind | None) -> list[Choice]:
    chosen = Choice(url=asked.url("month-sure", ask="chart"), words=_("The one that fits"), here=chart is None)
    others = (
        Choice(
            url=asked.url("month-sure", ask="chart", chart=kind.value), words=capital(chart_words(kind)),
            here=kind is chart,
        )
        for kind in ChartKind
    )  # fmt: skip
    return [chosen, *others]


@require_http_methods(["GET", "POST"])
def baseline(request: HttpRequest) -> HttpResponse:
    """The baselines locked for the place, what could be proposed, and the form that locks one."""
    workspace = the_workspace()
    places, asked = find_asked(request)
    form = BaselineForm(
        request.POST or None, months=list(reversed(month_choices(places))),
        initial={"on": date.today(), "last": asked.month},  # noqa: DTZ011 -- signed on a local day
    )  # fmt: skip
    if request.method == "POST" and form.is_valid():
        try:
            lock_baseline(workspace, facility=asked.facility, unit=asked.unit, **form.cleaned_data)
        except RequestProblem as problem:
            form.add_error(None, problem.sentence())
        else:
            messages.success(request, _("The baseline is locked. Months from its first on are measured against it."))
            return redirect(asked.url("month-baseline"))
    proposal = propose_new_baseline(workspace, facility=asked.facility, unit=asked.unit)
    context = {
        "form": form,
        "phases": [phase_words(one) for one in list_baselines(workspace, facility=asked.facility, unit=asked.unit)],
        "proposal": proposal_words(proposal) if proposal else "",
        "sure_url": asked.url("month-sure"),
        "here_url": asked.url("month-baseline"),
        **head(places, asked),
    }
    return render(request, "signal/baseline.html", context, status=400 if request.method == "POST" else 200)
