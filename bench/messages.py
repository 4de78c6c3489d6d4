"""Messages from file to canonical rows, against a bare split of the same file into fields. Counted on one core."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

from bench.measure import Line, Task, measure

MESSAGES, SMALL = 100_000, 10_000
ASKED_PER_SECOND = 10_000


def run(folder: Path, small: bool) -> Iterator[Line]:
    """The lines of this benchmark; the feed is made first, from the draws of the invented network."""
    yield from _hl7_lines(folder, SMALL if small else MESSAGES)


def _hl7_lines(folder: Path, wanted: int) -> Iterator[Line]:
    file = folder / f"feed-{wanted}.hl7"
    if not file.exists():
        write_feed(file, wanted)
    bare = measure("bench.messages:split_hl7", str(file), repeat=3)
    size = file.stat().st_size / 1e6
    yield Line(
        what=f"bare split of {wanted:,} HL7 v2 messages ({size:.0f} MB) into fields",
        seconds=bare.seconds,
        peak_mb=bare.peak_mb,
        busy_seconds=bare.busy_seconds,
        ratio=f"{wanted / bare.busy_seconds:,.0f} messages/s",
    )
    taken = measure("bench.messages:read", str(file), repeat=3)
    rate = wanted / taken.busy_seconds
    yield Line(
        what=f"{wanted:,} HL7 v2 messages into {taken.result['sets']:,} sets, every row accounted for, one core",
        seconds=taken.seconds,
        peak_mb=taken.peak_mb,
        busy_seconds=taken.busy_seconds,
        ratio=f"{rate:,.0f} messages/s, {taken.busy_seconds / bare.busy_seconds:.0f} × bare",
        target=f"at least {ASKED_PER_SECOND:,} messages/s per core",
        met=rate >= ASKED_PER_SECOND,
    )


def write_feed(file: Path, wanted: int) -> None:
    """The first hospital's messages over and over, with new accession numbers each time round."""
    from cubital.workspace.demo.draws import draw_world
    from cubital.workspace.demo.hl7_feed import FeedWriter, messages_of
    from cubital.workspace.demo.layouts import Report

    draws = next(iter(draw_world(7)))
    writer = FeedWriter(draws[0].hospital, offsets=True)
    written = 0
    with file.open("w", encoding="utf-8", newline="") as stream:
        while written < wanted:
            for draw in draws:
                status = draw.call_off.partition(" ")[0].lower() if draw.call_off else "final"
                report = Report(draw=draw, status=status, organisms=tuple(draw.organisms), with_stain=True)
                for message in messages_of(report, writer):
                    if written < wanted:
                        stream.write(message)
                        written += 1
                draw.accession += 1_000_000


def split_hl7(file: str) -> Task:
    """Messages into segments into fields and components, and nothing else."""

    def work() -> None:
        text = Path(file).read_text(encoding="utf-8")
        for message in text.split("MSH|")[1:]:
            for segment in message.split("\r"):
                for cell in segment.split("|"):
                    cell.split("^")

    return Task(work=work)


def read(file: str) -> Task:
    """The whole way from the file to the canonical tables and the account of every row, in one thread."""
    from cubital.domain.places import Facility, SourceMemory
    from cubital.engine import open_session
    from cubital.intake.reading import read_cultures

    held: dict[str, Any] = {}

    def work() -> None:
        with open_session(ordered=True, threads=1) as session:
            intake = read_cultures(
                session,
                Path(file),
                facility=Facility(name="Marrowby", timezone="America/Chicago"),
                secret=b"only for the benchmarks of this house",
                memory=SourceMemory(),
                accept=True,
                progress=lambda _sentence, _share: None,
            )
        held["sets"] = intake.reconciliation.sets

    return Task(work=work, report=lambda: held)
