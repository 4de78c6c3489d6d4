"""A policy on collecting as one readable TOML file, in and out, without loss.

The file carries every value with unit, source and owner. Its approval is data too, but never trusted: a file read in is
a draft until someone approves it in this workspace.
"""

from __future__ import annotations

import hashlib
import tomllib
import types
from collections.abc import Mapping
from dataclasses import MISSING, fields, is_dataclass, replace
from datetime import date
from enum import StrEnum
from functools import lru_cache
from importlib import resources
from typing import Any, TypeVar, Union, get_args, get_origin, get_type_hints

import tomli_w

from cubital.bedside.split import TENTHS
from cubital.domain.collection import CollectionPolicy, Value
from cubital.domain.errors import PolicyProblem

FORMAT = "cubital-policy/1"
EXAMPLE_SOURCE = "invented for the example network"  # what the example's own values say of themselves
Record = TypeVar("Record")

# By the ending of a value's name, the first that fits.
UNITS_BY_ENDING = {
    "ml_per_kg": "mL/kg", "_g_dl": "g/dL", "_ml": "mL", "_kg": "kg", "_months": "months", "_mm": "mm",
    "_min": "minutes", "_s": "s", "_degrees": "degrees",
}  # fmt: skip


def read_policy(text: str, *, where: str = "policy file") -> CollectionPolicy:
    """The policy in ``text``. Every problem is a ``PolicyProblem`` that names the place in the file."""
    try:
        plain = tomllib.loads(text)
    except tomllib.TOMLDecodeError as problem:
        raise PolicyProblem(f"this is not readable as TOML: {problem}.", where=where) from None
    found = plain.pop("format", None)
    if found != FORMAT:
        raise PolicyProblem(
            f"the format is '{found}', not '{FORMAT}'.", where=where, fix="Export a policy to see how the file looks."
        )
    policy = _record(CollectionPolicy, plain, where)
    _check_bottles(policy, where)
    return policy


def _check_bottles(policy: CollectionPolicy, where: str) -> None:
    """One bottle for each key, with limits in the tenths in which volumes are planned."""
    keys = [bottle.key for bottle in policy.bottles]
    if doubled := sorted({key for key in keys if keys.count(key) > 1}):
        raise PolicyProblem(f"bottle {', '.join(doubled)} stands twice.", where=where, fix="Give each its own key.")
    for bottle in policy.bottles:
        for limit in (bottle.minimum_ml.value, bottle.maximum_ml.value):
            if abs(limit * TENTHS - round(limit * TENTHS)) > 1e-6:
                raise PolicyProblem(f"{limit:g} mL is finer than a tenth.", where=f"{where}, {bottle.name}",
                                    fix="Write a bottle's limits in tenths of a millilitre.")  # fmt: skip


def write_policy(policy: CollectionPolicy) -> str:
    """The policy as TOML text; ``read_policy`` gives the same policy back."""
    return "\n".join(_lines({"format": FORMAT, **_plain(policy)}, "")) + "\n"


def policy_fingerprint(policy: CollectionPolicy) -> str:
    """Sixteen hexadecimal digits over everything but the approval."""
    bare = replace(policy, approved_by="", approved_on=None, review_by=None)
    return hashlib.sha256(write_policy(bare).encode()).hexdigest()[:16]


@lru_cache
def example_policy() -> CollectionPolicy:
    """The shipped example of the invented network: a draft, clearly marked, for learning only."""
    name = "example_policy.toml"
    text = (resources.files("cubital.reference") / "data" / name).read_text(encoding="utf-8")
    return read_policy(text, where=name)


def flat_values(policy: CollectionPolicy) -> dict[str, Any]:
    """Every leaf of the policy by its path, such as ``bottles[adult_aerobic].minimum_ml.value``."""
    found: dict[str, Any] = {}
    _flatten(_plain(policy), "", found)
    return found


def changed_policy_values(old: CollectionPolicy, new: CollectionPolicy) -> list[tuple[str, Any, Any]]:
    """Path, old and new for every leaf that differs; none where a side lacks it."""
    before, after = flat_values(old), flat_values(new)
    return [
        (path, before.get(path), after.get(path))
        for path in sorted(before.keys() | after.keys())
        if path != "version" and before.get(path) != after.get(path)
    ]


