"""Reads the examples out of a Markdown page and runs them in order in a folder of their own.

Three kinds of fenced block count. A block whose first fence line says ``file=NAME`` is written to NAME. A ``console``
block holds commands after ``$ ``, each followed by the lines that it must print; ``...`` on a line of its own stands
for any lines, ``...`` within a line for any text. A ``python`` block is run; what it prints is not compared, so it
asserts. Other blocks are pictures of text and are left alone.
"""

from __future__ import annotations

import os
import re
import shlex
import shutil
import subprocess
import sys
from contextlib import chdir
from dataclasses import dataclass, field
from pathlib import Path

from click.testing import CliRunner

from cubital.cli.root import cubital
from cubital.domain.words import choose_language

FENCE = re.compile(r"^```(?P<info>[^\n`]*)\n(?P<body>.*?)^```\s*$", re.MULTILINE | re.DOTALL)
ANY_LINES = "..."
REMEMBERED = 2  # commands and files at the start of a page: practice files, and the first of them taken


@dataclass(frozen=True)
class Example:
    """One block to act on: ``kind`` is ``file``, ``console`` or ``python``; ``line`` where it stands in the page."""

    kind: str
    name: str
    body: str
    line: int


def read_examples(text: str) -> list[Example]:
    """The examples of a page, in order."""
    found = []
    for match in FENCE.finditer(text):
        words = match["info"].split()
        line = text.count("\n", 0, match.start()) + 1
        named = next((word.removeprefix("file=") for word in words if word.startswith("file=")), "")
        if named:
            found.append(Example("file", named, match["body"], line))
        elif words[:1] in (["console"], ["python"]):
            found.append(Example(words[0], "", match["body"], line))
    return found


def split_console(body: str) -> list[tuple[str, list[str]]]:
    """Each command of a console block with the lines it must print."""
    found: list[tuple[str, list[str]]] = []
    for line in body.splitlines():
        if line.startswith("$ "):
            found.append((line[2:], []))
        elif found:
            found[-1][1].append(line)
        else:
            raise ValueError(f"a console block starts with output: {line}")
    return found


def lines_match(wanted: list[str], printed: list[str]) -> bool:
    """Whether the printed lines are the wanted ones, ``...`` standing for anything."""
    parts = []
    for line in wanted:
        if line.strip() == ANY_LINES:
            parts.append("(?:.*\n)*?")
        else:
            parts.append(".*?".join(re.escape(part) for part in line.rstrip().split(ANY_LINES)) + "\n")
    text = "".join(line.rstrip() + "\n" for line in printed)
    return re.fullmatch("".join(parts), text) is not None


@dataclass
class Beginnings:
    """Remembers what the first commands of the pages printed and left, so that pages that begin alike run them once.

    ``place`` is an empty folder for the copies. What a page says that a command prints is compared all the same.
    """

    place: Path
    left: dict[tuple[str, ...], tuple[str, Path]] = field(default_factory=dict)

    def run(self, so_far: tuple[str, ...], folder: Path) -> str:
        """What the last of these commands prints in ``folder``, where all before it have run; then it has run too."""
        if so_far in self.left:
            printed, copy = self.left[so_far]
            shutil.copytree(copy, folder, dirs_exist_ok=True)
        else:
            printed, copy = run_cubital(so_far[-1], folder), self.place / str(len(self.left))
            shutil.copytree(folder, copy)
            self.left[so_far] = printed, copy
        return printed


def run_page(page: Path, folder: Path, beginnings: Beginnings) -> int:
    """Runs every example of a page in ``folder``; returns how many ran. A mismatch raises ``AssertionError``."""
    examples = read_examples(page.read_text(encoding="utf-8"))
    so_far: tuple[str, ...] = ()
    for example in examples:
        where = f"{page.name}, line {example.line}"
        if example.kind == "file":
            (folder / example.name).write_text(example.body, encoding="utf-8")
            so_far += (f"{example.name}: {example.body}",)
        elif example.kind == "python":
            done = _run([sys.executable, "-W", "error", "-c", example.body], folder)
            assert done.returncode == 0, f"{where}:\n{done.stdout}"
            so_far += (example.body,)
        else:
            for command, wanted in split_console(example.body):
                so_far += (command,)
                first = len(so_far) <= REMEMBERED
                printed = beginnings.run(so_far, folder) if first else run_cubital(command, folder)
                assert lines_match(wanted, printed.splitlines()), f"{where}: $ {command}\nprinted:\n{printed}"
                assert "Traceback" not in printed, f"{where}: $ {command}\n{printed}"
    return len(examples)


def run_cubital(command: str, folder: Path) -> str:
    """What a command prints to both streams, inside this process: starting one takes longer than most answers.

    The tests of acceptance start processes. An exception that is no sentence of Cubital's is raised.
    """
    words = shlex.split(command)
    assert words[0] == "cubital", f"only cubital is run in examples, not '{words[0]}'"
    with chdir(folder):
        done = CliRunner().invoke(cubital, words[1:], prog_name="cubital", catch_exceptions=False)
    choose_language("en")
    return done.output


def _run(command: list[str], folder: Path) -> subprocess.CompletedProcess[str]:
    environment = {**os.environ, "PYTHONIOENCODING": "utf-8", "COLUMNS": "100"}
    return subprocess.run(
        command, cwd=folder, env=environment, text=True, encoding="utf-8", stdin=subprocess.DEVNULL,
        stdout=subprocess.PIPE, stderr=subprocess.STDOUT, check=False, timeout=300,
    )  # fmt: skip
