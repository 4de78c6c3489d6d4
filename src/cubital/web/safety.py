"""What every answer of the server carries, and whom it answers: this computer only, nothing from outside.

The policy allows what the package itself ships and nothing else: no inline script or style, no other host. The host
check defends against a foreign page that points its own name at this computer.
"""

from __future__ import annotations

from collections.abc import Callable

from django.http import HttpRequest, HttpResponse
from django.http.request import split_domain_port

LOOPBACK_NAMES = frozenset({"localhost", "127.0.0.1", "[::1]"})

CONTENT_POLICY = "; ".join(
    (
        "default-src 'none'",
        "script-src 'self'",
        "style-src 'self'",
        "img-src 'self' data:",
        "font-src 'self'",
        "connect-src 'self'",
        "form-action 'self'",
        "frame-ancestors 'none'",
        "base-uri 'none'",
    )
)

# same-origin, not no-referrer: with the latter a browser sends "Origin: null" and every form would be refused.
HEADERS = {
    "Content-Security-Policy": CONTENT_POLICY,
    "Referrer-Policy": "same-origin",
    "X-Content-Type-Options": "nosniff",
    "X-Frame-Options": "DENY",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Permissions-Policy": "camera=(), geolocation=(), microphone=()",
}

GetResponse = Callable[[HttpRequest], HttpResponse]


class SafetyMiddleware:
    """Outermost: refuses foreign host names before anything is read, and puts the headers on every response."""

    def __init__(self, get_response: GetResponse) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        if is_loopback_host(request.META.get("HTTP_HOST", "")):
            response = self.get_response(request)
        else:
            response = HttpResponse(
                "Cubital answers only to 127.0.0.1 and localhost on this computer.",
                status=400,
                content_type="text/plain; charset=utf-8",
            )
        for name, value in HEADERS.items():
            response.headers.setdefault(name, value)
        if not request.path.startswith("/static/"):
            response.headers.setdefault("Cache-Control", "no-store")
        return response


def is_loopback_host(host: str) -> bool:
    """Whether a Host header names this computer, with or without a port."""
    name, _port = split_domain_port(host.lower())
    return name in LOOPBACK_NAMES
