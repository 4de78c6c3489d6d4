"""Says the SQL files, which are written in DuckDB's words, in Spark's.

``sqlglot`` translates; the rules below are for what it does not know or gets wrong. What neither can say raises an
error and is never dropped. Every rule gives the same value on both engines, which is tested word by word.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING, Any, Literal

if TYPE_CHECKING:
    from sqlglot.expressions import Expr

Kind = Literal["query", "table", "view"]


@dataclass(frozen=True)
class Statement:
    """One translated statement: ``text`` is its query, ``name`` what a table or view made of it is called."""

    kind: Kind
    name: str
    text: str


@lru_cache(maxsize=512)  # a judgement is some thirty statements, the same ones for every month that is asked about
def translate(sql: str) -> Statement:
    """A query, or ``create or replace temp table|view NAME as`` a query. ``ValueError`` for any other statement."""
    from sqlglot import ErrorLevel, exp, parse_one

    tree = parse_one(sql, read="duckdb")
    kind: Kind = "query"
    name = ""
    if isinstance(tree, exp.Create):
        kind = "table" if tree.kind == "TABLE" else "view"
        name, tree = tree.this.name, tree.expression
    if not isinstance(tree, exp.Query):
        raise ValueError(f"neither a query nor a table or view made of one: {sql[:80]}")
    _name_placeholders(tree)
    for node in reversed(list(tree.walk())):  # from the leaves up, so that what a rule moves is already reworded
        spoken = _reword(node)
        if spoken is not node:
            node.replace(spoken)
    text = tree.sql(dialect="spark", comments=False, unsupported_level=ErrorLevel.RAISE)
    return Statement(kind, name, text)


def name_values(values: Sequence[Any] | Mapping[str, Any]) -> dict[str, Any]:
    """Bound values under the names that ``translate`` gives to their places; words lose their enumeration."""
    named = values if isinstance(values, Mapping) else {f"v{place}": one for place, one in enumerate(values, start=1)}
    return {name: str(value) if isinstance(value, str) else value for name, value in named.items()}


def _name_placeholders(tree: Expr) -> None:
    """``?`` and ``$1`` become ``$v1``: Spark binds by place or by name, never both in one statement."""
    from sqlglot import exp

    place = 0
    for mark in list(tree.find_all(exp.Placeholder, bfs=False)):
        if mark.this is None:
            place += 1
            mark.set("this", f"v{place}")
        elif str(mark.this).isdigit():
            mark.set("this", f"v{mark.this}")


def _reword(node: Expr) -> Expr:
    from sqlglot import exp

    if isinstance(node, exp.Literal):
        return _as_double(node)
    if isinstance(node, exp.Anonymous):
        rule = _FUNCTIONS.get(node.name.lower())
        return rule(node) if rule else node
    if isinstance(node, exp.DayOfWeekIso):  # sqlglot counts Spark's days from Sunday here: off by two
        return exp.Add(this=_call("weekday", node.this), expression=exp.Literal.number(1))
    if isinstance(node, exp.DateDiff):
        return _date_diff(node)
    if isinstance(node, exp.ArrayAgg):
        return _list(node)
    return node


def _as_double(literal: Expr) -> Expr:
    """A whole number over ``60.0`` is a double in DuckDB and a rounded decimal in Spark."""
    from sqlglot import exp

    if literal.is_string or "." not in literal.name:
        return literal
    return exp.Cast(this=exp.Literal.string(literal.name), to=exp.DataType.build("double"))


def _date_diff(node: Expr) -> Expr:
    """DuckDB counts the borders between two times, Spark whole units: 0.2 seconds may be one second or none."""
    from sqlglot import exp

    unit = node.text("unit").upper()
    if unit == "DAY":
        return _call("datediff", _cast(node.this, "date"), _cast(node.expression, "date"))
    if unit == "SECOND":
        later, earlier = (_call("unix_seconds", _cast(one, "timestamptz")) for one in (node.this, node.expression))
        return exp.Paren(this=exp.Sub(this=later, expression=earlier))
    raise ValueError(f"no rule for a difference in units of {unit}")


def _list(node: Expr) -> Expr:
    """``list(x order by a, b)``: Spark's lists have no order, so their elements carry it and lose it again."""
    from sqlglot import exp

    order = node.this
    if not isinstance(order, exp.Order):
        return _call("collect_set", *order.expressions) if isinstance(order, exp.Distinct) else node
    if any(key.args.get("desc") or key.args.get("nulls_first") for key in order.expressions):
        raise ValueError("no rule for a list that runs backwards or begins with nulls")
    if isinstance(order.this, exp.Distinct):
        (element,) = order.this.expressions
        if [key.this for key in order.expressions] != [element]:
            raise ValueError("no rule for a list of distinct elements in another order than their own")
        return _call("sort_array", _call("collect_set", element))
    keys = [key.this for key in order.expressions]
    ranks = [part for key in keys for part in (exp.Is(this=key.copy(), expression=exp.Null()), key.copy())]
    parts = [exp.alias_(rank, f"rank{place}") for place, rank in enumerate(ranks)]
    listed = _call("sort_array", _call("collect_list", _call("struct", *parts, exp.alias_(order.this, "element"))))
    picked = exp.Dot(this=exp.to_identifier("ranked"), expression=exp.to_identifier("element"))
    return _call("transform", listed, exp.Lambda(this=picked, expressions=[exp.to_identifier("ranked")]))


def _fold(node: Expr) -> Expr:
    """``list_reduce(list, step)`` begins with the first element; Spark's ``aggregate`` wants it apart."""
    from sqlglot import exp

    listed, step = node.expressions
    rest = _call("slice", listed.copy(), exp.Literal.number(2), _call("size", listed.copy()))
    return _call("aggregate", rest, _call("element_at", listed.copy(), exp.Literal.number(1)), step)


def _element(place: int) -> Callable[[Expr], Expr]:
    def rule(node: Expr) -> Expr:
        from sqlglot import exp

        return _call("element_at", *node.expressions, exp.convert(place))

    return rule


def _call(name: str, *arguments: Expr) -> Expr:
    from sqlglot import exp

    return exp.Anonymous(this=name, expressions=list(arguments))


def _cast(value: Expr, kind: str) -> Expr:
    from sqlglot import exp

    return exp.Cast(this=value, to=exp.DataType.build(kind))


_FUNCTIONS: dict[str, Callable[[Expr], Expr]] = {
    "epoch_us": lambda node: _call("unix_micros", _cast(node.expressions[0], "timestamptz")),
    "list_reduce": _fold,
    "list_first": _element(1),
    "list_last": _element(-1),
}
