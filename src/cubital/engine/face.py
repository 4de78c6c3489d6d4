"""What the judge asks of an engine: the face that every engine shows it, whatever runs behind."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path
from types import TracebackType
from typing import Any, Protocol, Self

Values = Sequence[Any] | Mapping[str, Any]


class QuerySession(Protocol):
    """Statements in the dialect of the SQL files, over views and tables that belong to this session alone.

    Values are bound by ``$name`` from a mapping, or in their order from a sequence. A context manager.
    """

    def rows(self, sql: str, values: Values = ()) -> list[tuple[Any, ...]]:
        """Every row of one statement."""
        ...

    def named_rows(self, sql: str, values: Values = ()) -> list[dict[str, Any]]:
        """Every row of one statement by the names of its columns."""
        ...

    def one(self, sql: str, values: Values = ()) -> tuple[Any, ...]:
        """The only row of a statement that returns exactly one."""
        ...

    def do(self, sql: str, values: Values = ()) -> None:
        """Runs a statement for its effect: a temporary table or view, replaced where there is one of that name."""
        ...

    def has_table(self, name: str) -> bool:
        """Whether the session holds a table or view of that name."""
        ...

    def add_parquet_view(self, name: str, files: Iterable[Path], columns: Mapping[str, str] | None = None) -> None:
        """A view over Parquet files, read where they lie; ``columns`` as for ``Session.add_parquet_view``."""
        ...

    def add_rows(self, name: str, columns: Mapping[str, str], rows: Sequence[Sequence[Any]]) -> None:
        """A small table from Python rows: ``columns`` maps each name to its SQL type, in the order of the cells."""
        ...

    def close(self) -> None:
        """Gives up what the session holds."""
        ...

    def __enter__(self) -> Self: ...

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None: ...
