"""The one door to the query engines. Only intake, store and judge come through it."""

from cubital.engine.choice import EMBEDDED, check_engine, open_engine
from cubital.engine.face import QuerySession
from cubital.engine.session import Session, load_sql, open_session

__all__ = ["EMBEDDED", "QuerySession", "Session", "check_engine", "load_sql", "open_engine", "open_session"]
