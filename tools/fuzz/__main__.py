"""The whole search: every reader, two at a time, and one table of what was tried and found.

    python -m tools.fuzz [NAME ...] [--share 0.01] [--seed 1] [--keep FOLDER]

``--share`` shortens or lengthens every reader's search. The exit code is 1 where anything was found.
"""

from __future__ import annotations

import argparse
import json
import re
import subprocess
import sys
import tempfile
import time
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from pathlib import Path

from tools.fuzz.targets import READERS

ROOT = Path(__file__).resolve().parents[2]


@dataclass(frozen=True, kw_only=True)
class Search:
    """What one reader's search came to. ``ended`` is false where the process itself broke off."""

    name: str
    seed: int
    inputs: int
    seconds: float
    covered: int
    slowest: float
    found: tuple[dict[str, str], ...]
    ended: bool


def main() -> int:
    """Runs what was asked for and prints the table."""
    parser = argparse.ArgumentParser(prog="python -m tools.fuzz", description=__doc__)
    parser.add_argument("names", nargs="*", help=f"which readers: {', '.join(READERS)}; all without a name")
    parser.add_argument("--share", type=float, default=1.0, help="how much of each reader's inputs")
    parser.add_argument("--seed", type=int, default=1, help="the first seed; each reader has its own")
    parser.add_argument("--keep", type=Path, help="where inputs that break a reader are kept")
    asked = parser.parse_args()
    with tempfile.TemporaryDirectory(prefix="cubital-fuzz-") as scratch:
        folder = (asked.keep or Path(scratch)).absolute()
        folder.mkdir(parents=True, exist_ok=True)
        with ThreadPoolExecutor(max_workers=2) as beside:
            searches = list(
                beside.map(
                    lambda name: _search(name, share=asked.share, seed=asked.seed, folder=folder),
                    asked.names or list(READERS),
                )
            )
    print(table(searches))
    return 1 if any(search.found or not search.ended for search in searches) else 0


def _search(name: str, *, share: float, seed: int, folder: Path) -> Search:
    runs = max(1, int(READERS[name].runs * share))
    own_seed = seed + list(READERS).index(name)
    began = time.perf_counter()
    done = subprocess.run(
        [sys.executable, "-m", "tools.fuzz.one", name, str(runs), str(own_seed), str(folder)],
        cwd=ROOT, check=False, capture_output=True, text=True, errors="replace",
    )  # fmt: skip
    slowest = folder / f"{name}.slowest"
    search = Search(
        name=name,
        seed=own_seed,
        inputs=_last_number(r"number_of_executed_units: (\d+)", done.stderr),
        seconds=time.perf_counter() - began,
        covered=_last_number(r"cov: (\d+)", done.stderr),
        slowest=float(slowest.read_text()) if slowest.exists() else 0.0,
        found=tuple(json.loads(each.read_text()) for each in sorted(folder.glob(f"{name}.*.json"))),
        ended=done.returncode == 0,
    )
    print(f"{name}: {search.inputs:,} inputs, {len(search.found)} found", file=sys.stderr, flush=True)
    if not search.ended:
        print(done.stderr[-1500:], file=sys.stderr)
    return search


def _last_number(pattern: str, text: str) -> int:
    found = re.findall(pattern, text)
    return int(found[-1]) if found else 0


def table(searches: list[Search]) -> str:
    """The searches as a Markdown table, then what was found."""
    lines = ["| reader | inputs | seed | seconds | places covered | slowest input s | found |",
             "|---|---:|---:|---:|---:|---:|---:|"]  # fmt: skip
    for each in searches:
        broke = "" if each.ended else ", broke off"
        lines.append(
            f"| {each.name} | {each.inputs:,} | {each.seed} | {each.seconds:.0f} | {each.covered:,} "
            f"| {each.slowest:.2f} | {len(each.found)}{broke} |"
        )
    lines.append(f"| all | {sum(each.inputs for each in searches):,} | | | | | {sum(len(s.found) for s in searches)} |")
    for each in searches:
        lines += [f"- {each.name}: {found['error']} at {found['place']}: {found['words']}" for found in each.found]
    return "\n".join(lines)


if __name__ == "__main__":
    sys.exit(main())
