"""Runs every benchmark and prints one table: seconds, memory, ratios, and whether the target was met.

    python -m bench [NAME ...] [--small] [--data DIR] [--out docs/explanation/measured.md]

A benchmark is a module of this folder with a function ``run(folder, small)`` that yields ``bench.measure.Line``s.
``small`` shortens it to a minute, to see that it works; its ratios say little. Made data are kept in ``--data``.
"""

from __future__ import annotations

import argparse
import importlib
import os
import pkgutil
import platform
import sys
import tempfile
from collections.abc import Callable, Iterable, Sequence
from pathlib import Path

import bench
from bench.measure import Line

Run = Callable[[Path, bool], Iterable[Line]]


def find_benchmarks() -> dict[str, Run]:
    """Every module of this folder that has a ``run``, by its name."""
    found = {}
    for module in pkgutil.iter_modules(bench.__path__):
        if not module.name.startswith("__"):
            run = getattr(importlib.import_module(f"bench.{module.name}"), "run", None)
            if run:
                found[module.name] = run
    return found


def table(lines: Sequence[Line]) -> str:
    """The lines as a Markdown table."""
    head = "| what | seconds | busy s | peak MB | ratio | asked | met |\n|---|---:|---:|---:|---|---|---|\n"
    return head + "".join(f"| {' | '.join(_cells(line))} |\n" for line in lines)


def _cells(line: Line) -> tuple[str, ...]:
    seconds, memory = f"{line.seconds:.2f}", f"{line.peak_mb:,.0f}"
    return line.what, seconds, _busy(line), memory, line.ratio, line.target, _met(line)


def machine() -> str:
    """The machine in one line, without its name."""
    cores = os.cpu_count()
    return f"{platform.system()}, {platform.machine()}, {cores} cores, Python {platform.python_version()}"


def _busy(line: Line) -> str:
    return "" if line.busy_seconds is None else f"{line.busy_seconds:.2f}"


def _met(line: Line) -> str:
    return "" if line.met is None else ("yes" if line.met else "**no**")


def main() -> int:
    """Runs what was asked for. The exit code is 0 also where a target was missed: the table says so."""
    found = find_benchmarks()
    parser = argparse.ArgumentParser(prog="python -m bench", description=__doc__)
    parser.add_argument("names", nargs="*", help=f"which: {', '.join(found)}; all without a name")
    parser.add_argument("--small", action="store_true", help="a short run, to see that everything works")
    parser.add_argument("--data", type=Path, help="where made data are kept for the next time")
    parser.add_argument("--out", type=Path, help="also write the table to this file")
    asked = parser.parse_args()
    unknown = sorted(set(asked.names) - set(found))
    if unknown:
        parser.error(f"no benchmark called {', '.join(unknown)}; there are {', '.join(found)}")
    with tempfile.TemporaryDirectory(prefix="cubital-bench-") as scratch:
        folder = asked.data or Path(scratch)
        folder.mkdir(parents=True, exist_ok=True)
        lines = [line for name in asked.names or found for line in _shown(found[name](folder, asked.small))]
    text = f"{machine()}\n\n{table(lines)}"
    print(f"\n{text}")
    if asked.out:
        asked.out.write_text(f"# Measured\n\n{text}", encoding="utf-8")
    return 0


def _shown(lines: Iterable[Line]) -> Iterable[Line]:
    for line in lines:
        print(f"{line.what}: {line.seconds:.2f} s, {line.peak_mb:,.0f} MB {line.ratio}", file=sys.stderr, flush=True)
        yield line


if __name__ == "__main__":
    sys.exit(main())
