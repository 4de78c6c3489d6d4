"""Patients become keys on the way in: HMAC-SHA256 with the workspace's secret, per facility, cut to 63 bits."""

from __future__ import annotations

import hashlib
import hmac

from cubital.engine import Session, load_sql

_BLOCK = 64  # bytes in a block of SHA-256
_INNER, _OUTER = 0x36, 0x5C  # RFC 2104


def patient_key(secret: bytes, *, facility: str, number: str) -> int:
    """The key of one patient number at one facility: a positive integer below 2**63."""
    digest = hmac.digest(secret, f"{facility}\x1f{number}".encode(), "sha256")
    return int.from_bytes(digest[:8], "big") & 0x7FFF_FFFF_FFFF_FFFF


def add_patient_keys(session: Session, *, secret: bytes, facility: str) -> None:
    """The table ``look_patients(text, patient_key)`` for every patient number in ``parsed``.

    Computed inside the engine: a large file has some hundred thousand numbers. ``patient_key`` is the readable twin,
    and a test holds the two together.
    """
    block = (hashlib.sha256(secret).digest() if len(secret) > _BLOCK else secret).ljust(_BLOCK, b"\0")
    values = {
        "inner": bytes(byte ^ _INNER for byte in block),
        "outer": bytes(byte ^ _OUTER for byte in block),
        "facility": facility,
    }
    session.do(load_sql("cubital.intake", "patient_keys"), values)
