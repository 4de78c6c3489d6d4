"""Marks the lines of messages that later messages withdraw or replace."""

from __future__ import annotations

from cubital.engine import Session, load_sql
from cubital.engine.session import quote_text
from cubital.intake.message_rows import WITHDRAWN
from cubital.intake.parsing import FieldMap
from cubital.intake.roles import Role


def mark_messages(session: Session, fields: FieldMap) -> None:
    """Adds to ``staged.unkept`` the lines that other messages took back; nothing happens for a file of another kind.

    A withdrawal undoes what stands above it in the file for the same order, patient, bottle and isolate; one that
    names no bottle or isolate undoes all of them. A later version replaces an earlier one of equal status.
    """
    if not (fields.has(Role.REFERENCE) and fields.has(Role.STATUS)):
        return
    names = {
        "patient": fields.text(Role.PATIENT),
        "bottle": fields.text(Role.BOTTLE),
        "isolate": fields.text(Role.ISOLATE),
        "version": fields.text(Role.VERSION),
        "withdrawn": quote_text(WITHDRAWN),
    }
    (withdrawals,) = session.one(
        "select count(*) from staged where status = $withdrawn and unkept is null", {"withdrawn": WITHDRAWN}
    )
    session.do(load_sql("cubital.intake", "marked_messages"))
    if withdrawals:
        session.do(load_sql("cubital.intake", "withdrawn_messages").format(**names))
    if fields.has(Role.VERSION):
        session.do(load_sql("cubital.intake", "replaced_messages").format(**names))
