"""What a person settled on the page of a file: answers to questions, what columns are, what a name means."""

from __future__ import annotations

from collections.abc import Mapping

from cubital.intake.headers import tidy_header
from cubital.intake.results import tidy_result
from cubital.intake.roles import Role

ANSWER, COLUMN, WAS, ORGANISM, SURE, ASKED = "answer-", "column-", "was-", "organism-", "sure-", "asked"
NO_ORGANISM = "-"


def answers_given(form: Mapping[str, str]) -> dict[str, str]:
    """The answers to open questions, by the question's key."""
    return {
        name.removeprefix(ANSWER): value.strip()
        for name, value in form.items()
        if name.startswith(ANSWER) and value.strip()
    }


def unanswered(form: Mapping[str, str]) -> tuple[str, ...]:
    """The questions on the page that were left open."""
    asked = form.get(ASKED, "").split()
    return tuple(key for key in asked if not form.get(ANSWER + key, "").strip())


def roles_given(form: Mapping[str, str]) -> dict[str, str]:
    """The columns whose meaning the person changed: tidied header to role."""
    changed = {}
    for name, role in form.items():
        if not name.startswith(COLUMN):
            continue
        header = name.removeprefix(COLUMN)
        if role in Role._value2member_map_ and role != form.get(WAS + header):
            changed[tidy_header(header)] = role
    return changed


def confirmations_given(form: Mapping[str, str]) -> dict[str, str]:
    """What each unread or proposed text means: the text, tidied, to an organism key; nothing for no organism.

    A proposal that would change the genus counts only when its own box was ticked as well.
    """
    confirmed = {}
    for name, choice in form.items():
        if not name.startswith(ORGANISM) or not choice:
            continue
        text = name.removeprefix(ORGANISM)
        crosses, _sign, key = choice.partition(":")
        if crosses == "cross" and not form.get(SURE + text):
            continue
        confirmed[tidy_result(text)] = "" if key == NO_ORGANISM else key
    return confirmed
