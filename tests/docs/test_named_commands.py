"""Commands that the documents only name, without running them, exist with the options they are given."""

from __future__ import annotations

import re
import shlex
from pathlib import Path

import click
import pytest

from reference_pages.commands import every_command

ROOT = Path(__file__).resolve().parents[2]
PAGES = sorted(page for page in (*ROOT.glob("*.md"), *(ROOT / "docs").rglob("*.md")) if page.parent.name != "reference")
COMMANDS = {entry.name: entry.command for entry in every_command()}
RECIPE = re.compile(r"(?:^|`)make ([a-z][a-z-]*)", re.MULTILINE)
CALL = re.compile(r"(?:^|`|\$ |\.venv/bin/)cubital ([^`\n]+)", re.MULTILINE)


def _split(call):
    """The words of a call; an apostrophe in the prose around it is no quotation mark."""
    try:
        return shlex.split(call, comments=True)
    except ValueError:
        return call.split()


def _unknown(call):
    """What a call names that does not exist: a command or options of it; empty where all is well."""
    words = _split(call)
    place, command = "cubital", COMMANDS["cubital"]
    missing = []
    for word in words:
        if word.startswith("-"):
            known = {name for p in command.params for name in (*p.opts, *p.secondary_opts)} | {"--help", "-h"}
            missing += [word] if word.split("=")[0] not in known else []
        elif isinstance(command, click.Group) and f"{place} {word}" in COMMANDS:
            place = f"{place} {word}"
            command = COMMANDS[place]
    return missing if isinstance(command, click.Command) and place != "cubital" else [place, *missing]


@pytest.mark.parametrize("page", PAGES, ids=lambda page: str(page.relative_to(ROOT)))
def test_every_command_named_on_this_page_exists(page):
    calls = CALL.findall(page.read_text(encoding="utf-8"))
    assert [(call, _unknown(call)) for call in calls if _unknown(call)] == []


def test_every_recipe_named_in_a_document_exists():
    recipes = set(re.findall(r"^([a-z-]+):", (ROOT / "Makefile").read_text(encoding="utf-8"), re.MULTILINE))
    recipes |= {"test-unit", "test-property"} & set(re.findall(r"test-[a-z]+", (ROOT / "Makefile").read_text("utf-8")))
    named = {name for page in PAGES for name in RECIPE.findall(page.read_text(encoding="utf-8"))}
    assert named - recipes == set()
    assert {"demo", "test", "check"} <= named


@pytest.mark.parametrize(
    ("call", "missing"),
    [
        ("serve --port 8766", []),
        ("--workspace here take file.csv --facility X --yes", []),
        ("serve --colour blue", ["--colour"]),
        ("fly me", ["cubital"]),
    ],
)
def test_a_command_or_option_that_does_not_exist_is_noticed(call, missing):
    assert _unknown(call) == missing
