"""Files that are here but not taken in yet: kept while the person looks at them, even if the browser is closed."""

from __future__ import annotations

import secrets
from dataclasses import dataclass, field
from pathlib import Path

from cubital.web.running import Job
from cubital.web.uploading import discard_upload

CULTURES, MOVEMENTS = "cultures", "movements"


@dataclass
class Arrival:
    """One file on its way in. ``job`` is the work on it: first the look, then the taking."""

    path: Path
    kind: str
    facility: str
    timezone: str | None
    source: str | None
    answers: dict[str, str] = field(default_factory=dict)
    looking: Job | None = None
    taking: Job | None = None
    key: str = field(default_factory=lambda: secrets.token_urlsafe(8))

    @property
    def name(self) -> str:
        """The file's own name."""
        return self.path.name

    @property
    def job(self) -> Job | None:
        """The work that matters now."""
        return self.taking or self.looking


class Arrivals:
    """What is waiting, in the order in which it came."""

    def __init__(self) -> None:
        self._waiting: dict[str, Arrival] = {}

    def add(self, arrival: Arrival) -> None:
        """Keeps one."""
        self._waiting[arrival.key] = arrival

    def find(self, key: str) -> Arrival | None:
        """The one of that key, if it still waits."""
        return self._waiting.get(key)

    def waiting(self) -> tuple[Arrival, ...]:
        """All of them."""
        return tuple(self._waiting.values())

    def discard(self, arrival: Arrival) -> None:
        """Forgets one and removes its file."""
        self._waiting.pop(arrival.key, None)
        discard_upload(arrival.path)


arrivals = Arrivals()
