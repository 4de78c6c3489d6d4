"""No way out without a decision: every command, page and file is listed once, with who it is for.

A new face fails here until it is written into the decision's table as guarded, private, a line list, or without counts.
"""

from __future__ import annotations

import re
from pathlib import Path

import click
import pytest

from reference_pages.commands import every_command

ROOT = Path(__file__).resolve().parents[2]
SOURCES = ROOT / "src" / "cubital"
DECISION = next((ROOT / "docs" / "decisions").glob("*-what-leaves-is-guarded.md"))
KINDS = {"guarded", "guarded by itself", "private", "line list", "one person", "given counts", "no counts"}
ROW = re.compile(r"^\| ([a-z ]+) \| (.*) \|$", re.MULTILINE)
WRITES = re.compile(r"\b(?:write_export|write_whole|replacing)\(")


def listed():
    """Face by face its kind, as the decision has it."""
    rows = ROW.findall(DECISION.read_text())
    return [(face, kind) for kind, faces in rows for face in re.findall("`([^`]+)`", faces)]


def commands():
    return {entry.name for entry in every_command() if not isinstance(entry.command, click.Group)}


def pages():
    """The name of every address, from the sources: loading the pages would need their settings."""
    found = set()
    for file in (SOURCES / "web").rglob("*.py"):
        found |= {f"page {name}" for name in re.findall(r'\bpath\([^\n]*\bname="([a-z-]+)"', file.read_text())}
    return found


def test_every_command_and_page_is_listed():
    missing = sorted((commands() | pages()) - {face for face, _kind in listed()})
    assert not missing, f"say in {DECISION.name} who these are for: {', '.join(missing)}"


def test_nothing_is_listed_that_does_not_exist():
    assert not {face for face, _kind in listed()} - commands() - pages()


def test_every_face_is_listed_once_and_with_a_known_kind():
    faces = [face for face, _kind in listed()]
    assert len(faces) == len(set(faces)) > 50
    assert {kind for _face, kind in listed()} == KINDS


def test_every_module_that_writes_a_file_is_listed():
    text = DECISION.read_text()
    held = re.search(r"Functions that write a file.*?\n\n", text, re.DOTALL)
    assert held
    named = set(re.findall("`([a-z_]+)`", held[0])) - {"workspace", "cli"}
    writing = {
        file.stem for floor in ("workspace", "cli") for file in (SOURCES / floor).rglob("*.py")
        if WRITES.search(file.read_text())
    }  # fmt: skip
    assert writing == named


@pytest.mark.parametrize("module", ["count_exports", "guarded_months", "guarded_bench", "trial_papers"])
def test_guarded_faces_let_the_guard_decide(module):
    assert "let_leave(" in (SOURCES / "workspace" / f"{module}.py").read_text()


def test_every_page_says_that_it_is_private_or_how_it_is_guarded():
    templates = SOURCES / "web" / "templates"
    said = re.compile(r"\{% block private %\}<p>\{% say \"([^\"]*)\"")
    found = {page.name: said.findall(page.read_text()) for page in templates.rglob("*.html")}
    told = {name: words for name, words in found.items() if words}
    assert "small counts are not hidden here" in told.pop("base.html")[0]
    assert told.keys() == {"look.html", "packs.html", "pack.html", "actions.html", "action.html"}
    assert all("small counts are hidden" in told[name][0] for name in ("packs.html", "pack.html"))
    assert all("No count of patients" in told[name][0] for name in ("actions.html", "action.html"))
    assert "Small counts are hidden on this page, looked at by itself." in told["look.html"][0]


@pytest.mark.parametrize("function", ["export_sets", "export_fates"])
def test_line_lists_say_for_whom_they_are(function):
    text = (SOURCES / "workspace" / "exports.py").read_text()
    about = {"export_sets": "_sets_about", "export_fates": "_fates_about"}[function]
    body = text.split(f"def {about}(", 1)[1].split("\ndef ", 1)[0]
    assert "line_list_words()" in body
