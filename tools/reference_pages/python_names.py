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

FLOORS = ("domain", "stats", "reference", "intake", "store", "judge", "indicators", "answers", "papers")
NOT_USE_CASES = frozenset({"apps", "django_settings", "migrations", "models", "records", "writing"})
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
    """The modules of ``workspace`` that an outsider calls."""
    names = sorted(m.name for m in pkgutil.iter_modules(cubital.workspace.__path__) if m.name not in NOT_USE_CASES)
    return [importlib.import_module(f"cubital.workspace.{name}") for name in names]


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
    return f"{name.name}{inspect.signature(name.thing)}"  # type: ignore[arg-type]


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
    for module in floor_modules():
        names = public_names(module)
        if names:
            lines += [f"## {module.__name__}", "", *paragraphs(module)]
            lines += table(("Name", "What it is"), [(f"`{name.name}`", first_sentence(name.thing)) for name in names])
    return Page(name="python.md", title="Python", body="\n".join(lines))
