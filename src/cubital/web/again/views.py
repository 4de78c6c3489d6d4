"""A figure from its receipt: the same to the last digit or why not, what left, and what today's data say."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_GET, require_POST

from cubital.domain.answer import Answer, AnswerTable, Verdict
from cubital.domain.errors import CubitalError
from cubital.domain.words import _, day_words
from cubital.web.again.forms import ReceiptForm
from cubital.web.again.offering import read_offer
from cubital.web.answer_words import answer_context, quantity_words
from cubital.web.desk import the_workspace
from cubital.workspace.asking import ask_again
from cubital.workspace.receipts import keep_receipt, list_receipts, receipt_words
from cubital.workspace.reproducing import (
    Difference,
    Reproduced,
    Sameness,
    again,
    exact_words,
    pin_words,
    sameness_words,
)

LISTED = 50


@require_GET
def show_again(request: HttpRequest) -> HttpResponse:
    """The form, the receipts that were kept, and, with a code, what became of it."""
    form = ReceiptForm(request.GET if "receipt" in request.GET else None)
    context: dict[str, Any] = {"form": form}
    status = 200
    if form.is_bound:
        status = 400
        if form.is_valid():
            try:
                context |= _found_context(again(the_workspace(), form.cleaned_data["receipt"]))
                status = 200
            except CubitalError as problem:
                form.add_error("receipt", problem.sentence())
    context["kept"] = [
        {"code": one.code, "day": day_words(one.made_at.date()), "question": one.said["question"]}
        for one in list_receipts(the_workspace(), limit=LISTED)
    ]
    return render(request, "again/again.html", context, status=status)


@require_POST
def keep(request: HttpRequest) -> HttpResponse:
    """Asks the question of a page once more, keeps its receipt, and shows it."""
    offer = read_offer(request.POST.get("offer", ""))
    if offer is None:
        messages.error(request, _("Cubital was started anew since that page was made. Open the page again."))
        return redirect("again")
    question, asked = offer
    workspace = the_workspace()
    answer = ask_again(workspace, question=question, asked=asked)
    code = keep_receipt(workspace, question=question, asked=asked, answer=answer)
    if not code:
        messages.error(request, receipt_words(code))
        return redirect("again")
    messages.success(request, _("Kept as {code}.").format(code=code))
    return redirect(f"{reverse('again')}?receipt={code}")


def _found_context(found: Reproduced) -> dict[str, Any]:
    today = found.today
    return {
        "found": found,
        "same": found.sameness in (Sameness.SAME, Sameness.WORDS_DIFFER),
        "said": sameness_words(found),
        "how": _("What left was {how}, by Cubital {version}.").format(
            how=pin_words(found.kept.pin), version=found.kept.code_version
        ),
        "differences": _table(found.differences, _("What left and what comes out now")),
        "today_sentence": today.sentence if today else "",
        "moved": _table(found.moved, _("What left and what today's data say")),
        **answer_context(found.answer),
    }  # fmt: skip


def _table(differences: Sequence[Difference], title: str) -> dict[str, Any] | None:
    """The figures beside each other, as the template of a table takes them."""
    if not differences:
        return None
    rows = tuple((one.label, *_values(one)) for one in differences)
    table = AnswerTable(title=title, columns=(_("Figure"), _("Left"), _("Now")), rows=rows)
    words = answer_context(Answer(question="", verdict=Verdict.ESTIMATE, sentence="", table=table))
    return {"table": table, "rows": words["rows"], "numeric": words["numeric"]}


def _values(one: Difference) -> tuple[str, str]:
    """Both values in words; with every digit where the words would be the same."""
    left, now = (_("no value") if v is None else quantity_words(v, one.unit) for v in (one.left, one.now))
    return (left, now) if left != now else exact_words(one)
