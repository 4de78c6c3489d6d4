"""How many series hold a set of a class: infections found are counted by episode and not by set."""

from __future__ import annotations

from collections.abc import Collection

from cubital.domain.charter import SetClass
from cubital.domain.cultures import AgeGroup
from cubital.engine import QuerySession
from cubital.engine.session import quote_text
from cubital.judge.preparing import judge_sql


def count_found_series(
    session: QuerySession, *, set_class: SetClass = SetClass.PATHOGEN, without: Collection[AgeGroup] = ()
) -> int:
    """Series of the judgement of the call before with a counted set of ``set_class``; those of ages ``without`` not.

    A series is one patient's, so a set of a left-out age leaves its series out.
    """
    ages = ", ".join(quote_text(age.value) for age in sorted(without)) or "''"
    sql = judge_sql("found_series").format(ages=ages, set_class=quote_text(set_class.value))
    return int(session.rows(sql)[0][0])
