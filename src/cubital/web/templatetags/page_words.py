"""Words and small parts in templates. ``{% say %}`` is the template's way through gettext."""

from __future__ import annotations

from typing import Any

from django import template
from django.forms import BoundField
from django.utils.html import conditional_escape, escape
from django.utils.safestring import SafeString, mark_safe

from cubital.domain.words import _, grouped_words, ngettext

register = template.Library()


@register.simple_tag
def say(text: str, **values: Any) -> SafeString:
    """``text`` in the current language, with ``values`` put in its braces and escaped."""
    return _filled(_(text), values)


@register.simple_tag
def say_count(one: str, many: str, *, count: int, **values: Any) -> SafeString:
    """``one`` or ``many`` by ``count``, which also fills ``{count}``, with thousands separated."""
    return _filled(ngettext(one, many, count), {**values, "count": whole(count)})


@register.filter
def whole(count: int) -> str:
    """A whole number with its thousands set apart: ``11,142``."""
    return grouped_words(count)


@register.filter
def unbroken(sentence: str) -> str:
    """The sentence with its per cent signs held to their numbers: in large type a line ends often."""
    return sentence.replace(" %", "\u00a0%")


@register.inclusion_tag("parts/field.html")
def field(bound: BoundField, hint: str = "") -> dict[str, Any]:
    """One form field: label, hint, complaints, the field itself, tied together for a screen reader."""
    hint = hint or str(bound.help_text)
    described = [f"{bound.auto_id}-hint"] if hint else []
    if bound.errors:
        described.append(f"{bound.auto_id}-wrong")
    attributes: dict[str, str | bool] = {"aria-describedby": " ".join(described)} if described else {}
    if bound.errors:
        attributes["aria-invalid"] = "true"
    return {"bound": bound, "hint": hint, "widget": bound.as_widget(attrs=attributes)}


def _filled(text: str, values: dict[str, Any]) -> SafeString:
    ready = {name: conditional_escape(value) for name, value in values.items()}
    return mark_safe(escape(text).format(**ready))  # noqa: S308 -- the text and every value are escaped
