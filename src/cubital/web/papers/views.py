"""Everything that can be printed or saved; the committee's packs, made and kept; the minute of the meeting."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.http import FileResponse, Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from cubital.domain.errors import PolicyProblem, RequestProblem
from cubital.domain.words import _, day_words
from cubital.papers.minute_page import Outcome
from cubital.web.answer_words import MARKS
from cubital.web.desk import the_workspace
from cubital.web.downloading import send_made_file
from cubital.web.month.places import month_choices, network_name
from cubital.web.papers.forms import MinuteForm, PackForm
from cubital.web.papers.listing import list_papers
from cubital.workspace.minutes import build_minute, write_minute
from cubital.workspace.packs import Pack, PackAsk, PackWords, get_pack, list_packs, make_pack, print_pack
from cubital.workspace.places import Places, list_places

QUARTER = 3


@require_GET
def papers(request: HttpRequest) -> HttpResponse:
    """The list of everything that can be taken along, each with a link to where it is made."""
    return render(request, "papers/papers.html", {"groups": list_papers(the_workspace())})


@require_http_methods(["GET", "POST"])
def packs(request: HttpRequest) -> HttpResponse:
    """The packs that were made, and the form for the next one."""
    places = list_places(the_workspace())
    form = _pack_form(request, places) if places.months else None
    if request.method == "POST" and form is not None and form.is_valid():
        try:
            made = _make(form)
        except (RequestProblem, PolicyProblem) as problem:
            form.add_error(None, problem.sentence())
        else:
            messages.success(request, _("Pack {number} is made and kept.").format(number=made.number))
            return redirect("pack-kept", made.number)
    kept = [(one, day_words(one.made_on), MARKS[one.verdict]) for one in reversed(list_packs(the_workspace()))]
    status = 400 if form is not None and form.errors else 200
    return render(request, "papers/packs.html", {"form": form, "packs": kept}, status=status)


@require_GET
def pack(request: HttpRequest, number: int) -> HttpResponse:
    """One pack as it was made, with the form for its minute."""
    found = _found(number)
    form = MinuteForm(initial={"decision": Outcome.AGREED.value, "on": found.made_on})
    return _pack_page(request, found, form, status=200)


@require_GET
def print_kept(request: HttpRequest, number: int) -> FileResponse:
    """The pack as PDF, exactly as it was made, A4 or Letter."""
    found = _found(number)
    size = "letter" if request.GET.get("paper") == "letter" else "a4"
    name = f"pack-{number}-{found.from_month}-to-{found.to_month}-{size}.pdf"
    return send_made_file(name, lambda out: print_pack(the_workspace(), number=number, out=out, paper=size))


@require_POST
def minute(request: HttpRequest, number: int) -> HttpResponse | FileResponse:
    """The draft minute as one page or as plain text."""
    found = _found(number)
    form = MinuteForm(request.POST)
    if form.is_valid():
        given = form.cleaned_data
        try:
            content = build_minute(
                the_workspace(), pack=number, outcome=Outcome(given["decision"] or Outcome.OPEN),
                wording=given["wording"], on=given["on"],
            )  # fmt: skip
        except RequestProblem as problem:
            form.add_error(None, problem.sentence())
        else:
            size = "letter" if request.POST.get("paper") == "letter" else "a4"
            name = f"minute-of-pack-{number}.{'txt' if given['kind'] == 'txt' else 'pdf'}"
            return send_made_file(name, lambda out: write_minute(content, out=out, paper=size))
    return _pack_page(request, found, form, status=400)


def _pack_form(request: HttpRequest, places: Places) -> PackForm:
    months = places.months
    first = months[max(0, len(months) - QUARTER)]
    facilities = [one.name for one in places.facilities]
    choices: list[tuple[str, Any]] = [(name, name) for name in facilities]
    initial = {"from_month": first, "to_month": months[-1], "facility": facilities[0] if len(facilities) == 1 else ""}
    return PackForm(
        request.POST if request.method == "POST" else None, months=month_choices(places),
        facilities=[("", network_name()), *choices], initial=initial,
    )  # fmt: skip


def _make(form: PackForm) -> Pack:
    given = form.cleaned_data
    ask = PackAsk(
        from_month=given["from_month"], to_month=given["to_month"], facility=given["facility"] or None
    )  # fmt: skip
    return make_pack(the_workspace(), ask=ask, words=PackWords(message=given["message"], ask=given["ask"]))


def _pack_page(request: HttpRequest, found: Pack, form: MinuteForm, *, status: int) -> HttpResponse:
    context = {
        "pack": found, "form": form, "made": day_words(found.made_on), "mark": MARKS[found.verdict],
        "heading": found.said["printed"]["heading"], "restated": found.said["restated_sentence"],
        "rows": found.said["restated"],
    }  # fmt: skip
    return render(request, "papers/pack.html", context, status=status)


def _found(number: int) -> Pack:
    try:
        return get_pack(the_workspace(), number)
    except RequestProblem as problem:
        raise Http404(problem.sentence()) from problem
