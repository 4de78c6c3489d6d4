"""The bench behind the page: every definition over the same months, remembered until another file is taken in."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from threading import Lock

from cubital.answers.bench import Bench, BenchLine, Move
from cubital.answers.class_words import class_words
from cubital.domain.words import _, current_language, share_words
from cubital.web.desk import the_workspace
from cubital.web.running import Job, jobs
from cubital.workspace.decided import decision_state
from cubital.workspace.judging import run_bench
from cubital.workspace.opening import Workspace
from cubital.workspace.snapshots import last_batch_number

MOVES_ON_A_PAGE = 50
PATIENCE_SECONDS = 1.5  # a month is counted in less; two years of three hospitals are not
KEPT = 8


@dataclass(frozen=True, kw_only=True)
class Span:
    """Which sets the bench counts: months from and to (none means all), adults only or as published."""

    from_month: str | None = None
    to_month: str | None = None
    adults: bool = True


_lock = Lock()
_counting: dict[tuple[str, tuple[int, ...], str, Span], Job] = {}


@dataclass(frozen=True, kw_only=True)
class LineWords:
    """One definition as a row of the bench."""

    line: BenchLine
    rate: str
    spread: str
    in_force: bool


@dataclass(frozen=True, kw_only=True)
class MoveWords:
    """One set that changes its class between two definitions."""

    accession: str
    facility: str
    before: str
    after: str
    why: str


def bench_over(span: Span) -> Bench:
    """The bench over ``span``, however long it takes; computed once for the data there are."""
    workspace = the_workspace()
    return _bench(workspace.folder.as_posix(), _state(workspace), current_language(), span)


def bench_soon(span: Span) -> Bench | None:
    """The bench over ``span`` if it is there within a moment; none while it is still being counted."""
    workspace = the_workspace()
    key = (workspace.folder.as_posix(), _state(workspace), current_language(), span)
    with _lock:
        job = _counting.get(key)
        if job is None:
            job = _counting[key] = jobs.start(_("Counting every definition"), lambda _report: _bench(*key))
            while len(_counting) > KEPT:
                del _counting[next(iter(_counting))]
    job.wait(PATIENCE_SECONDS)
    if job.running:
        return None
    with _lock:
        _counting.pop(key, None)  # what came of it is remembered below; what failed is tried anew next time
    bench: Bench = job.outcome()
    return bench


def _state(workspace: Workspace) -> tuple[int, ...]:
    """Another one means that the bench has to be counted anew."""
    return (last_batch_number(workspace), *decision_state(workspace))


@lru_cache(maxsize=KEPT)
def _bench(_folder: str, _known: tuple[int, ...], _language: str, span: Span) -> Bench:
    with the_workspace() as workspace:
        return run_bench(workspace, from_month=span.from_month, to_month=span.to_month, adults=span.adults)


def bench_rows(bench: Bench, *, in_force: str) -> list[LineWords]:
    """Every definition with its rate in words; ``in_force`` is the key of the charter in use."""
    return [
        LineWords(
            line=line,
            rate=share_words(line.rate) if line.rate is not None else "–",
            spread=_spread(line),
            in_force=line.key == in_force,
        )
        for line in bench.definitions
    ]


def moves_between(bench: Bench, first: str, second: str) -> list[Move]:
    """The sets that move from the definition ``first`` to ``second``, or the other way round."""
    return [move for move in bench.moves if {move.from_key, move.to_key} == {first, second}]


def move_words(moves: Sequence[Move], *, first: str) -> list[MoveWords]:
    """Moves as rows, seen from the definition ``first``."""
    rows = []
    for move in moves:
        classes = (move.from_class, move.to_class) if move.from_key == first else (move.to_class, move.from_class)
        before, after = (class_words(one) for one in classes)
        rows.append(
            MoveWords(accession=move.accession, facility=move.facility, before=before, after=after, why=move.why)
        )
    return rows


def _spread(line: BenchLine) -> str:
    if line.low is None or line.high is None:
        return ""
    return f"{share_words(line.low).removesuffix(' %')} – {share_words(line.high)}"
