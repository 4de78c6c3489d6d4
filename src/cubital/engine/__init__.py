"""The one door to the embedded query engine. Only intake, store and judge come through it."""

from cubital.engine.session import Session, load_sql, open_session

__all__ = ["Session", "load_sql", "open_session"]
