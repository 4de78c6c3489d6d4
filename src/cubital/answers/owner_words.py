"""Who may own an action: a role that answers for a thing in committee, never a person."""

from __future__ import annotations

import re

from cubital.domain.words import _

# What only stands before or within the name of a person. A name without any of it cannot be told from a role by a
# program; the forms ask for a role, and whoever reads the log sees it.
_TITLE = re.compile(r"\b(?:dr|mr|mrs|ms|miss|prof|sra?|dra)\b\.?\s+\S", re.IGNORECASE)
_INITIAL = re.compile(r"(?:^|\s)[A-ZÁÉÍÓÚÑ]\.\s?(?:[A-ZÁÉÍÓÚÑ]\.\s?)*[A-ZÁÉÍÓÚÑ][a-záéíóúñ]+")
_SURNAME_FIRST = re.compile(r"[A-ZÁÉÍÓÚÑ][\w'’-]+,\s?[A-ZÁÉÍÓÚÑ]\.?(?:\s|$)")
_CREDENTIAL = re.compile(r"[A-ZÁÉÍÓÚÑ][\w'’-]+,?\s+(?:RN|LPN|BSN|MSN|MD|DO|NP|PhD|FRCP|FRCPath)\b")
_CODE = re.compile(r"^[A-Za-z]{0,3}-?\d{1,12}$|\bP\d{4}\b|@")
_KEY = re.compile(r"\bP\d{4}\b|\S+@\S+")


def owner_trouble(owner: str) -> str:
    """What is wrong with these words as the owner of an action; empty where nothing is."""
    text = " ".join(owner.split())
    if not text:
        return _("the owner is missing.")
    if _CODE.search(text):
        return _("'{owner}' looks like the code or the address of one person.").format(owner=text[:60])
    if any(pattern.search(text) for pattern in (_TITLE, _INITIAL, _SURNAME_FIRST, _CREDENTIAL)):
        return _("'{owner}' looks like the name of one person.").format(owner=text[:60])
    return ""


def name_trouble(text: str) -> str:
    """What in free words looks like one person: a title or an initial before a name, a key of ours, an address."""
    found = next((hit for pattern in (_TITLE, _INITIAL, _KEY) if (hit := pattern.search(text))), None)
    if found is None:
        return ""
    return _("'{words}' looks like one person.").format(words=found[0].strip()[:40])


def owner_advice() -> str:
    """What to write instead."""
    return _("Write the role that answers for it in committee, such as: ED lead, laboratory manager, supply.")
