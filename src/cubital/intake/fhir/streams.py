"""Every resource of a file, one after the other: newline-delimited JSON, a bundle, bundles in bundles, or one alone.

Bulk exports are one resource per line (the FHIR Bulk Data "ndjson" of hl7.org/fhir/uv/bulkdata) and are read line by
line. A bundle written over several lines has to be held whole.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, BinaryIO, NamedTuple

import orjson

from cubital.domain.errors import FileProblem
from cubital.domain.words import _

Json = dict[str, Any]
MAX_DOCUMENT_BYTES = 512_000_000  # held several times over once parsed; a bulk export of this size comes as lines
DEEPEST_BUNDLE = 4  # a searchset in a batch response in a message; real exports stop at two
_MARK = b"\xef\xbb\xbf"


class Sent(NamedTuple):
    """One resource as sent: its number in the file (from 1) and its full address in a bundle (else empty).

    ``resource`` is none for a line that is no JSON object; ``later_pages`` is true where a search says that it goes on.
    """

    number: int
    resource: Json | None
    address: str


class ResourceStream:
    """The resources of one open file. ``later_pages`` becomes true when a bundle names a next page."""

    def __init__(self, stream: BinaryIO, *, where: str) -> None:
        self.later_pages = False
        self._stream = stream
        self._where = where
        self._number = 0

    def __iter__(self) -> Iterator[Sent]:
        first = self._line().removeprefix(_MARK)
        while first and not first.strip():
            self._number += 1
            first = self._line()
        if self._is_whole(first):
            yield from self._lines(first)
        else:
            yield from self._document(first)

    @staticmethod
    def _is_whole(line: bytes) -> bool:
        try:
            return type(orjson.loads(line)) is dict
        except orjson.JSONDecodeError:
            # A first line that is damaged but closed belongs to a file of lines; "{" alone opens a document.
            return line.lstrip().startswith(b"{") and line.rstrip().endswith(b"}") and len(line) > 20

    def _line(self) -> bytes:
        line = self._stream.readline(MAX_DOCUMENT_BYTES + 1)
        if len(line) > MAX_DOCUMENT_BYTES:
            raise _too_large(self._where)
        return line

    def _lines(self, line: bytes) -> Iterator[Sent]:
        loads, limit, readline = orjson.loads, MAX_DOCUMENT_BYTES, self._stream.readline
        while line:
            try:
                value = loads(line)
            except orjson.JSONDecodeError:
                value = None
            if type(value) is dict and value.get("resourceType") != "Bundle":
                self._number += 1
                yield Sent(self._number, value, "")
            elif value is not None or line.strip():
                yield from self._expand(value, "", 0)
            else:
                self._number += 1
            line = readline(limit + 1)
            if len(line) > limit:
                raise _too_large(self._where)

    def _document(self, start: bytes) -> Iterator[Sent]:
        rest = self._stream.read(MAX_DOCUMENT_BYTES + 1)
        if len(rest) > MAX_DOCUMENT_BYTES:
            raise _too_large(self._where)
        try:
            value = orjson.loads(start + rest)
        except orjson.JSONDecodeError as error:
            raise FileProblem(
                _("the text is no complete JSON (line {line}, character {column}); it was probably cut short.").format(
                    line=error.lineno, column=error.colno
                ),
                where=self._where,
                fix=_("Export it again, as one bundle or as one resource per line (NDJSON)."),
            ) from error
        for each in value if type(value) is list else [value]:
            yield from self._expand(each, "", 0)

    def _expand(self, value: object, address: str, depth: int) -> Iterator[Sent]:
        """The resources of a bundle, of the bundles in it, or the one resource that it is."""
        if type(value) is not dict:
            self._number += 1
            yield Sent(self._number, None, "")
            return
        if value.get("resourceType") != "Bundle" or depth >= DEEPEST_BUNDLE:
            self._number += 1
            yield Sent(self._number, value, address)
            return
        self._look_for_pages(value)
        _refuse_first_draft(value, self._where)
        entries = value.get("entry")
        for entry in entries if type(entries) is list else ():
            if type(entry) is not dict or "resource" not in entry:
                self._number += 1
                yield Sent(self._number, {"resourceType": ""}, "")
                continue
            full = entry.get("fullUrl")
            yield from self._expand(entry["resource"], full if type(full) is str else "", depth + 1)

    def _look_for_pages(self, bundle: Json) -> None:
        links = bundle.get("link")
        if type(links) is list and any(type(link) is dict and link.get("relation") == "next" for link in links):
            self.later_pages = True


def _refuse_first_draft(bundle: Json, where: str) -> None:
    """The first draft of the standard wrote its bundles as a news feed: entries with a title and a content."""
    entries = bundle.get("entry")
    first = entries[0] if type(entries) is list and entries else None
    if "published" in bundle or (type(first) is dict and "content" in first and "resource" not in first):
        from cubital.intake.fhir.versions import FIRST, version_problem

        raise version_problem(FIRST, where=where)


def _too_large(where: str) -> FileProblem:
    return FileProblem(
        _("a bundle of more than {size} MB cannot be held in memory.").format(size=MAX_DOCUMENT_BYTES // 1_000_000),
        where=where,
        fix=_("Export one resource per line (NDJSON); such a file may be of any size."),
    )
