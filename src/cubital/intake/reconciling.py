"""Counts the fates and the doubts and puts each reason into words."""

from __future__ import annotations

from cubital.domain.reconciliation import Reconciliation, Tally
from cubital.engine import Session
from cubital.intake.reasons import doubt_words, loss_words


def reconcile(session: Session) -> Reconciliation:
    """The account of what ``row_fates`` and ``row_doubts`` hold: the commonest reasons first."""
    fates = session.rows("select fate, reason, count(*) from row_fates group by all order by 3 desc, 2")
    doubts = session.rows("select reason, count(*) from row_doubts group by all order by 2 desc, 1")
    return Reconciliation(
        rows=sum(row[2] for row in fates),
        sets=sum(row[2] for row in fates if row[0] == "set"),
        losses=tuple(Tally(reason=r, count=n, words=loss_words(r)) for fate, r, n in fates if fate == "loss"),
        doubts=tuple(Tally(reason=r, count=n, words=doubt_words(r)) for r, n in doubts),
    )
