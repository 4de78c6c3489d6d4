"""How the page looks and speaks: light, dark or as the computer does; English or Spanish. Kept in the session."""

from __future__ import annotations

from dataclasses import dataclass
from importlib import resources
from typing import Any

from django.conf import settings
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import path, reverse
from django.utils.http import url_has_allowed_host_and_scheme
from django.views.decorators.http import require_POST

from cubital.domain.words import LANGUAGES, _, choose_language
from cubital.web.safety import GetResponse

APPEARANCES = ("auto", "light", "dark")
COLOR_SCHEMES = {"auto": "light dark", "light": "light", "dark": "dark"}
LANGUAGE_NAMES = {"en": "English", "es": "Español"}


@dataclass(frozen=True, kw_only=True)
class Choice:
    """One button: its value, its words, and whether it is the one in force (for ``aria-pressed``)."""

    key: str
    words: str
    pressed: str


@dataclass(frozen=True, kw_only=True)
class PageEntry:
    """One page in the list of pages."""

    url: str
    words: str
    here: bool


class LanguageMiddleware:
    """Makes every sentence of this request in the language that the person chose."""

    def __init__(self, get_response: GetResponse) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        choose_language(request.session.get("language", settings.LANGUAGE_CODE))
        return self.get_response(request)


@require_POST
def change_appearance(request: HttpRequest) -> HttpResponse:
    """Remembers the choice and returns to the page it was made on; a word that is no choice changes nothing."""
    if request.POST.get("appearance") in APPEARANCES:
        request.session["appearance"] = request.POST["appearance"]
    if request.POST.get("language") in offered_languages():
        request.session["language"] = request.POST["language"]
    back = request.POST.get("back", "")
    safe = url_has_allowed_host_and_scheme(back, allowed_hosts=None) and back.startswith("/")
    return redirect(back if safe else "home")


def offered_languages() -> tuple[str, ...]:
    """The languages whose catalogue is here; English needs none."""
    catalogues = resources.files("cubital.domain") / "locale"
    return tuple(
        code for code in LANGUAGES if code == "en" or (catalogues / code / "LC_MESSAGES" / "cubital.mo").is_file()
    )


def page_context(request: HttpRequest) -> dict[str, Any]:
    """What every template knows about its page: list of pages, appearance, language."""
    session = getattr(request, "session", {})
    appearance = session.get("appearance", "auto")
    language = session.get("language", settings.LANGUAGE_CODE)
    names = {"auto": _("As this computer"), "light": _("Light"), "dark": _("Dark")}
    offered = offered_languages()
    return {
        "page": {
            "appearance": appearance,
            "color_scheme": COLOR_SCHEMES[appearance],
            "language": language,
            "appearances": [_choice(key, names[key], appearance) for key in APPEARANCES],
            "languages": [_choice(k, LANGUAGE_NAMES[k], language) for k in offered] if len(offered) > 1 else [],
            "pages": _pages(request.path),
        }
    }


def _choice(key: str, words: str, current: str) -> Choice:
    return Choice(key=key, words=words, pressed="true" if key == current else "false")


def _pages(here: str) -> list[PageEntry]:
    entries = ((reverse("month"), _("This month")), (reverse("files"), _("Files")),
               (reverse("charter"), _("Charter")), (reverse("doubtful"), _("Doubtful")),
               (reverse("look"), _("Look closer")), (reverse("diary"), _("Diary")),
               (reverse("did"), _("Did it work?")),
               (reverse("people"), _("People")),
               (reverse("costs"), _("Costs and plans")),
               (reverse("bedside"), _("Bedside")),
               (reverse("papers"), _("Papers")),
               (reverse("again"), _("A figure again")),
               (reverse("policy"), _("Policy")))  # fmt: skip
    return [PageEntry(url=url, words=words, here=here.startswith(url)) for url, words in entries]


urlpatterns = [path("appearance", change_appearance, name="appearance")]
