"""The page *Diary*: what changed and what can be tested; one entry with its history, corrected or withdrawn."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from cubital.answers.diary import change_words, entry_words
from cubital.domain.diary import ChangeKind
from cubital.domain.errors import RequestProblem
from cubital.domain.words import _
from cubital.web.answer_words import answer_context
from cubital.web.desk import the_workspace
from cubital.web.diary.forms import CorrectForm, DiaryTableForm, EntryForm, WithdrawForm
from cubital.web.diary.words import entry_line, history_lines, place_list
from cubital.web.month.places import place_key, read_place
from cubital.workspace.diary import (
    correct_entry,
    entry_history,
    find_entry,
    list_entries,
    note_entry,
    withdraw_entry,
)
from cubital.workspace.diary_answers import find_diary

WITHDRAWING = "withdraw_%s"  # two forms stand on one page, and each names its fields apart


@require_http_methods(["GET", "POST"])
def diary(request: HttpRequest) -> HttpResponse:
    """Everything in the diary with its warnings; a change is noted here."""
    form = EntryForm(request.POST or None, places=place_list())
    if request.method == "POST" and form.is_valid():
        try:
            noted = note_entry(the_workspace(), **_entered(form))
        except RequestProblem as problem:
            form.add_error(None, problem.sentence())
        else:
            messages.success(request, _("Noted: {entry}").format(entry=entry_words(noted)))
            return redirect("diary")
    return diary_page(request, form=form, status=400 if form.errors else 200)


def diary_page(
    request: HttpRequest, *, form: EntryForm | None = None, table: DiaryTableForm | None = None, status: int = 200
) -> HttpResponse:
    """The whole page, with the forms as they were sent."""
    workspace = the_workspace()
    found = find_diary(workspace)
    context = {
        "form": form or EntryForm(places=place_list()),
        "table_form": table or DiaryTableForm(),
        "tests": [(entry_words(test.entry), change_words(test)) for test in reversed(found.reading.tests)],
        "entries": [entry_line(one) for one in reversed(list_entries(workspace))],
        **answer_context(found.answer),
    }
    return render(request, "diary/diary.html", context, status=status)


@require_GET
def entry(request: HttpRequest, number: int) -> HttpResponse:
    """One entry: its history, and where it is in force the forms to correct or withdraw it."""
    return _entry_page(request, number)


@require_POST
def correct(request: HttpRequest, number: int) -> HttpResponse:
    """Keeps the corrected entry and ends the old one."""
    form = CorrectForm(request.POST, places=place_list())
    if form.is_valid():
        try:
            new = correct_entry(the_workspace(), number=number, why=form.cleaned_data["why"], **_entered(form))
        except RequestProblem as problem:
            form.add_error(None, problem.sentence())
        else:
            messages.success(request, _("Corrected: {entry}").format(entry=entry_words(new)))
            return redirect("diary-entry", new.number)
    return _entry_page(request, number, correcting=form, status=400)


@require_POST
def withdraw(request: HttpRequest, number: int) -> HttpResponse:
    """Ends an entry; it stays in its history."""
    form = WithdrawForm(request.POST, auto_id=WITHDRAWING)
    if form.is_valid():
        try:
            line = withdraw_entry(the_workspace(), number=number, why=form.cleaned_data["why"])
        except RequestProblem as problem:
            form.add_error(None, problem.sentence())
        else:
            messages.success(request, _("Withdrawn: {entry}").format(entry=entry_words(line.entry)))
            return redirect("diary")
    return _entry_page(request, number, withdrawing=form, status=400)


def _entry_page(
    request: HttpRequest,
    number: int,
    *,
    correcting: CorrectForm | None = None,
    withdrawing: WithdrawForm | None = None,
    status: int = 200,
) -> HttpResponse:
    workspace = the_workspace()
    lines = entry_history(workspace, number)
    context: dict[str, Any] = {"number": number, "lines": history_lines(lines), "words": entry_words(lines[-1].entry)}
    last = lines[-1]
    if last.ended_at is None:
        held = find_entry(workspace, last.entry.number)
        initial = {
            "words": held.words, "kind": held.kind.value, "place": place_key(held.facility, held.unit), "on": held.on,
            "until": held.until, "noted_by": held.noted_by,
        }  # fmt: skip
        context |= {
            "current": held.number,
            "form": correcting or CorrectForm(initial=initial, places=place_list()),
            "withdraw_form": withdrawing or WithdrawForm(auto_id=WITHDRAWING),
        }
    return render(request, "diary/entry.html", context, status=status)


def _entered(form: EntryForm) -> dict[str, Any]:
    entered = form.cleaned_data
    place = read_place(entered["place"], "")
    return {
        "kind": ChangeKind(entered["kind"]), "on": entered["on"], "until": entered["until"], "words": entered["words"],
        "facility": place.facility, "unit": place.unit, "noted_by": entered["noted_by"],
    }  # fmt: skip
