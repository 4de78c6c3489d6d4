"""Which engine runs a question: the embedded one unless somebody asks for Spark."""

from __future__ import annotations

import re
from collections.abc import Iterable
from pathlib import Path

from cubital.domain.errors import RequestProblem
from cubital.domain.words import _
from cubital.engine.face import QuerySession
from cubital.engine.session import DEFAULT_MEMORY, open_session

EMBEDDED = "duckdb"
_SPARK = re.compile(r"spark:(?://)?\S+")


def check_engine(name: str) -> str:
    """``name`` where it is one: ``duckdb``, ``spark:local[2]``, ``spark://host:7077``, ``spark:MASTER``.

    Raises ``RequestProblem`` for anything else; whether Spark is there is found out when it is first needed.
    """
    if name != EMBEDDED and not _SPARK.fullmatch(name):
        raise RequestProblem(
            _("there is no engine '{name}'.").format(name=name),
            fix=_("Write duckdb, spark:local[2], or the address of a cluster such as spark://host:7077."),
        )
    return name


def spark_master(engine: str) -> str:
    """What Spark calls the place: ``local[2]`` for ``spark:local[2]``, an address as it stands."""
    return engine if engine.startswith("spark://") else engine.removeprefix("spark:")


def open_engine(engine: str = EMBEDDED, *, folders: Iterable[Path] = (), memory: str = DEFAULT_MEMORY) -> QuerySession:
    """A fresh session on that engine.

    ``folders`` and ``memory`` bind the embedded engine. Spark reads whatever its workers may read, in as much memory
    as its own settings allow. Raises ``MachineProblem`` where Spark is missing or does not start.
    """
    if check_engine(engine) == EMBEDDED:
        return open_session(folders=folders, memory=memory)
    from cubital.engine.spark import open_spark

    return open_spark(spark_master(engine))
