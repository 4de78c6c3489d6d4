"""The page *Policy*: read it, change it into a draft, approve the draft, compare two versions."""

from __future__ import annotations

from datetime import date

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_GET, require_http_methods

from cubital.domain.errors import PolicyProblem
from cubital.domain.policy import Policy
from cubital.domain.words import _
from cubital.web.desk import the_workspace
from cubital.web.policy.forms import ApproveForm, PolicyForms
from cubital.web.policy.words import differences, state_words, value_words
from cubital.workspace.policies import approve_policy, current_policy, list_policies, save_policy


def today() -> date:
    """The local day: review days are local days."""
    return date.today()  # noqa: DTZ011


@require_GET
def show_policy(request: HttpRequest) -> HttpResponse:
    """The policy in force, every value with where it comes from, and the versions there are."""
    workspace = the_workspace()
    policy = current_policy(workspace)
    versions = [(entry, state_words(entry, today())) for entry in reversed(list_policies(workspace))]
    newest = versions[0][0]
    return render(
        request,
        "policy/show.html",
        {
            "policy": policy, "values": value_words(policy), "state": state_words(policy, today()),
            "versions": versions, "draft": None if newest.approved_by else newest,
        },
    )  # fmt: skip


@require_http_methods(["GET", "POST"])
def edit_policy(request: HttpRequest) -> HttpResponse:
    """Every value in a field; saving makes a draft and leaves the approved version in force."""
    workspace = the_workspace()
    newest = list_policies(workspace)[-1]
    forms = PolicyForms(newest, request.POST if request.method == "POST" else None)
    if request.method == "POST" and forms.is_valid():
        saved = save_policy(workspace, policy=forms.build())
        if saved.version == newest.version:
            messages.info(request, _("No value was changed, so there is no new version."))
            return redirect("policy")
        messages.success(
            request, _("Draft {version} is saved. It counts once it is approved.").format(version=saved.version)
        )
        return redirect("policy-approve", version=saved.version)
    return render(request, "policy/edit.html", {"forms": forms}, status=400 if request.method == "POST" else 200)


@require_http_methods(["GET", "POST"])
def approve(request: HttpRequest, version: int) -> HttpResponse:
    """What the draft changes, and the form to approve it."""
    workspace = the_workspace()
    draft = find_version(list_policies(workspace), version)
    form = ApproveForm(request.POST or None, initial={"on": today()})
    if request.method == "POST" and form.is_valid():
        entered = form.cleaned_data
        approve_policy(
            workspace, version=version, approved_by=entered["name"], on=entered["on"], review_by=entered["review_by"]
        )
        messages.success(request, _("Version {version} is approved and in force.").format(version=version))
        return redirect("policy")
    context = {"draft": draft, "form": form, "changes": differences(current_policy(workspace), draft)}
    return render(request, "policy/approve.html", context, status=400 if request.method == "POST" else 200)


@require_GET
def compare(request: HttpRequest) -> HttpResponse:
    """Two versions side by side: what differs."""
    policies = list_policies(the_workspace())
    old, new = (
        find_version(policies, _version(request, name, start))
        for name, start in (("old", policies[0].version), ("new", policies[-1].version))
    )
    context = {"policies": policies, "old": old, "new": new, "changes": differences(old, new)}
    return render(request, "policy/compare.html", context)


def find_version(policies: tuple[Policy, ...], version: int) -> Policy:
    """The policy of that version; ``PolicyProblem`` where there is none."""
    for policy in policies:
        if policy.version == version:
            return policy
    raise PolicyProblem(_("there is no policy version {version}.").format(version=version))


def _version(request: HttpRequest, name: str, otherwise: int) -> int:
    given = request.GET.get(name, "")
    return int(given) if given.isdecimal() and len(given) < 10 else otherwise
