"""A command's module is loaded when it is asked for: the table of modules says all there is and nothing else."""

from __future__ import annotations

import importlib
import pkgutil
import subprocess
import sys

import click
import pytest

import cubital.cli
from cubital.cli.root import MODULES, SentenceGroup

ADDING = sorted(
    module.name
    for module in pkgutil.iter_modules(cubital.cli.__path__)
    if hasattr(importlib.import_module(f"cubital.cli.{module.name}"), "add_commands")
)


def test_every_module_that_adds_commands_is_in_the_table():
    assert sorted(MODULES) == ADDING


@pytest.mark.parametrize("module", ADDING)
def test_a_module_adds_what_the_table_says(module):
    group = click.Group()
    importlib.import_module(f"cubital.cli.{module}").add_commands(group)
    elsewhere = {"paper"} if module != "leaving" else set()  # sheets of other modules hang on the group of 'leaving'
    assert set(group.commands) == set(MODULES[module]) - elsewhere


def test_an_unknown_command_is_none():
    group = SentenceGroup()
    assert group.get_command(click.Context(group), "nothing") is None


def test_a_paper_of_another_module_is_found_by_its_group():
    group = SentenceGroup()
    context = click.Context(group)
    paper = group.get_command(context, "paper")
    assert isinstance(paper, click.Group)
    assert {"unit", "charter", "spike", "tiers"} <= set(paper.commands)


def test_asking_for_one_command_opens_no_table_library_for_its_help():
    words = (
        "import sys; from cubital.cli.root import cubital; cubital.main(['month', '--help'], standalone_mode=False); "
    )
    words += "print(sorted({'duckdb', 'scipy', 'django', 'numpy'} & set(sys.modules)))"
    done = subprocess.run([sys.executable, "-c", words], capture_output=True, text=True, check=True)
    assert done.stdout.splitlines()[-1] == "[]"
