"""Fails when a module passes 500 lines: by then it holds two ideas and wants a second name."""

from __future__ import annotations

import sys
from pathlib import Path

LIMIT = 500
ROOT = Path(__file__).resolve().parent.parent


def long_modules() -> list[str]:
    """Path and length of every module over the limit; generated migrations are exempt."""
    found = []
    for path in sorted((ROOT / "src").rglob("*.py")):
        if "migrations" in path.parts:
            continue
        lines = len(path.read_text(encoding="utf-8").splitlines())
        if lines > LIMIT:
            found.append(f"{path.relative_to(ROOT)}: {lines} lines, at most {LIMIT}")
    return found


if __name__ == "__main__":
    problems = long_modules()
    print("\n".join(problems))
    sys.exit(1 if problems else 0)
