"""How one resource points at another, and the name under which a resource is kept.

FHIR R4, "References" (hl7.org/fhir/R4/references.html): relative, absolute, versioned, contained, urn:uuid, and logical
references that carry an identifier only.
"""

from __future__ import annotations

from typing import Any

from cubital.intake.message_rows import LONGEST_CELL

Json = dict[str, Any]
HISTORY = "/_history/"


def name_of(reference: object, *, base: str, owner: str) -> str:
    """The name of the resource that a ``Reference`` points at; empty where it points at nothing in a file.

    ``base`` is the address before ``Type/id`` under which the pointing resource was sent (empty outside bundles),
    ``owner`` the pointing resource's own name: contained resources are kept as ``owner#id``.
    """
    if type(reference) is not dict:
        return ""
    target = reference.get("reference")
    if type(target) is not str or not target:
        return ""
    if HISTORY in target:
        target = target[: target.index(HISTORY)]
    if target[0] == "#":
        return owner + target
    return target if not base or "://" in target or target.startswith("urn:") else base + target


def names_of(references: object, *, base: str, owner: str) -> tuple[str, ...]:
    """``name_of`` for a list of references; a single one is taken as a list of one."""
    if references is None:
        return ()
    if type(references) is not list:
        references = [references]
    return tuple([name for each in references if (name := name_of(each, base=base, owner=owner))])


def tail_of(name: str) -> str:
    """``Specimen/12`` from ``https://host/base/Specimen/12``; the name itself where it is no address."""
    if "://" not in name:
        return name
    return "/".join(name.rsplit("/", 2)[-2:])


def words_beside(reference: object) -> str:
    """What a reference says in words: its display, or the value of its logical identifier."""
    if type(reference) is not dict:
        return ""
    return text_of(reference.get("display")) or identifier_beside(reference)


def identifier_beside(reference: object) -> str:
    """The value of a logical reference's identifier, or of a conditional one (``Patient?identifier=system|value``)."""
    if type(reference) is not dict:
        return ""
    identifier = reference.get("identifier")
    if type(identifier) is dict:
        return text_of(identifier.get("value"))
    _type, mark, value = text_of(reference.get("reference")).partition("?identifier=")
    return value.rpartition("|")[2] if mark else ""


def text_of(value: object) -> str:
    """The text with its ends trimmed, no longer than a line of a table may be; empty for anything that is no text."""
    if type(value) is not str:
        return ""
    return value.strip() if len(value) < LONGEST_CELL else value[:LONGEST_CELL].strip()


def list_of(value: object) -> list[Any]:
    """The list; a single object as a list of one, because senders forget the brackets; nothing for anything else."""
    if type(value) is list:
        return value
    return [value] if type(value) is dict else []
