"""The same snapshot on another engine: the Parquet files of a version, read where they lie."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from cubital.domain.snapshots import TableVersions
from cubital.domain.tables import SET_ISOLATES
from cubital.engine import EMBEDDED, QuerySession, open_engine, open_session
from cubital.engine.session import quote_text
from cubital.store.cultures import CultureStore
from cubital.store.shapes import SHOWN


def open_snapshot_on(store: CultureStore, versions: TableVersions, *, engine: str = EMBEDDED) -> QuerySession:
    """``CultureStore.open_snapshot`` on the engine of that name; errors as for ``open_engine``.

    On a cluster every worker must find the folder under the same name.
    """
    if engine == EMBEDDED:
        return store.open_snapshot(versions)
    paths = {name: store.table(name).paths(getattr(versions, name)) for name in SHOWN}
    session = open_engine(engine)
    for name, columns in SHOWN.items():
        session.add_parquet_view(name, paths[name], columns)
    if _all_placed(store.folder, paths["isolates"]):
        session.add_parquet_view("set_isolates", paths["isolates"], SET_ISOLATES)
    return session


def _all_placed(folder: Path, files: Sequence[Path]) -> bool:
    """Whether every file of isolates repeats the facts of their sets; where one does not, sets are looked up."""
    if not files:
        return False
    listed = ", ".join(quote_text(str(file)) for file in files)
    with open_session(folders=[folder]) as session:
        found = session.rows(f"select file_name from parquet_schema([{listed}]) where name = 'leads'")
    return len({name for (name,) in found}) == len(files)
