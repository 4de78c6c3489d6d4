"""How long must the trial run? And sealing what was agreed, before its data are there."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_GET, require_POST

from cubital.domain.errors import RequestProblem
from cubital.domain.words import _, grouped_words
from cubital.web.answer_words import answer_context
from cubital.web.desk import the_workspace
from cubital.web.trial.forms import PLANNING, PlanForm, SealForm
from cubital.web.trial.order import order_rows
from cubital.workspace.trial_drafts import draft_plan
from cubital.workspace.trial_planning import PlannedTrial, plan_trial
from cubital.workspace.trials import list_protocols, seal_protocol


@require_GET
def plan(request: HttpRequest) -> HttpResponse:
    """The form; with it filled in, the answer, the order, and the form to seal it."""
    form = PlanForm(request.GET or None)
    if not request.GET:
        return _page(request, form)
    if not form.is_valid():
        return _page(request, form, status=400)
    try:
        planned = plan_trial(the_workspace(), form.ask())
    except RequestProblem as problem:
        form.add_error(None, problem.sentence())
        return _page(request, form, status=400)
    seal_form = SealForm(initial={**{name: request.GET.get(name, "") for name in (*PLANNING, "looks")},
                                  "seed": planned.seed, "meaningful": "1"})  # fmt: skip
    return _page(request, form, planned=planned, seal_form=seal_form)


@require_POST
def seal(request: HttpRequest) -> HttpResponse:
    """Seals a plan; what is missing is asked for beside the answer, and nothing is lost."""
    form = SealForm(request.POST)
    again = PlanForm(request.POST)
    planned = None
    try:
        planned = plan_trial(the_workspace(), again.ask()) if again.is_valid() else None
        if form.is_valid() and planned is not None:
            held = form.cleaned_data
            sealed = seal_protocol(
                the_workspace(), plan=draft_plan(the_workspace(), planned, form.words()), by=held["by"],
                role=held["role"], late=held["late"],
            )  # fmt: skip
            messages.success(request, _("Trial {number} is sealed.").format(number=sealed.number))
            return redirect("trial-one", number=sealed.number)
    except RequestProblem as problem:
        form.add_error(None, problem.sentence())
    return _page(request, again, planned=planned, seal_form=form, status=400)


def _page(
    request: HttpRequest, form: PlanForm, *, planned: PlannedTrial | None = None, seal_form: SealForm | None = None,
    status: int = 200,
) -> HttpResponse:  # fmt: skip
    context: dict[str, Any] = {"form": form, "sealed": list_protocols(the_workspace())}
    if planned is not None:
        context |= {
            **answer_context(planned.answer),
            "order": order_rows(planned.stretches, planned.request.design),
            "in_turns": planned.request.design.in_turns,
            "seed": planned.seed,
            "sets_per_arm": grouped_words(planned.sets_per_arm),
            "seal_form": seal_form if planned.stretches and not planned.tangled else None,
        }
    return render(request, "trial/plan.html", context, status=status)
