"""The bedside card: one HTML file from an approved policy. No request, no storage, no number after the review day."""

from __future__ import annotations

import base64
import hashlib
import json
from datetime import date
from html import escape
from importlib import resources
from string import Template

from cubital.bedside.label import Stock
from cubital.bedside.label_answer import LabelRequest, answer_label
from cubital.bedside.permission import deferral
from cubital.domain.collection import CollectionPolicy
from cubital.domain.words import _, current_language
from cubital.papers.bedside_sheets import must_speak
from cubital.papers.card_policy import build_card_policy
from cubital.papers.card_words import card_words
from cubital.papers.fonts import FontStyle, web_font
from cubital.papers.label_sheet import label_picture

SAMPLE_ACCESSION = "0123456789"


def build_card(policy: CollectionPolicy, *, today: date) -> str:
    """The whole card as one HTML document in the current language, carrying the others.

    A draft or expired policy gives no card (``PolicyProblem``); a card made in time falls silent by itself after its
    review day.
    """
    must_speak(policy, today)
    style, numbers, face = _style(), _part("numbers.js"), _part("card.js")
    stock = Stock(long_mm=policy.label.width_mm.value, short_mm=policy.label.height_mm.value)
    request = LabelRequest(stock=stock, accession=SAMPLE_ACCESSION)
    return Template(_part("card.html")).substitute(
        language=current_language(),
        policy_header=content_policy(style, numbers, face),
        title=escape(_("Blood for culture, at the bedside")),
        style=style,
        example_mark=_example_mark(policy),
        policy_line=escape(deferral(policy)),
        bottles=_bottle_choices(policy),
        label_sentence=escape(answer_label(policy, policy.adult.aerobic, request, today=today).sentence),
        label_picture=label_picture(policy, policy.adult.aerobic, request, today=today),
        telephones=escape(" · ".join(policy.telephone_numbers)),
        nav_label=escape(_("Cards")),
        policy_json=_json_in_html(build_card_policy(policy, made_on=today)),
        words_json=_json_in_html(card_words()),
        numbers=numbers,
        face=face,
    )


def card_content_policy() -> str:
    """The content policy of the card's own parts, for a server that sends the card."""
    return content_policy(_style(), _part("numbers.js"), _part("card.js"))


def content_policy(style: str, *scripts: str) -> str:
    """A content policy that lets exactly these scripts and this style run, and nothing be fetched."""
    allowed = " ".join(_hash(script) for script in scripts)
    return (
        f"default-src 'none'; script-src {allowed}; style-src {_hash(style)}; font-src data:; img-src data:; "
        "form-action 'none'; base-uri 'none'"
    )


def _hash(text: str) -> str:
    return f"'sha256-{base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()}'"


def _part(name: str) -> str:
    return (resources.files("cubital.papers") / "card" / name).read_text(encoding="utf-8")


def _style() -> str:
    style = _part("card.css")
    for mark, weight in (("FONT_REGULAR", FontStyle.REGULAR), ("FONT_BOLD", FontStyle.BOLD)):
        data = base64.b64encode(web_font(weight).read_bytes()).decode()
        style = style.replace(mark, f"data:font/woff2;base64,{data}")
    return style


def _json_in_html(value: object) -> str:
    """JSON that cannot end its script element, whatever a policy's texts hold."""
    return json.dumps(value, ensure_ascii=False).replace("<", "\\u003c").replace("&", "\\u0026")


def _example_mark(policy: CollectionPolicy) -> str:
    if not policy.example:
        return ""
    return f'<p class="mark">{escape(_("EXAMPLE of an invented hospital: not for patients"))}</p>'


def _bottle_choices(policy: CollectionPolicy) -> str:
    return "".join(
        f'<label><input type="checkbox" name="bottle" value="{escape(bottle.key, quote=True)}">'
        f"<span>{escape(bottle.name)}</span></label>"
        for bottle in policy.bottles
    )
