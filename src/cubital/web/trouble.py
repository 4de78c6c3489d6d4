"""What goes wrong, as a calm page: a sentence, how to put it right, a way back. Never a traceback."""

from __future__ import annotations

from collections.abc import Sequence

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from cubital.domain.errors import CubitalError, MachineProblem, Question, QuestionsOpen, WorkspaceProblem
from cubital.domain.words import _
from cubital.web.safety import GetResponse


class TroubleMiddleware:
    """Turns what Cubital has to say about a request into a page: 400, or 409 where the workspace stands against it."""

    def __init__(self, get_response: GetResponse) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        return self.get_response(request)

    def process_exception(self, request: HttpRequest, problem: Exception) -> HttpResponse | None:
        if not isinstance(problem, CubitalError):
            return None
        status = 409 if isinstance(problem, WorkspaceProblem | MachineProblem) else 400
        questions = problem.questions if isinstance(problem, QuestionsOpen) else ()
        return show_trouble(
            request,
            heading=_("That did not work."),
            what=problem.what,
            fix=problem.fix,
            where=problem.where,
            questions=questions,
            status=status,
        )


def show_trouble(
    request: HttpRequest,
    *,
    heading: str,
    what: str,
    status: int,
    fix: str = "",
    where: str = "",
    questions: Sequence[Question] = (),
) -> HttpResponse:
    """The page for one piece of trouble."""
    context = {
        "heading": heading, "what": what, "fix": fix, "where": where, "questions": questions,
        "back": _way_back(request),
    }  # fmt: skip
    return render(request, "errors/sentence.html", context, status=status)


def page_not_found(request: HttpRequest, exception: Exception | None = None) -> HttpResponse:  # noqa: ARG001
    """404."""
    return show_trouble(
        request,
        heading=_("There is no such page."),
        what=_("The address may be mistyped, or what it named is no longer here."),
        status=404,
    )


def bad_request(request: HttpRequest, exception: Exception | None = None) -> HttpResponse:  # noqa: ARG001
    """400 of the framework itself."""
    return show_trouble(
        request,
        heading=_("That request made no sense."),
        what=_("Something in the address or the form was malformed. Nothing was changed."),
        status=400,
    )


def form_expired(request: HttpRequest, reason: str = "") -> HttpResponse:  # noqa: ARG001 -- the framework passes it
    """A form without its secret: most often a page that was open while Cubital was started anew."""
    return show_trouble(
        request,
        heading=_("This form is out of date."),
        what=_("The page was open since before Cubital was last started, so its form is no longer valid."),
        fix=_("Go back, load the page again and send the form once more. Nothing was changed."),
        status=403,
    )


def something_broke(request: HttpRequest) -> HttpResponse:
    """500: a fault of ours. It is written to the window where Cubital runs, not to the page."""
    return show_trouble(
        request,
        heading=_("Cubital made a mistake."),
        what=_("What you have taken in and signed is safe. The window where Cubital runs says more."),
        status=500,
    )


def _way_back(request: HttpRequest) -> str:
    referrer = request.headers.get("Referer", "")
    here = f"{request.scheme}://{request.META.get('HTTP_HOST', '')}/"
    came_from = "/" + referrer.removeprefix(here) if referrer.startswith(here) else "/"
    return came_from if came_from != request.get_full_path() else "/"
