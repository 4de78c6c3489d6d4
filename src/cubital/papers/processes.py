"""A guard for libraries that hang in a forked child once the parent has used them."""

from __future__ import annotations

import os


class OneProcess:
    """Remembers the process that used a library first, and refuses a child that inherited it."""

    def __init__(self, what: str) -> None:
        self._what = what
        self._first: int | None = None

    def check(self) -> None:
        """Call before each use; ``RuntimeError`` in a forked child, where the library would hang for ever."""
        if self._first is None:
            self._first = os.getpid()
        elif self._first != os.getpid():
            raise RuntimeError(
                f"{self._what} was used before this process was forked. Start workers first, or by spawn."
            )
