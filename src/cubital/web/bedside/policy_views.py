"""The policy on collecting, on the page *Bedside*: take it out, bring a new version, approve it."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.http import FileResponse, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from cubital.bedside.policy_file import changed_policy_values, flat_values, read_policy, write_policy
from cubital.domain.collection import CollectionPolicy
from cubital.domain.errors import FileProblem
from cubital.domain.words import _
from cubital.papers.out_files import write_whole
from cubital.reference.collection_guidance import Guidance, guidance_for
from cubital.web.bedside.forms import PolicyFileForm
from cubital.web.bedside.views import today
from cubital.web.desk import the_workspace
from cubital.web.downloading import send_made_file
from cubital.web.policy.forms import ApproveForm
from cubital.workspace.collecting import (
    LONGEST_POLICY_FILE,
    approve_collection_policy,
    current_collection_policy,
    find_collection_policy,
    save_collection_policy,
)


@require_GET
def take_policy_file(request: HttpRequest) -> FileResponse:
    """The policy in force as one readable file."""
    del request
    policy = current_collection_policy(the_workspace())
    return send_made_file("policy-on-collecting.toml", lambda out: write_whole(out, write_policy(policy).encode()))


@require_POST
def bring_policy(request: HttpRequest) -> HttpResponse:
    """Keeps a policy file as the next draft and leads on to its approval."""
    form = PolicyFileForm(request.POST, request.FILES)
    if not form.is_valid():
        return render(request, "bedside/bring.html", {"form": form}, status=400)
    brought = form.cleaned_data["file"]
    if brought.size > LONGEST_POLICY_FILE:
        raise FileProblem(_("this is far too long for a policy."), where=brought.name)
    try:
        text = brought.read().decode("utf-8")
    except UnicodeDecodeError:
        raise FileProblem(_("this file is no text."), where=brought.name) from None
    saved = save_collection_policy(the_workspace(), policy=read_policy(text, where=brought.name))
    messages.success(request, _("Draft {version} is kept. It gives no number until it is approved.").format(
        version=saved.version
    ))  # fmt: skip
    return redirect("bedside-policy-approve", version=saved.version)


@require_http_methods(["GET", "POST"])
def approve(request: HttpRequest, version: int) -> HttpResponse:
    """What the draft changes, what has been published beside it, and the form to approve it."""
    workspace = the_workspace()
    draft = find_collection_policy(workspace, version)
    form = ApproveForm(request.POST or None, initial={"on": today()})
    if request.method == "POST" and form.is_valid():
        entered = form.cleaned_data
        approve_collection_policy(
            workspace, version=version, approved_by=entered["name"], on=entered["on"], review_by=entered["review_by"]
        )
        messages.success(request, _("Version {version} is approved and speaks from now on.").format(version=version))
        return redirect("bedside")
    in_force = current_collection_policy(workspace)
    changes = changed_policy_values(in_force, draft) if in_force.approved_by else _everything(draft)
    context: dict[str, Any] = {"draft": draft, "form": form, "changes": changes, "guidance": _published(changes)}
    return render(request, "bedside/approve.html", context, status=400 if request.method == "POST" else 200)


def _everything(draft: CollectionPolicy) -> list[tuple[str, Any, Any]]:
    """Every value of a first version: whoever approves it approves all of it."""
    return [(path, None, value) for path, value in flat_values(draft).items()]


def _published(changes: list[tuple[str, Any, Any]]) -> list[Guidance]:
    """What has been published about the fields that change, each statement once."""
    found: dict[str, Guidance] = {}
    for path, _old, _new in changes:
        for entry in guidance_for(path):
            found.setdefault(entry.words, entry)
    return list(found.values())
