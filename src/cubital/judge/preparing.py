"""Small tables that every judgement needs: unit names of today, standings of organisms, what each set grew."""

from __future__ import annotations

from functools import cache

from cubital.domain.charter import Charter
from cubital.engine import QuerySession, load_sql
from cubital.judge.flora import Flora, reference_flora
from cubital.judge.rules import decide_growths

UNIT_NAMES = {"facility": "VARCHAR", "unit_key": "VARCHAR", "current_key": "VARCHAR", "unit_name": "VARCHAR"}


@cache
def judge_sql(name: str) -> str:
    """The text of one of the judge's SQL files."""
    return load_sql("cubital.judge", name)


def prepare_charter(session: QuerySession, charter: Charter, *, flora: Flora | None = None) -> None:
    """Makes ``unit_now``, ``organism_standing``, ``same_pairs``, ``growth_rules`` and ``grown_isolates``.

    Organisms are numbered for the session, because numbers are matched faster than their keys.
    """
    flora = flora or reference_flora()
    prepare_unit_names(session)
    keys = [key for (key,) in session.rows("select distinct organism_key from isolates order by 1")]
    numbers = {key: number for number, key in enumerate(keys)}
    session.add_rows(
        "organism_standing",
        {"organism_key": "VARCHAR", "organism": "INTEGER", "grows": "UTINYINT"},
        [(key, numbers[key], int(flora.standing(key, charter.commensal_list))) for key in keys],
    )
    pairs = [(numbers[a], numbers[b]) for a, b in flora.same_pairs(keys)]
    session.add_rows("same_pairs", {"a": "INTEGER", "b": "INTEGER"}, pairs)
    session.add_rows(
        "growth_rules",
        {"grew": "UTINYINT", "set_class": "VARCHAR", "reason": "VARCHAR"},
        [(int(growth), *(judgement or (None, None))) for growth, judgement in decide_growths(charter).items()],
    )
    session.do(judge_sql("grown_isolates"))


def prepare_unit_names(session: QuerySession) -> None:
    """Makes ``unit_now``: for every label of a unit the key and the name that it has today."""
    if not session.has_table("unit_names"):
        session.add_rows("unit_names", UNIT_NAMES, [])
    session.do(judge_sql("unit_now"))
