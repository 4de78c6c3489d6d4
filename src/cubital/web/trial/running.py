"""A sealed trial: what was agreed, what each look said, and its papers."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.http import FileResponse, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_GET, require_POST

from cubital.domain.errors import RequestProblem
from cubital.domain.words import _, day_words, grouped_words, share_words
from cubital.papers.trial_page import analysis_words, fingerprint_words, looks_words
from cubital.web.answer_words import answer_context
from cubital.web.desk import the_workspace
from cubital.web.downloading import send_made_file
from cubital.web.trial.order import order_rows
from cubital.workspace.trial_looks import list_looks, look_at_trial, trial_result
from cubital.workspace.trial_papers import looked_words, print_protocol, print_result, sealed_words
from cubital.workspace.trials import SealedTrial, get_protocol


@require_GET
def show(request: HttpRequest, number: int) -> HttpResponse:
    """The plan, and the answer of the last look where there was one."""
    workspace = the_workspace()
    trial, looks = get_protocol(workspace, number), list_looks(workspace, number)
    context = _plan_context(trial)
    context["looks"] = [(looked_words(one), share_words(one.share, 0)) for one in looks]
    context["ended"] = bool(looks) and looks[-1].closes
    if looks:
        context |= answer_context(trial_result(workspace, number=number))
    return render(request, "trial/one.html", context)


@require_POST
def look(request: HttpRequest, number: int) -> HttpResponse:
    """Looks at the trial and keeps the look; what stands against it is said, and then none is counted."""
    try:
        look_at_trial(the_workspace(), number=number, end=request.POST.get("end") == "yes")
    except RequestProblem as problem:
        messages.error(request, problem.sentence())
    else:
        messages.success(request, _("The look is kept."))
    return redirect("trial-one", number=number)


@require_GET
def protocol(request: HttpRequest, number: int) -> FileResponse:
    """The protocol on one page, A4 or Letter."""
    size = _size(request)
    return send_made_file(
        f"trial-{number}-protocol-{size}.pdf",
        lambda out: print_protocol(the_workspace(), number=number, out=out, paper=size),
    )


@require_GET
def result(request: HttpRequest, number: int) -> FileResponse:
    """The result on one page: for others, or the trial's own where the address says so."""
    size, own = _size(request), request.GET.get("own") == "yes"
    return send_made_file(
        f"trial-{number}-result-{size}{'-own' if own else ''}.pdf",
        lambda out: print_result(the_workspace(), number=number, out=out, paper=size, own=own),
    )


def _size(request: HttpRequest) -> str:
    return "letter" if request.GET.get("paper") == "letter" else "a4"


def _plan_context(trial: SealedTrial) -> dict[str, Any]:
    plan = trial.plan
    return {
        "trial": trial,
        "plan": plan,
        "span": _("{start} to {end}").format(start=day_words(plan.start), end=day_words(plan.end)),
        "sets_per_arm": grouped_words(plan.sets_per_arm),
        "analysis": analysis_words(plan),
        "planned_looks": looks_words(plan),
        "sealed": sealed_words(trial),
        "fingerprint": fingerprint_words(trial.fingerprint),
        "order": order_rows(plan.stretches, plan.design),
        "in_turns": plan.design.in_turns,
        "seed": plan.seed,
    }
