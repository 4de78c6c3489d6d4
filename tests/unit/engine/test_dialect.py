"""What the SQL files say in Spark's words, rule by rule; and that nothing they say is beyond the rules."""

from __future__ import annotations

from importlib import resources

import pytest

from cubital.domain.cultures import SetStatus
from cubital.engine.dialect import name_values, translate
from cubital.judge.preparing import DECIDED_KEY

# One example beside each: what DuckDB gives is tested with the value in test_spark_agrees.
RULES = {
    "select epoch_us(a)": "SELECT UNIX_MICROS(CAST(a AS TIMESTAMP))",
    "select a / 60.0": "SELECT a / CAST('60.0' AS DOUBLE)",
    "select isodow(a)": "SELECT WEEKDAY(a) + 1",
    "select date_diff('day', a, b)": "SELECT DATEDIFF(CAST(b AS DATE), CAST(a AS DATE))",
    "select date_diff('second', a, b)": (
        "SELECT (UNIX_SECONDS(CAST(b AS TIMESTAMP)) - UNIX_SECONDS(CAST(a AS TIMESTAMP)))"
    ),
    "select list(distinct a order by a)": "SELECT SORT_ARRAY(COLLECT_SET(a))",
    "select list(a order by b)": (
        "SELECT TRANSFORM(SORT_ARRAY(COLLECT_LIST(STRUCT(b IS NULL AS rank0, b AS rank1, a AS element))),"
        " ranked -> ranked.element)"
    ),
    "select list_first(a), list_last(a)": "SELECT ELEMENT_AT(a, 1), ELEMENT_AT(a, -1)",
    "select list_reduce(a, lambda x, y: list_last(x))": (
        "SELECT AGGREGATE(SLICE(a, 2, SIZE(a)), ELEMENT_AT(a, 1), (x, y) -> ELEMENT_AT(x, -1))"
    ),
    "select a from b where c = ? and d = ?": "SELECT a FROM b WHERE c = :v1 AND d = :v2",
    "select $1, $1, $late": "SELECT :v1, :v1, :late",
}


@pytest.mark.parametrize("written", RULES)
def test_a_rule_says_it_in_the_words_of_spark(written):
    assert translate(written).text == RULES[written]


def test_a_temporary_table_is_its_name_and_its_query():
    made = translate("create or replace temp table told as with a as (select 1 as b) select b from a")
    assert (made.kind, made.name, made.text) == ("table", "told", "WITH a AS (SELECT 1 AS b) SELECT b FROM a")


def test_a_temporary_view_is_told_from_a_table():
    assert translate("create or replace temp view shown as select 1").kind == "view"


@pytest.mark.parametrize(
    "beyond",
    [
        "select date_diff('month', a, b)",
        "select list(a order by b desc)",
        "select list(distinct a order by b)",
        "insert into a values (1)",
        "copy a to 'b'",
    ],
)
def test_what_has_no_rule_is_refused_and_not_dropped(beyond):
    with pytest.raises(ValueError, match=r"no rule|neither a query"):
        translate(beyond)


def test_values_are_bound_by_name_and_words_lose_their_enumeration():
    named = name_values([SetStatus.FINAL, 3, None])
    assert named == {"v1": "final", "v2": 3, "v3": None}
    assert type(named["v1"]) is str


def test_every_file_of_the_judge_can_be_said_in_both_dialects():
    files = [file for file in (resources.files("cubital.judge") / "sql").iterdir() if file.name.endswith(".sql")]
    assert len(files) > 25
    parts = dict.fromkeys(
        (
            "facility", "unit", "unit_name", "valid", "pairable", "home", "place", "inside", "outside", "reach",
            "look_back", "undecided", "wanted", "cells", "shifts",
        ),
        "a",
    ) | {
        "asked_columns": "", "follow_up_join": "", "facts": "s.month", "isolates": "isolates", "key": DECIDED_KEY,
        "decided_join": "left join decided d on d.set_id = i.set_id", "ages": "'18_to_64'", "set_class": "'pathogen'",
        "places": "1",
    }  # fmt: skip
    for file in files:
        text = file.read_text(encoding="utf-8")
        assert translate(text.format(**parts) if "{" in text else text).text
