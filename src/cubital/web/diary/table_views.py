"""A diary kept by hand on its way in: first what it would add, then, on a second word, all of it."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_POST

from cubital.answers.diary_entry import Draft, diary_text, kind_words
from cubital.domain.errors import FileProblem
from cubital.domain.words import _, ngettext
from cubital.web.desk import the_inbox, the_workspace
from cubital.web.diary.forms import DiaryTableForm
from cubital.web.diary.views import diary_page
from cubital.web.diary.words import EntryLine
from cubital.web.uploading import discard_upload, keep_upload
from cubital.workspace.diary_import import DiaryTable, import_diary, preview_diary


@require_POST
def preview_table(request: HttpRequest) -> HttpResponse:
    """What the table would add; nothing is kept."""
    form = DiaryTableForm(request.POST, request.FILES)
    if form.is_valid():
        try:
            table = _read(form)
        except FileProblem as problem:
            form.add_error("text" if form.given else "file", problem.sentence())
        else:
            rows = [_draft_line(draft) for draft in table.new]
            context = {"rows": rows, "known": table.known, "text": diary_text(table.new), "name": table.name}
            return render(request, "diary/preview.html", context)
    return diary_page(request, table=form, status=400)


@require_POST
def keep_table(request: HttpRequest) -> HttpResponse:
    """Keeps all rows that were shown."""
    form = DiaryTableForm({"text": request.POST.get("text", "")})
    if form.is_valid():
        try:
            taken = import_diary(the_workspace(), form.given)
        except FileProblem as problem:
            form.add_error("text", problem.sentence())
        else:
            count = len(taken.added)
            words = ngettext("{count} change was noted.", "{count} changes were noted.", count)
            messages.success(request, words.format(count=count))
            return redirect("diary")
    return diary_page(request, table=form, status=400)


def _read(form: DiaryTableForm) -> DiaryTable:
    if form.given:
        return preview_diary(the_workspace(), form.given)
    place = keep_upload(form.cleaned_data["file"], the_inbox())
    try:
        return preview_diary(the_workspace(), place)
    finally:
        discard_upload(place)


def _draft_line(draft: Draft) -> EntryLine:
    place = ", ".join(part for part in (draft.facility, draft.unit) if part) or _("everywhere")
    when = draft.on.isoformat() if draft.until is None else f"{draft.on} – {draft.until}"
    return EntryLine(number=0, when=when, place=place, words=draft.words, kind=kind_words(draft.kind))
