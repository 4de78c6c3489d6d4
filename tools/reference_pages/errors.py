"""The classes of errors with their exit codes."""

from __future__ import annotations

from cubital.domain.errors import CubitalError
from reference_pages.markdown import Page, paragraphs, table

INTRODUCTION = """
Something that you can put right is one sentence on standard error: where, what, how to fix it. The exit code says which
kind it is. How to put each right: [put errors right](../how-to/errors.md).

An answer that says "too few" or refuses is no error: the question was answered, and the exit code is 0. Wrong use of
the command line (an unknown option, a missing argument) has the exit code 2.
"""


def every_error() -> tuple[type[CubitalError], ...]:
    """The base class and everything derived from it, in the order of the exit codes."""
    found = [CubitalError, *CubitalError.__subclasses__()]
    return tuple(sorted(found, key=lambda kind: kind.exit_code))


def build_page() -> Page:
    """The page ``errors.md``."""
    rows = [(kind.exit_code, f"`{kind.__name__}`", " ".join(paragraphs(kind)).strip()) for kind in every_error()]
    lines = [*INTRODUCTION.strip().splitlines(), "", *table(("Exit code", "Class", "Meaning"), rows)]
    return Page(name="errors.md", title="Errors and exit codes", body="\n".join(lines))
