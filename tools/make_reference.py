"""Writes docs/reference from the code, so that it cannot drift away from it.

python tools/make_reference.py           writes the pages
python tools/make_reference.py --check   changes nothing; fails when a page is not what the code says
"""

from __future__ import annotations

import argparse
import difflib
import sys
from pathlib import Path

from reference_pages import commands, dictionary, errors, facts, policies, python_names
from reference_pages.markdown import Page

FOLDER = Path(__file__).resolve().parent.parent / "docs" / "reference"


def build_pages() -> tuple[Page, ...]:
    """Every page of the reference, the index last."""
    pages = (
        commands.build_page(),
        python_names.build_page(),
        dictionary.build_page(),
        facts.build_charters_page(),
        facts.build_organisms_page(),
        policies.build_page(),
        errors.build_page(),
    )
    return (*pages, _index(pages))


def _index(pages: tuple[Page, ...]) -> Page:
    lines = ["Made from the code by `make docs`; `make check` fails when a page is out of date.", ""]
    lines += [f"- [{page.title}]({page.name})" for page in pages]
    return Page(name="README.md", title="To look up", body="\n".join(lines))


def differences(pages: tuple[Page, ...]) -> list[str]:
    """What differs between the pages and the folder, as lines for a person; pages that no builder makes are named."""
    found: list[str] = []
    for page in pages:
        file = FOLDER / page.name
        present = file.read_text(encoding="utf-8") if file.exists() else ""
        names = (f"{page.name} as committed", f"{page.name} as the code says")
        found += difflib.unified_diff(present.splitlines(), page.text().splitlines(), *names, lineterm="", n=0)
    strangers = {file.name for file in FOLDER.glob("*.md")} - {page.name for page in pages}
    return found + [f"{name}: no builder makes this page" for name in sorted(strangers)]


def main() -> int:
    """Exit code 1 when asked to check and something differs."""
    parser = argparse.ArgumentParser(description="Writes docs/reference from the code.")
    parser.add_argument("--check", action="store_true", help="change nothing, fail on a difference")
    checking = parser.parse_args().check
    pages = build_pages()
    if checking:
        found = differences(pages)
        print("\n".join(found[:200]) or "The reference is what the code says.")
        if found:
            print("Run `make docs` and commit what it writes.", file=sys.stderr)
        return 1 if found else 0
    FOLDER.mkdir(parents=True, exist_ok=True)
    for page in pages:
        (FOLDER / page.name).write_text(page.text(), encoding="utf-8")
        print(f"docs/reference/{page.name}")
    return 0


if __name__ == "__main__":
    sys.exit(main())
