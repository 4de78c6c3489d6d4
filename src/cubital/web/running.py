"""Long work behind the pages: it goes on while the browser is closed, and a page can ask how far it is."""

from __future__ import annotations

import logging
import secrets
from collections.abc import Callable
from concurrent.futures import Future, ThreadPoolExecutor
from contextvars import copy_context
from typing import Any

from cubital.domain.errors import CubitalError
from cubital.domain.words import _

Progress = Callable[[str, float], None]
Work = Callable[[Progress], Any]

WORKERS = 2
KEPT_JOBS = 50

_log = logging.getLogger("cubital.web")


class Job:
    """One piece of long work. ``step`` and ``share`` (0 to 1) say how far it is; both are written by its own thread."""

    def __init__(self, title: str) -> None:
        self.key = secrets.token_urlsafe(8)
        self.title = title
        self.step = _("waiting for its turn")
        self.share = 0.0
        self._future: Future[Any] | None = None

    def report(self, step: str, share: float) -> None:
        """Called by the work as it goes."""
        self.step, self.share = step, min(max(share, 0.0), 1.0)

    def start(self, pool: ThreadPoolExecutor, work: Work) -> None:
        """Hands the work to the pool, in the language of whoever asked for it."""
        self._future = pool.submit(copy_context().run, work, self.report)
        self._future.add_done_callback(self._note_fault)

    @property
    def running(self) -> bool:
        """Whether there is still something to wait for."""
        return self._future is not None and not self._future.done()

    def outcome(self) -> Any:
        """What the work gave back; what it raised is raised here, so ask only when it has ended."""
        if self._future is None:
            raise RuntimeError("this job was never started")
        return self._future.result(timeout=0)

    def wait(self, seconds: float) -> None:
        """Gives quick work a moment, so that its page comes at once."""
        if self._future is not None:
            from concurrent.futures import wait

            wait([self._future], timeout=seconds)

    def _note_fault(self, future: Future[Any]) -> None:
        if future.cancelled():
            return
        fault = future.exception()
        if fault is not None and not isinstance(fault, CubitalError):
            _log.error("A job broke: %s", self.title, exc_info=fault)


class JobList:
    """The jobs of this process, newest kept."""

    def __init__(self) -> None:
        self._pool = ThreadPoolExecutor(WORKERS, thread_name_prefix="cubital-job")
        self._jobs: dict[str, Job] = {}

    def start(self, title: str, work: Work) -> Job:
        """Begins ``work`` in the background."""
        job = Job(title)
        job.start(self._pool, work)
        self._jobs[job.key] = job
        while len(self._jobs) > KEPT_JOBS:
            self._jobs.pop(next(iter(self._jobs)))
        return job

    def find(self, key: str) -> Job | None:
        """The job of that key, if it is still known."""
        return self._jobs.get(key)

    def any_running(self) -> bool:
        """Whether something is at work now."""
        return any(job.running for job in self._jobs.values())

    def stop(self) -> None:
        """Takes back what has not begun; what has begun ends by itself."""
        self._pool.shutdown(wait=False, cancel_futures=True)
        self._pool = ThreadPoolExecutor(WORKERS, thread_name_prefix="cubital-job")


jobs = JobList()
