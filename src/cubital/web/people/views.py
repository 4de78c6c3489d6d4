"""The page *People*: the step that opens it, the order of support, the staff list."""

from __future__ import annotations

from django.contrib import messages
from django.core.files.uploadedfile import TemporaryUploadedFile
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_GET, require_POST

from cubital.answers.people import build_people_answer
from cubital.domain.words import month_words
from cubital.web.answer_words import answer_context
from cubital.web.desk import the_inbox, the_workspace
from cubital.web.people.forms import Choices, OpenForm, StaffForm
from cubital.web.people.opened import Opened, add_names, close_page, open_page, opened_only, what_is_open
from cubital.web.people.words import queue_words, with_names
from cubital.web.uploading import discard_upload, keep_upload
from cubital.workspace.facilities import list_facilities
from cubital.workspace.people import Purpose, list_openings, open_people, purpose_name
from cubital.workspace.people_gathering import Window, gather_people
from cubital.workspace.people_letters import corrections_due, expire_individual
from cubital.workspace.places import list_places
from cubital.workspace.staff import import_roster, names_of, report_words
from cubital.workspace.staff_lists import StaffRow, read_staff_list

OPENINGS_SHOWN = 10


@require_GET
def people(request: HttpRequest) -> HttpResponse:
    """The private page where it is open; else the step that opens it."""
    opened = what_is_open(request)
    if opened is None:
        return _closed(request, OpenForm(months=_months(), facilities=_facilities()))
    workspace = the_workspace()
    material = gather_people(workspace, opened.window)
    reading = material.reading
    answer = with_names(build_people_answer(reading, receipt=material.receipt), opened)
    context = {
        "opened": opened, "purpose": purpose_name(opened.purpose), "period": material.period.words(),
        "queue": queue_words(reading.queue, reading, opened=opened, roles=material.roles),
        "considered": queue_words(reading.considered, reading, opened=opened, roles=material.roles),
        "everybody": [(one.count.key, opened.name(one.count.key)) for one in material.people],
        "due": [(one.key, opened.name(one.key)) for one in corrections_due(workspace)],
        "disputed": material.disputed, "staff_form": StaffForm(facilities=_facilities()),
        "openings": _openings(), **answer_context(answer),
    }  # fmt: skip
    return render(request, "people/people.html", context)


@require_POST
def open_them(request: HttpRequest) -> HttpResponse:
    """Opens the private page for a purpose, which is recorded before anything is shown."""
    form = OpenForm(request.POST, request.FILES, months=_months(), facilities=_facilities())
    if not form.is_valid():
        return _closed(request, form, status=400)
    entered = form.cleaned_data
    workspace = the_workspace()
    rows = _read_upload(entered["staff_list"]) if entered["staff_list"] else ()
    scope = {name: entered[name] or None for name in ("from_month", "to_month", "facility")}
    expire_individual(workspace)
    purpose = Purpose(entered["purpose"])
    open_people(workspace, Window(**scope), purpose=purpose, by="page")
    open_page(request, purpose=purpose, names=names_of(workspace, rows), scope=scope)
    return redirect("people")


@require_POST
def close_them(request: HttpRequest) -> HttpResponse:
    """Closes the page and forgets the names."""
    close_page(request)
    return redirect("people")


@require_POST
@opened_only
def take_staff_list(request: HttpRequest, _opened: Opened) -> HttpResponse:
    """Takes a staff list in, and shows its names until the page is closed."""
    form = StaffForm(request.POST, request.FILES, facilities=_facilities())
    if not form.is_valid():
        for sentences in form.errors.values():
            messages.error(request, " ".join(map(str, sentences)))
        return redirect("people")
    workspace, facility = the_workspace(), form.cleaned_data["facility"]
    kept = keep_upload(form.cleaned_data["file"], the_inbox())
    try:
        report = import_roster(workspace, file=kept, facility=facility)
        add_names(request, names_of(workspace, read_staff_list(kept), facility=facility))
    finally:
        discard_upload(kept)
    messages.success(request, report_words(report))
    return redirect("people")


def _closed(request: HttpRequest, form: OpenForm, *, status: int = 200) -> HttpResponse:
    empty = not list_places(the_workspace()).months
    return render(request, "people/closed.html", {"form": form, "empty": empty, "openings": _openings()}, status=status)


def _read_upload(upload: TemporaryUploadedFile) -> tuple[StaffRow, ...]:
    kept = keep_upload(upload, the_inbox())
    try:
        return read_staff_list(kept)
    finally:
        discard_upload(kept)


def _openings() -> list[tuple[str, str, int]]:
    return [
        (f"{one.at.astimezone():%Y-%m-%d %H:%M}", purpose_name(one.purpose), one.people)
        for one in list_openings(the_workspace(), limit=OPENINGS_SHOWN)
    ]


def _months() -> Choices:
    months = list_places(the_workspace()).months
    return [(month, month_words(month, with_year=True)) for month in reversed(months)]


def _facilities() -> Choices:
    return [(one.name, one.name) for one in list_facilities(the_workspace())]
