"""The one-time link: the window that started Cubital prints it, the first browser that opens it keeps the session.

The secret lives in this process only. Whoever has neither the link nor the session sees a plain page and no data.
"""

from __future__ import annotations

import secrets
from threading import Lock

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import path, reverse
from django.views.decorators.http import require_GET

from cubital.web.safety import GetResponse

SESSION_MARK = "through_the_door"
OPEN_TO_ALL = "/bedside/card"


class Door:
    """Holds one link at a time; opening it uses it up."""

    def __init__(self) -> None:
        self._lock = Lock()
        self._token: str | None = None

    def new_link_path(self) -> str:
        """A fresh path to open once; an older link stops working."""
        with self._lock:
            self._token = secrets.token_urlsafe(32)
            return reverse("open", args=[self._token])

    def use(self, token: str) -> bool:
        """Whether ``token`` is the unused one; it is used up by asking."""
        with self._lock:
            if self._token is None or not secrets.compare_digest(self._token.encode(), token.encode()):
                return False
            self._token = None
            return True


door = Door()


class DoorkeeperMiddleware:
    """Lets through the door itself and whoever has come through it; all others get the plain page."""

    def __init__(self, get_response: GetResponse) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        # The bedside card knows no patient and nothing of the workspace but its approved policy.
        if request.path.startswith("/open/") or request.path == OPEN_TO_ALL or has_come_through(request):
            return self.get_response(request)
        return render(request, "door/closed.html", status=403)


def has_come_through(request: HttpRequest) -> bool:
    """Whether this browser opened the link."""
    return bool(request.session.get(SESSION_MARK))


@require_GET
def open_door(request: HttpRequest, token: str) -> HttpResponse:
    """Exchanges the link for a session and leads on.

    The page leads on by itself instead of redirecting: after a click in another program a browser withholds a strict
    cookie from a redirect, but not from the page's own next step. A link opened again by the same browser just works.
    """
    if not has_come_through(request):
        if not door.use(token):
            return render(request, "door/closed.html", {"used": True}, status=403)
        request.session.cycle_key()
        request.session[SESSION_MARK] = True
    return render(request, "door/opened.html")


urlpatterns = [path("open/<str:token>", open_door, name="open")]
