"""The one door to the query engines. Only intake, store and judge come through it."""

from cubital.engine.face import QuerySession
from cubital.engine.session import Session, load_sql, open_session

__all__ = ["QuerySession", "Session", "load_sql", "open_session"]
