"""The reference says what the code says, and leaves nothing out."""

from __future__ import annotations

import subprocess
import sys
from enum import Enum
from pathlib import Path

import pytest

from cubital.domain.charter import Window
from reference_pages.commands import every_command
from reference_pages.errors import every_error
from reference_pages.markdown import Page, choices, table
from reference_pages.python_names import floor_modules, helper_modules, public_names, use_case_modules

ROOT = Path(__file__).resolve().parents[2]
REFERENCE = ROOT / "docs" / "reference"
COMMANDS = every_command()
NAMES = [name for module in (*use_case_modules(), *helper_modules(), *floor_modules()) for name in public_names(module)]


def _is_enumeration(thing):
    return isinstance(thing, type) and issubclass(thing, Enum)


def _page(name):
    return (REFERENCE / name).read_text(encoding="utf-8")


def test_the_committed_reference_is_what_the_code_says():
    done = subprocess.run(
        [sys.executable, "tools/make_reference.py", "--check"], cwd=ROOT, capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stdout + done.stderr


def test_a_page_that_was_edited_by_hand_is_noticed(tmp_path, monkeypatch):
    import make_reference

    monkeypatch.setattr(make_reference, "FOLDER", tmp_path)
    page = Page(name="page.md", title="Page", body="as the code says")
    (tmp_path / "page.md").write_text(page.text().replace("code", "hand"), encoding="utf-8")
    (tmp_path / "stranger.md").write_text("left over", encoding="utf-8")
    found = make_reference.differences((page,))
    assert "+as the code says" in found
    assert found[-1] == "stranger.md: no builder makes this page"


@pytest.mark.parametrize("entry", COMMANDS, ids=lambda entry: entry.name)
def test_every_command_says_what_it_does_and_stands_in_the_reference(entry):
    assert entry.command.help
    assert f"## {entry.name}\n" in _page("command-line.md")


@pytest.mark.parametrize("entry", COMMANDS, ids=lambda entry: entry.name)
def test_every_option_says_what_it_does(entry):
    silent = [
        parameter.opts
        for parameter in entry.command.params
        if parameter.param_type_name == "option"
        and not getattr(parameter, "help", None)
        and "--help" not in parameter.opts
    ]
    assert silent == []


def test_every_public_name_has_a_docstring():
    """An enumeration may stand without one: its words are listed, and explain it."""
    silent = [
        f"{name.module}.{name.name}"
        for name in NAMES
        if not vars(name.thing).get("__doc__", name.thing.__doc__) and not _is_enumeration(name.thing)
    ]
    assert silent == []


def test_every_public_name_stands_in_the_reference():
    page = _page("python.md")
    assert [n for n in NAMES if f"`{n.name}`" not in page and f".{n.name}\n" not in page] == []


def test_every_class_of_error_has_a_way_to_put_it_right():
    how_to = (ROOT / "docs" / "how-to" / "errors.md").read_text(encoding="utf-8")
    assert [kind.__name__ for kind in every_error() if f"exit code {kind.exit_code}" not in how_to] == []


def test_remarks_beside_the_words_of_an_enumeration_are_taken_over():
    assert "- `same_day`: the same local calendar day" in choices(Window)


def test_bars_in_a_cell_do_not_break_a_table():
    assert table(("a",), [("int | None",)])[2] == "| int \\| None |"
