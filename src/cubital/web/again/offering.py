"""What a page needs to offer a receipt for the answer on it: the question, sealed so that nobody else can write one."""

from __future__ import annotations

from typing import Any

from django.core import signing

SALT = "cubital.receipt"


def offer_receipt(name: str, /, **asked: Any) -> dict[str, str]:
    """For the template of an answer: its button asks the same question again and keeps the receipt. Writes nothing."""
    return {"offered_receipt": signing.dumps([name, asked], salt=SALT)}


def read_offer(sealed: str) -> tuple[str, dict[str, Any]] | None:
    """The question and its arguments; none where the seal is not this run's."""
    try:
        question, asked = signing.loads(sealed, salt=SALT)
    except signing.BadSignature:
        return None
    return question, asked
