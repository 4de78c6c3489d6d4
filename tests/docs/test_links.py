"""Links between the documents lead somewhere, and no page is an orphan."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
PAGES = sorted((*ROOT.glob("*.md"), *(ROOT / "docs").rglob("*.md")))
LINK = re.compile(r"\[[^\]]*\]\((?!https?:|mailto:)(?P<target>[^)\s]+)\)")
CODE = re.compile(r"```.*?```|`[^`]*`", re.DOTALL)


def _links(page: Path) -> list[tuple[Path, str]]:
    text = CODE.sub("", page.read_text(encoding="utf-8"))
    found = []
    for match in LINK.finditer(text):
        file, _sign, anchor = match["target"].partition("#")
        found.append(((page.parent / file).resolve() if file else page, anchor))
    return found


def _anchors(page: Path) -> set[str]:
    titles = re.findall(r"^#+ (.+)$", page.read_text(encoding="utf-8"), re.MULTILINE)
    return {re.sub(r"[^\w\- ]", "", title.lower()).replace(" ", "-") for title in titles}


@pytest.mark.parametrize("page", PAGES, ids=lambda page: str(page.relative_to(ROOT)))
def test_every_link_of_this_page_leads_somewhere(page):
    broken = [
        f"{target.name}#{anchor}"
        for target, anchor in _links(page)
        if not target.exists() or (anchor and anchor not in _anchors(target))
    ]
    assert broken == []


def test_every_document_is_linked_from_another():
    linked = {target for page in PAGES for target, _anchor in _links(page) if target != page}
    orphans = [str(page.relative_to(ROOT)) for page in PAGES if page not in linked and page != ROOT / "README.md"]
    assert orphans == []
