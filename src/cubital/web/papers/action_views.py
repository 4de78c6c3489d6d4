"""The log of actions: the list, one action with its story, and what happened to it."""

from __future__ import annotations

from datetime import date

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from cubital.answers.action_log import due_words, state_words
from cubital.domain.actions import Action, ActionStep, StepKind
from cubital.domain.errors import RequestProblem
from cubital.domain.words import _, day_words
from cubital.web.answer_words import answer_context
from cubital.web.desk import the_workspace
from cubital.web.diary.words import place_list
from cubital.web.month.places import read_place
from cubital.web.papers.forms import ActionForm, StepForm
from cubital.workspace.actions import (
    NewAction,
    action_log_answer,
    finish_action,
    get_action,
    list_actions,
    move_action,
    note_on_action,
    open_action,
    reopen_action,
)


@require_http_methods(["GET", "POST"])
def actions(request: HttpRequest) -> HttpResponse:
    """The log, and the form that opens an action."""
    form = ActionForm(request.POST or None, places=place_list())
    if request.method == "POST" and form.is_valid():
        place = read_place(form.cleaned_data["place"], "")
        new = NewAction(
            **{name: form.cleaned_data[name] for name in ("words", "owner", "due_on", "because")},
            facility=place.facility, unit=place.unit,
        )  # fmt: skip
        try:
            opened = open_action(the_workspace(), action=new)
        except RequestProblem as problem:
            form.add_error(None, problem.sentence())
        else:
            messages.success(request, _("Action {number} is open.").format(number=opened.number))
            return redirect("actions")
    today = _today()
    context = {
        "form": form,
        "lines": [(one, state_words(one, today), due_words(one)) for one in _ordered(today)],
        **answer_context(action_log_answer(the_workspace())),
    }
    return render(request, "papers/actions.html", context, status=400 if form.errors else 200)


@require_GET
def action(request: HttpRequest, number: int) -> HttpResponse:
    """One action with its story."""
    found = _found(number)
    return _action_page(request, found, _fresh_form(found), status=200)


@require_POST
def add_step(request: HttpRequest, number: int) -> HttpResponse:
    """Keeps what happened."""
    found = _found(number)
    form = StepForm(request.POST, is_open=found.is_open)
    if form.is_valid():
        try:
            _keep(found, form)
        except RequestProblem as problem:
            form.add_error(None, problem.sentence())
        else:
            messages.success(request, _("Kept with action {number}.").format(number=number))
            return redirect("action", number)
    return _action_page(request, found, form, status=400)


def _keep(found: Action, form: StepForm) -> None:
    given, workspace = form.cleaned_data, the_workspace()
    kind = StepKind(given["what"])
    day, words = given["on"], given["words"]
    if kind is StepKind.NOTED:
        note_on_action(workspace, number=found.number, words=words, on=day)
    elif kind is StepKind.MOVED:
        move_action(
            workspace, number=found.number, due_on=given["due_on"], owner=given["owner"], words=words, on=day
        )  # fmt: skip
    elif kind is StepKind.REOPENED:
        reopen_action(workspace, number=found.number, words=words, on=day)
    else:
        finish_action(workspace, number=found.number, dropped=kind is StepKind.DROPPED, words=words, on=day)


def _action_page(request: HttpRequest, found: Action, form: StepForm, *, status: int) -> HttpResponse:
    today = _today()
    context = {
        "action": found, "form": form, "state": state_words(found, today), "due": due_words(found),
        "opened": day_words(found.opened_on), "age": found.age_days(today),
        "steps": [_step_words(step) for step in found.steps],
    }  # fmt: skip
    return render(request, "papers/action.html", context, status=status)


def _step_words(step: ActionStep) -> tuple[str, str, str]:
    what = {
        StepKind.MOVED: _("moved"), StepKind.NOTED: _("noted"), StepKind.DONE: _("done"),
        StepKind.DROPPED: _("dropped"), StepKind.REOPENED: _("opened again"),
    }[step.kind]  # fmt: skip
    parts = [step.words]
    if step.owner:
        parts.append(_("new owner: {owner}").format(owner=step.owner))
    if step.due_on:
        parts.append(_("new day: {day}").format(day=day_words(step.due_on)))
    return day_words(step.on), what, " · ".join(part for part in parts if part)


def _ordered(today: date) -> list[Action]:
    """Open ones first, the longest overdue on top, as in the answer."""
    return sorted(
        list_actions(the_workspace()),
        key=lambda one: (not one.is_open, -one.overdue_days(today), one.due_on, one.number),
    )


def _fresh_form(found: Action) -> StepForm:
    return StepForm(is_open=found.is_open, initial={"on": _today()})


def _found(number: int) -> Action:
    try:
        return get_action(the_workspace(), number)
    except RequestProblem as problem:
        raise Http404(problem.sentence()) from problem


def _today() -> date:
    return date.today()  # noqa: DTZ011 - a log runs by the calendar of the desk
