"""Did it work? Seconds and memory from the stored tables to the answer, over 36 months, 300,000 sets and 60 units.

Each is measured in a process of its own: judging, counting by unit and day, the checks of the design, the model.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from pathlib import Path

from bench.fair import ASKED, CHARTER, SETS, SMALL, _places_session
from bench.make_sets import make_sets
from bench.measure import Line, Task, measure
from cubital.answers.did_answer import build_change_answer
from cubital.answers.did_material import DidMaterial
from cubital.answers.did_reading import read_change
from cubital.answers.places_reading import PlacesPolicy
from cubital.domain.diary import ChangeKind, DiaryEntry
from cubital.judge.cells import Dimension, count_cells
from cubital.workspace.did_gathering import unit_days

STARTS = (date(2024, 3, 1), date(2024, 5, 1), date(2024, 7, 15), date(2024, 10, 1))


def run(folder: Path, small: bool) -> Iterator[Line]:
    """One line per design."""
    rows = SMALL if small else SETS
    place = folder / f"sets-{rows}"
    make_sets(place, rows)
    for name, words in (
        ("compared", "a change in one unit against all others"), ("series", "a change in one hospital of one's own"),
        ("stepped", "the same change in four units, one after another"),
    ):  # fmt: skip
        done = measure(f"bench.did:{name}", str(place))
        yield Line(
            what=f"{words}, {done.result:,} sets", seconds=done.seconds, busy_seconds=done.busy_seconds,
            peak_mb=done.peak_mb, ratio="", target="under 3 s at 300,000 sets", met=done.seconds < 3,
        )  # fmt: skip


def compared(folder: str) -> Task:
    """One unit of sixty."""
    return _asked(folder, units=1)


def series(folder: str) -> Task:
    """Everywhere at once: no unit without it."""
    return _asked(folder, units=0)


def stepped(folder: str) -> Task:
    """A roll-out over four units."""
    return _asked(folder, units=4)


def _asked(folder: str, *, units: int) -> Task:
    session = _places_session(folder)
    said: list[int] = []

    def work() -> None:
        by = (Dimension.FACILITY, Dimension.UNIT, Dimension.DAY)
        cells = count_cells(session, CHARTER, by=by, scope=ASKED)
        counted = unit_days(cells, {})
        entries = [
            DiaryEntry(kind=ChangeKind.KIT, on=on, words="kit", facility=unit.facility, unit=unit.unit, number=at + 1)
            for at, (unit, on) in enumerate(zip(counted, STARTS, strict=False))
            if at < units
        ] or [DiaryEntry(kind=ChangeKind.KIT, on=STARTS[0], words="kit", number=1)]
        here = [one for one in counted if entries[0].covers(facility=one.facility, unit=one.unit)]
        material = DidMaterial(
            change=entries[0], name="Unit", units=counted, here=frozenset(one.key for one in here),
            entries=tuple(entries), first=date.fromordinal(int(min(one.days[0] for one in here))),
            last=date.fromordinal(int(max(one.days[-1] for one in here))), policy=PlacesPolicy(),
        )  # fmt: skip
        build_change_answer(read_change(material))
        said.append(int(cells.denominator.sum()))

    return Task(work=work, report=lambda: said[-1])
