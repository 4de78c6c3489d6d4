"""The private page is closed until somebody opens it for a purpose, and closes by itself.

What is open lives in the session, which lives in the memory of this process: the names of a staff list are gone when
the page is closed, when its time is over, and when Cubital stops.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import datetime
from functools import wraps
from typing import Concatenate, ParamSpec

from django.http import HttpRequest, HttpResponseBase
from django.shortcuts import redirect

from cubital.workspace.people import Purpose
from cubital.workspace.people_gathering import Window

OPEN_SECONDS = 30 * 60
_MARK = "people_opened"
P = ParamSpec("P")


@dataclass(frozen=True, kw_only=True)
class Opened:
    """For what and until when the page is open, over which months, and the names by key, if a list was brought."""

    purpose: Purpose
    until: float
    names: Mapping[str, str]
    from_month: str | None
    to_month: str | None
    facility: str | None

    @property
    def until_words(self) -> str:
        """The clock time at which it closes by itself."""
        return f"{datetime.fromtimestamp(self.until):%H:%M}"  # noqa: DTZ006 - the clock on the wall beside the screen

    def name(self, key: str) -> str:
        """The key, with the name where it is known."""
        return f"{self.names[key]} ({key})" if key in self.names else key

    @property
    def window(self) -> Window:
        """The months and the hospital that were asked for."""
        return Window(from_month=self.from_month, to_month=self.to_month, facility=self.facility)


def open_page(
    request: HttpRequest, *, purpose: Purpose, names: Mapping[str, str], scope: Mapping[str, str | None]
) -> None:
    """Opens the page for this browser for half an hour."""
    request.session[_MARK] = {
        "purpose": purpose.value, "until": time.time() + OPEN_SECONDS, "names": dict(names), **scope,
    }  # fmt: skip


def close_page(request: HttpRequest) -> None:
    """Closes it and forgets the names."""
    request.session.pop(_MARK, None)


def what_is_open(request: HttpRequest) -> Opened | None:
    """What this browser opened, none where it is closed or its time is over."""
    held = request.session.get(_MARK)
    if held is None:
        return None
    if held["until"] < time.time():
        close_page(request)
        return None
    return Opened(**{**held, "purpose": Purpose(held["purpose"])})


def add_names(request: HttpRequest, names: Mapping[str, str]) -> None:
    """Adds names to what is open."""
    held = request.session[_MARK]
    request.session[_MARK] = {**held, "names": {**held["names"], **names}}


def opened_only(
    view: Callable[Concatenate[HttpRequest, Opened, P], HttpResponseBase],
) -> Callable[Concatenate[HttpRequest, P], HttpResponseBase]:
    """A view that only an opened page reaches; every other request is led to the step that opens it."""

    @wraps(view)
    def guarded(request: HttpRequest, /, *args: P.args, **kwargs: P.kwargs) -> HttpResponseBase:
        opened = what_is_open(request)
        return redirect("people") if opened is None else view(request, opened, *args, **kwargs)

    return guarded