def _lines(table: Mapping[str, Any], path: str) -> list[str]:
    """TOML lines of one table; a value with its unit, source and owner stays on one line, as people write it."""
    found = []
    for name, value in table.items():
        if isinstance(value, Mapping) and "unit" in value:
            found.append(f"{name} = {{ {', '.join(_line(key, inner) for key, inner in value.items())} }}")
        elif not _is_table(value):
            found.append(_line(name, value))
    for name, value in table.items():
        inner = f"{path}.{name}" if path else name
        if isinstance(value, Mapping) and "unit" not in value:
            found += ["", f"[{inner}]", *_lines(value, inner)]
        elif isinstance(value, list) and _is_table(value):
            for entry in value:
                found += ["", f"[[{inner}]]", *_lines(entry, inner)]
    return found


def _is_table(value: Any) -> bool:
    return isinstance(value, Mapping) or (isinstance(value, list) and bool(value) and isinstance(value[0], Mapping))


def _line(name: str, value: Any) -> str:
    """One ``name = value`` on one line; quoting is the library's."""
    if isinstance(value, list):
        return f"{name} = [{', '.join(_line('x', entry).removeprefix('x = ') for entry in value)}]"
    return tomli_w.dumps({name: value}).strip()


def _flatten(value: Any, path: str, found: dict[str, Any]) -> None:
    if isinstance(value, Mapping):
        for name, inner in value.items():
            _flatten(inner, f"{path}.{name}" if path else str(name), found)
    elif isinstance(value, list):
        for index, inner in enumerate(value):
            label = inner.get("key", index) if isinstance(inner, Mapping) else index
            _flatten(inner, f"{path}[{label}]", found)
    else:
        found[path] = value


def _plain(value: Any) -> Any:
    if is_dataclass(value) and not isinstance(value, type):
        return {f.name: _plain(getattr(value, f.name)) for f in fields(value) if getattr(value, f.name) is not None}
    if isinstance(value, tuple):
        return [_plain(entry) for entry in value]
    return value.value if isinstance(value, StrEnum) else value


def _record(kind: type[Record], plain: Any, where: str) -> Record:
    """Builds a frozen dataclass from a table, naming what is missing, unknown or of the wrong kind."""
    if not isinstance(plain, Mapping):
        raise PolicyProblem("a table was expected here.", where=where)
    hints = get_type_hints(kind)
    known = {f.name: f for f in fields(kind)}  # type: ignore[arg-type] # every kind here is a dataclass
    if unknown := sorted(set(plain) - set(known)):
        raise PolicyProblem(f"unknown: {', '.join(unknown)}.", where=where, fix=f"Known are: {', '.join(known)}.")
    ready = {}
    for name, field in known.items():
        if name in plain:
            ready[name] = _value(hints[name], plain[name], f"{where}, {name}")
            if isinstance(ready[name], Value):
                _check_unit(name, ready[name], f"{where}, {name}")
        elif field.default is MISSING and not _optional(hints[name]):
            raise PolicyProblem(f"'{name}' is missing.", where=where)
        elif field.default is MISSING:
            ready[name] = None
    return kind(**ready)


def _check_unit(name: str, value: Value, where: str) -> None:
    """The arithmetic never converts a policy's value, so each must stand in the unit that its name says."""
    unit = next((unit for ending, unit in UNITS_BY_ENDING.items() if name.endswith(ending)), None)
    if unit is not None and value.unit != unit and not value.unit.startswith(f"{unit} "):
        raise PolicyProblem(
            f"the unit is '{value.unit}', not '{unit}'.", where=where, fix=f"Convert the value and write it in {unit}."
        )


def _optional(hint: Any) -> bool:
    return get_origin(hint) in {Union, types.UnionType} and type(None) in get_args(hint)


def _value(hint: Any, plain: Any, where: str) -> Any:
    if _optional(hint):
        hint = next(arg for arg in get_args(hint) if arg is not type(None))
    if get_origin(hint) is tuple:
        if not isinstance(plain, list):
            raise PolicyProblem("a list was expected here.", where=where)
        return tuple(_value(get_args(hint)[0], entry, f"{where}[{index}]") for index, entry in enumerate(plain))
    if isinstance(hint, type) and is_dataclass(hint):
        return _record(hint, plain, where)
    if isinstance(hint, type) and issubclass(hint, StrEnum):
        try:
            return hint(plain)
        except ValueError:
            raise PolicyProblem(f"'{plain}' is unknown.", where=where, fix=f"Choose: {', '.join(hint)}.") from None
    return _scalar(hint, plain, where)


def _scalar(hint: type, plain: Any, where: str) -> Any:
    number = isinstance(plain, int | float) and not isinstance(plain, bool)
    if hint is float and number:
        return float(plain)
    wanted = {str: "text", int: "a whole number", float: "a number", bool: "true or false", date: "a day"}
    if type(plain) is not hint:
        raise PolicyProblem(
            f"'{plain}' is not {wanted[hint]}.", where=where, fix="Write numbers with a point and without quotes."
        )
    return plain
