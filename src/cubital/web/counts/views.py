"""The same answer for people who have only counts. Nothing is stored."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_http_methods

from cubital.domain.answer import Answer
from cubital.domain.errors import FileProblem
from cubital.web.answer_words import answer_context
from cubital.web.counts.forms import CountsForm
from cubital.web.desk import the_inbox, the_workspace
from cubital.web.uploading import discard_upload, keep_upload
from cubital.workspace.diary_marking import marked_everywhere
from cubital.workspace.months import signal_answer


@require_http_methods(["GET", "POST"])
def counts_alone(request: HttpRequest) -> HttpResponse:
    """The form; after it the sentence, the picture and the table from these counts."""
    if request.method == "GET":
        return render(request, "counts/ask.html", {"form": CountsForm()})
    form = CountsForm(request.POST, request.FILES)
    if form.is_valid():
        try:
            answer = _answer(form)
        except FileProblem as problem:
            form.add_error("file", problem.sentence())
        else:
            return render(request, "counts/answer.html", {"form": form, **answer_context(answer)})
    return render(request, "counts/ask.html", {"form": form}, status=400)


def _answer(form: CountsForm) -> Answer:
    """The answer with what the workspace's diary holds for everybody; the place of given counts is not known."""
    if form.counts:
        return marked_everywhere(the_workspace(), signal_answer(form.counts))
    place = keep_upload(form.cleaned_data["file"], the_inbox())
    try:
        return marked_everywhere(the_workspace(), signal_answer(place))
    finally:
        discard_upload(place)
