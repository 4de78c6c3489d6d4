"""The page *Bedside*, the card, the papers and the label."""

from __future__ import annotations

from datetime import date

from django.http import FileResponse, HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.safestring import mark_safe
from django.views.decorators.http import require_GET

from cubital.bedside.label import Stock
from cubital.bedside.label_answer import LabelRequest, answer_label
from cubital.bedside.paper_names import SHEETS
from cubital.bedside.permission import deferral, why_silent
from cubital.domain.collection import CollectionPolicy
from cubital.domain.errors import RequestProblem
from cubital.domain.words import _
from cubital.papers.card_page import build_card, card_content_policy
from cubital.papers.label_sheet import label_picture
from cubital.web.bedside.forms import LabelForm, PolicyFileForm
from cubital.web.desk import the_workspace
from cubital.web.downloading import send_made_file
from cubital.web.trouble import show_trouble
from cubital.workspace.bedside_files import write_card, write_label_sheet, write_sheet
from cubital.workspace.collecting import current_collection_policy, list_collection_policies


def today() -> date:
    """The local day: review days are local days."""
    return date.today()  # noqa: DTZ011


@require_GET
def show_bedside(request: HttpRequest) -> HttpResponse:
    """The card, the papers, the label's place and the versions of the policy."""
    workspace = the_workspace()
    policy = current_collection_policy(workspace)
    versions = list(reversed(list_collection_policies(workspace)))
    return render(
        request,
        "bedside/show.html",
        {
            "policy": policy, "silent": why_silent(policy, today()), "deferral": deferral(policy),
            "papers": _paper_words(), "label_form": LabelForm(policy), "file_form": PolicyFileForm(),
            "versions": versions, "draft": versions[0] if versions and not versions[0].approved_by else None,
        },
    )  # fmt: skip


def _paper_words() -> list[tuple[str, str]]:
    words = {
        "volumes": _("How much blood, for the ward wall"),
        "short-draw": _("Short draw, for the trolley"),
        "stop-line": _("Stop lines to stick on a bottle"),
        "badge": _("Order of steps, for the badge"),
        "leaflet": _("For patients and families"),
    }
    return [(kind, words[kind]) for kind in SHEETS]


@require_GET
def show_card(request: HttpRequest) -> HttpResponse:
    """The card as it is on a phone. No session is asked for: there is no patient on it."""
    policy = current_collection_policy(the_workspace())
    if silent := why_silent(policy, today()):
        return show_trouble(
            request, heading=_("There is no card."), what=silent, status=409,
            fix=_("The owner of the policy approves it on the page Bedside."),
        )  # fmt: skip
    card = build_card(policy, today=today())
    response = HttpResponse(card, content_type="text/html; charset=utf-8")
    response.headers["Content-Security-Policy"] = card_content_policy()
    return response


@require_GET
def take_card(request: HttpRequest) -> FileResponse:
    """The card as one file, to be carried anywhere."""
    del request
    policy = current_collection_policy(the_workspace())
    return send_made_file("bedside-card.html", lambda out: write_card(policy, out=out, today=today()))


@require_GET
def take_paper(request: HttpRequest, kind: str, paper: str) -> FileResponse:
    """One of the papers as PDF."""
    del request
    if kind not in SHEETS:
        raise RequestProblem(_("there is no paper '{kind}'.").format(kind=kind))
    policy = current_collection_policy(the_workspace())
    bottle = policy.adult.aerobic
    return send_made_file(
        f"{kind}.pdf",
        lambda out: write_sheet(policy, kind, out=out, paper=paper, today=today(), bottle=bottle),
    )


@require_GET
def show_label(request: HttpRequest) -> HttpResponse:
    """Where this label goes on this bottle, with the picture; or which dimension fails."""
    policy = current_collection_policy(the_workspace())
    form = LabelForm(policy, request.GET)
    if not form.is_valid():
        return render(request, "bedside/label.html", {"form": form, "answer": None}, status=400)
    bottle, asked = _asked(form)
    answer = answer_label(policy, bottle, asked, today=today())
    silent = why_silent(policy, today())
    picture = "" if silent else mark_safe(label_picture(policy, bottle, asked, today=today()))  # noqa: S308 -- ours, escaped
    return render(
        request,
        "bedside/label.html",
        {"form": form, "answer": answer, "picture": picture, "silent": silent, "query": request.GET.urlencode()},
    )


@require_GET
def take_label_sheet(request: HttpRequest) -> HttpResponse | FileResponse:
    """The true-size sheet as PDF."""
    policy: CollectionPolicy = current_collection_policy(the_workspace())
    form = LabelForm(policy, request.GET)
    if not form.is_valid():
        return render(request, "bedside/label.html", {"form": form, "answer": None}, status=400)
    bottle, asked = _asked(form)
    paper = request.GET.get("paper", "a4")
    return send_made_file(
        "label-position.pdf",
        lambda out: write_label_sheet(policy, bottle, asked, out=out, paper=paper, today=today()),
    )


def _asked(form: LabelForm) -> tuple[str, LabelRequest]:
    entered = form.cleaned_data
    sides = sorted((entered["long_mm"], entered["short_mm"]), reverse=True)
    stock = Stock(long_mm=sides[0], short_mm=sides[1])
    return entered["bottle"], LabelRequest(stock=stock, accession=entered["accession"])
