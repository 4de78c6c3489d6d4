"""Keeps the catalogue of Spanish sentences current: finds every sentence, keeps what is translated, compiles.

``python tools/make_catalogue.py`` updates ``cubital.po`` and ``cubital.mo``; new sentences come out untranslated and
are listed. ``--check`` changes nothing and fails where a sentence is missing, left over, untranslated, or has other
placeholders than its source, or where the compiled file is not the one that the text file makes.
"""

from __future__ import annotations

import argparse
import io
import re
import string
import sys
from collections.abc import Iterator, Sequence
from datetime import UTC, datetime
from pathlib import Path

from babel.messages.catalog import Catalog, Message
from babel.messages.extract import extract_from_dir
from babel.messages.mofile import write_mo
from babel.messages.pofile import read_po, write_po

ROOT = Path(__file__).resolve().parent.parent
SOURCE = ROOT / "src" / "cubital"
LOCALES = SOURCE / "domain" / "locale"
LANGUAGES = ("es",)
DOMAIN = "cubital"
KEYWORDS: dict[str, tuple[int, ...] | None] = {"_": None, "ngettext": (1, 2)}
FIXED_DATE = datetime(2026, 1, 1, tzinfo=UTC)  # a date in the header would make every run a change

# {% say "..." %} and {% say_count "one" "many" ... %}, the templates' way through gettext
TEMPLATE_WORDS = re.compile(
    r"\{%-?\s*(?P<tag>say|say_count)\s+(?P<first>\"[^\"]*\"|'[^']*')(?:\s+(?P<second>\"[^\"]*\"|'[^']*'))?"
)

Found = tuple[str | tuple[str, str], str]


def find_sentences(source: Path = SOURCE) -> Iterator[Found]:
    """Every sentence with the file it stands in; one and many as a pair."""
    methods = [("**.py", "python")]
    found = extract_from_dir(str(source), method_map=methods, keywords=KEYWORDS)
    for name, _line, message, _comments, _context in found:
        yield (message[0], message[1]) if isinstance(message, tuple) else message, name
    for template in sorted(source.glob("web/templates/**/*.html")):
        yield from _template_sentences(template, source)


def _template_sentences(template: Path, source: Path) -> Iterator[Found]:
    name = template.relative_to(source).as_posix()
    for match in TEMPLATE_WORDS.finditer(template.read_text(encoding="utf-8")):
        first, second = match["first"][1:-1], (match["second"] or "")[1:-1]
        yield (first, second) if match["tag"] == "say_count" else first, name


def build_template(source: Path = SOURCE) -> Catalog:
    """A catalogue of every sentence, without translations."""
    catalogue = Catalog(project="Cubital", charset="utf-8", fuzzy=False)
    for message, name in find_sentences(source):
        catalogue.add(message, locations=[(name, 0)])
    return catalogue


def read_catalogue(language: str) -> Catalog:
    """What is translated so far; an empty catalogue for a new language."""
    path = _path(language, "po")
    if not path.exists():
        return Catalog(locale=language, domain=DOMAIN, project="Cubital")
    return read_po(io.BytesIO(path.read_bytes()), locale=language, domain=DOMAIN)


def update_catalogue(catalogue: Catalog, template: Catalog) -> Catalog:
    """The sentences of ``template`` with the translations of ``catalogue``; nothing is guessed, left-overs go."""
    updated = Catalog(
        locale=catalogue.locale, domain=DOMAIN, project="Cubital", version="1", charset="utf-8", fuzzy=False,
        creation_date=FIXED_DATE, revision_date=FIXED_DATE, last_translator="Cubital",
        language_team="Cubital", copyright_holder="Cubital", msgid_bugs_address="see CONTRIBUTING.md",
        header_comment="# Sentences of Cubital. Made by tools/make_catalogue.py; translate the empty ones.",
    )  # fmt: skip
    for message in template:
        if message.id:
            known = catalogue.get(message.id)
            updated.add(message.id, string=known.string if known else None, locations=message.locations)
    return updated


def problems_of(catalogue: Catalog) -> list[str]:
    """Untranslated sentences, and translations with other placeholders than their source."""
    found = []
    for message in catalogue:
        if not message.id:
            continue
        sources, targets = _texts(message.id), _texts(message.string)
        if not targets or not all(targets):
            found.append(f"untranslated: {sources[0]!r}")
        elif not _same_placeholders(sources, targets):
            found.append(f"other placeholders: {sources[0]!r}")
    return found


def render_po(catalogue: Catalog) -> bytes:
    """The text file, the same for the same sentences anywhere."""
    out = io.BytesIO()
    write_po(out, catalogue, width=110, sort_output=True, no_location=True, ignore_obsolete=True)
    return out.getvalue()


def render_mo(catalogue: Catalog) -> bytes:
    """The compiled file that gettext reads."""
    out = io.BytesIO()
    write_mo(out, catalogue)
    return out.getvalue()


def main(arguments: Sequence[str] | None = None) -> int:
    parser = argparse.ArgumentParser(description="Keep the catalogue of translated sentences current.")
    parser.add_argument("--check", action="store_true", help="change nothing; fail where something is not current")
    check = parser.parse_args(arguments).check
    template, failed = build_template(), False
    for language in LANGUAGES:
        updated = update_catalogue(read_catalogue(language), template)
        problems = problems_of(updated)
        problems += _stale(language, updated) if check else _write(language, updated)
        for problem in problems:
            print(f"{language}: {problem}", file=sys.stderr)
        failed |= bool(problems)
    return int(failed and check)


def _stale(language: str, updated: Catalog) -> list[str]:
    wanted = {"po": render_po(updated), "mo": render_mo(updated)}
    paths = {kind: _path(language, kind) for kind in wanted}
    return [
        f"{paths[kind].relative_to(ROOT)} is not current; run tools/make_catalogue.py"
        for kind, content in wanted.items()
        if not paths[kind].exists() or paths[kind].read_bytes() != content
    ]


def _write(language: str, updated: Catalog) -> list[str]:
    for kind, content in (("po", render_po(updated)), ("mo", render_mo(updated))):
        path = _path(language, kind)
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(content)
    return []


def _path(language: str, kind: str) -> Path:
    return LOCALES / language / "LC_MESSAGES" / f"{DOMAIN}.{kind}"


def _texts(text: str | Sequence[str] | None) -> tuple[str, ...]:
    if not text:
        return ()
    return (text,) if isinstance(text, str) else tuple(text)


def _placeholders(text: str) -> set[str]:
    return {name for _literal, name, _format, _convert in string.Formatter().parse(text) if name is not None}


def _same_placeholders(sources: Sequence[str], targets: Sequence[str]) -> bool:
    """The plural carries exactly the placeholders of its source; a singular may spell its number out."""
    known = set().union(*map(_placeholders, sources))
    return all(_placeholders(target) <= known for target in targets) and (
        _placeholders(targets[-1]) == _placeholders(sources[-1])
    )


__all__ = ["Message", "build_template", "main", "problems_of", "read_catalogue", "render_mo", "update_catalogue"]

if __name__ == "__main__":
    sys.exit(main())
