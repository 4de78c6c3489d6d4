"""Writing a charter and agreeing to it: every change is a new version, a signature freezes one."""

from __future__ import annotations

from datetime import date

from django.contrib import messages
from django.http import FileResponse, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_GET, require_http_methods

from cubital.domain.charter import Charter
from cubital.domain.errors import CharterProblem
from cubital.domain.words import _
from cubital.reference.charters import published_charters
from cubital.web.charter.forms import CharterForm, SignForm, charter_values
from cubital.web.charter.words import charter_in_words
from cubital.web.desk import the_workspace
from cubital.web.downloading import send_made_file
from cubital.workspace.charters import current_charter, get_charter, save_charter, sign_charter


@require_http_methods(["GET", "POST"])
def edit_charter(request: HttpRequest) -> HttpResponse:
    """Every rule as a question, from a published definition or from the charter in force; saving makes a version."""
    start = find_start(request.GET.get("start", ""))
    form = CharterForm(request.POST or None, initial=charter_values(start))
    if request.method == "POST" and form.is_valid():
        saved = save_charter(the_workspace(), charter=form.build(start))
        messages.success(
            request, _("Charter {version} is saved. It waits for signatures.").format(version=saved.version)
        )
        return redirect("charter-sign", version=saved.version)
    context = {"form": form, "start": start, "published": published_charters().values()}
    return render(request, "charter/edit.html", context, status=400 if request.method == "POST" else 200)


@require_http_methods(["GET", "POST"])
def sign(request: HttpRequest, version: int) -> HttpResponse:
    """One version, its signatures, and the form for one more."""
    workspace = the_workspace()
    found = get_charter(workspace, version)
    form = SignForm(request.POST or None, initial={"on": date.today()})  # noqa: DTZ011 -- signed on a local day
    if request.method == "POST" and form.is_valid():
        try:
            sign_charter(workspace, version=version, **form.cleaned_data)
        except CharterProblem as problem:
            form.add_error("name", problem.sentence())
        else:
            messages.success(request, _("Charter {version} is signed, frozen and in force.").format(version=version))
            return redirect("charter-sign", version=version)
    context = {"found": found, "settings": charter_in_words(found.charter), "form": form}
    return render(request, "charter/sign.html", context, status=400 if request.method == "POST" else 200)


@require_GET
def charter_paper(request: HttpRequest, version: int) -> FileResponse:
    """One version on one page, with its signatures or the lines for them."""
    from cubital.workspace.printing import print_charter

    paper = "letter" if request.GET.get("paper") == "letter" else "a4"
    workspace = the_workspace()
    return send_made_file(
        f"charter-{version}-{paper}.pdf", lambda out: print_charter(workspace, out=out, paper=paper, version=version)
    )


def find_start(key: str) -> Charter:
    """The definition to begin from: a published one by its key, otherwise the charter in force."""
    if not key:
        return current_charter(the_workspace()).charter
    published = published_charters()
    if key not in published:
        raise CharterProblem(_("there is no published definition '{key}'.").format(key=key[:60]))
    return published[key]
