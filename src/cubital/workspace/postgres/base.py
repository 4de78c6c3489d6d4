"""Django's PostgreSQL connection, except that trouble with the server comes out as Cubital's sentences.

Django finds this class by the name of the module.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from django.db import DataError, Error, InterfaceError, OperationalError, ProgrammingError
from django.db.backends.postgresql import base
from django.db.utils import NotSupportedError

from cubital.workspace.postgres.trouble import server_problem

SAID_PLAINLY = (OperationalError, InterfaceError, DataError, ProgrammingError)


class DatabaseWrapper(base.DatabaseWrapper):
    """One thread's connection to the records of one workspace."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.execute_wrappers.append(self._execute_plainly)

    def ensure_connection(self) -> None:
        """Connects where need be. Raises ``WorkspaceProblem`` where the server cannot be reached."""
        try:
            super().ensure_connection()
        except (OperationalError, InterfaceError, NotSupportedError) as error:
            problem = server_problem(error, connecting=True)
            if problem is None:
                raise
            raise problem from error

    def _execute_plainly(self, execute: Callable[..., Any], sql: str, params: Any, many: bool, context: Any) -> Any:
        try:
            return execute(sql, params, many, context)
        except SAID_PLAINLY as error:
            self._let_go_if_lost()
            problem = server_problem(error)
            if problem is None:
                raise
            raise problem from error

    def _let_go_if_lost(self) -> None:
        """A lost connection is never used again: the next question makes a new one."""
        if self.connection is not None and self.connection.closed and not self.in_atomic_block:
            try:
                self.close()
            except Error:
                self.connection = None
