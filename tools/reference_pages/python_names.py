"""The public names for Python: the use cases first, then the library below them."""

from __future__ import annotations

import importlib
import inspect
import pkgutil
from dataclasses import dataclass
from types import ModuleType

import cubital
import cubital.workspace
from reference_pages.markdown import Page, first_sentence, paragraphs, table

FLOORS = (
    "domain", "stats", "reference", "engine", "intake", "store", "judge", "indicators", "bedside", "answers", "papers",
)  # fmt: skip
USE_CASES = (
    "opening", "previewing", "taking", "moving", "batches", "units", "places", "charters", "policies", "collecting",
    "judging", "months", "exports", "freezing", "printing", "demo",
)  # fmt: skip
NO_LIBRARY = frozenset({"apps", "django_settings", "migrations", "models", "records"})  # Django's own kinds of module
INTRODUCTION = """
The use cases are functions of an open workspace: `open_workspace(folder)` gives it. They raise the classes listed under
[errors](errors.md). Below them lies a library without a web framework, listed by floor with one line per name; the
docstrings say more.
"""


@dataclass(frozen=True)
class PublicName:
    """A function or class of one module that does not start with an underscore."""

    module: str
    name: str
    thing: object


def use_case_modules() -> list[ModuleType]:
    """The modules of ``workspace`` that an outsider calls, in the order of a person's work."""
    return [importlib.import_module(f"cubital.workspace.{name}") for name in USE_CASES]


def helper_modules() -> list[ModuleType]:
    """The other modules of ``workspace``, which serve the use cases."""
    names = sorted(module.name for module in pkgutil.iter_modules(cubital.workspace.__path__))
    return [importlib.import_module(f"cubital.workspace.{n}") for n in names if n not in (*USE_CASES, *NO_LIBRARY)]


def floor_modules() -> list[ModuleType]:
    """Every module of the floors below, in order."""
    found = []
    for floor in FLOORS:
        package = importlib.import_module(f"cubital.{floor}")
        names = [m.name for m in pkgutil.walk_packages(package.__path__, f"cubital.{floor}.")]
        found += [package, *(importlib.import_module(name) for name in sorted(names))]
    return found


def public_names(module: ModuleType) -> list[PublicName]:
    """What the module itself defines, or says in ``__all__``, in order of the alphabet."""
    listed = getattr(module, "__all__", None)
    found = []
    for name, thing in sorted(vars(module).items()):
        ours = inspect.isfunction(thing) or inspect.isclass(thing) or hasattr(thing, "cache_info")
        own = getattr(thing, "__module__", "") == module.__name__ or (listed is not None and name in listed)
        if ours and own and not name.startswith("_"):
            found.append(PublicName(module.__name__, name, thing))
    return found


def _signature(name: PublicName) -> str:
    """The signature with plain annotations, one argument a line where there are several."""
    signature = inspect.signature(name.thing)  # type: ignore[arg-type]
    parts = []
    for parameter in signature.parameters.values():
        if parameter.kind is parameter.KEYWORD_ONLY and "*" not in parts:
            parts.append("*")
        default = "" if parameter.default is parameter.empty else f" = {_default(parameter.default)}"
        parts.append(f"{parameter.name}: {parameter.annotation}{default}")
    body = ", ".join(parts) if len(parts) < 3 else "\n    " + ",\n    ".join(parts) + "\n"
    return f"{name.name}({body}) -> {signature.return_annotation}"


def _default(value: object) -> str:
    """A default as it is written: plain values as they are, others by their kind, so that no address is printed."""
    return repr(value) if isinstance(value, str | int | float | bool | None) else f"<{type(value).__name__}>"


def _use_cases(module: ModuleType) -> list[str]:
    lines = [f"## {module.__name__}", "", *paragraphs(module)]
    for name in public_names(module):
        lines += [f"### {module.__name__}.{name.name}", ""]
        if inspect.isfunction(name.thing):
            lines += ["```text", _signature(name), "```", ""]
        lines += paragraphs(name.thing)
    return lines


def build_page() -> Page:
    """The page ``python.md``."""
    lines = [*INTRODUCTION.strip().splitlines(), ""]
    for module in use_case_modules():
        lines += _use_cases(module)
    for module in (*helper_modules(), *floor_modules()):
        names = public_names(module)
        if names:
            lines += [f"## {module.__name__}", "", *paragraphs(module)]
            lines += table(("Name", "What it is"), [(f"`{name.name}`", first_sentence(name.thing)) for name in names])
    return Page(name="python.md", title="Python", body="\n".join(lines))
