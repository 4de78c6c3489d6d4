"""Whatever files come in whatever order, the store holds what a plain dictionary would hold."""

from __future__ import annotations

import tempfile
from pathlib import Path
from typing import Any

from culture_rows import a_set, add_new_sets
from hypothesis import given, settings
from hypothesis import strategies as st

from cubital.domain.snapshots import TableVersions
from cubital.engine import Session, open_session
from cubital.store.cultures import CultureStore

EXAMPLES = max(25, settings().max_examples // 40)  # each one writes a dozen tables

Content = tuple[float, str, str, tuple[str, ...], int]

contents = st.tuples(
    st.sampled_from([0.0, 10.0, 40.0, 45.0, 75.0]),  # days after the start: three months
    st.sampled_from(["final", "preliminary", "cancelled"]),
    st.sampled_from(["ed", "icu"]),
    st.sampled_from([(), ("bacillus",), ("bacillus", "escherichia-coli")]),
    st.integers(0, 2),  # bottles
)
files = st.dictionaries(st.sampled_from([str(n) for n in range(8)]), contents, max_size=6)


def rows_of(file: dict[str, Content]) -> list[dict[str, Any]]:
    return [
        a_set(key, days=days, status=status, unit_key=unit, organisms=organisms, bottles=("aerobic",) * bottles)
        for key, (days, status, unit, organisms, bottles) in file.items()
    ]


def take_into(shelf: dict[str, Content], file: dict[str, Content]) -> tuple[int, int, int, int]:
    """The same in plain Python: added, changed, unchanged, outdated. Bottles that a file does not name stay."""
    counts = [0, 0, 0, 0]
    for key, new in file.items():
        old = shelf.get(key)
        if old is None:
            shelf[key], step = new, 0
        elif new[1] == "preliminary" and old[1] != "preliminary":
            step = 3
        else:
            merged = (*new[:4], new[4] or old[4])
            shelf[key], step = merged, 2 if merged == old else 1
        counts[step] += 1
    return (counts[0], counts[1], counts[2], counts[3])


def stored(session: Session) -> dict[str, Content]:
    rows = session.rows("""
        select accession, epoch(collected_at - timestamp '2025-10-01 08:00') / 86400, status, unit_key,
          (select list(organism_key order by organism_key) from isolates i where i.set_id = s.set_id),
          (select count(*) from bottles b where b.set_id = s.set_id)
        from sets s
    """)
    return {key: (days, status, unit, tuple(names or ()), bottles) for key, days, status, unit, names, bottles in rows}


@settings(max_examples=EXAMPLES)
@given(st.lists(files, min_size=1, max_size=4))
def test_the_store_holds_what_a_dictionary_would_hold(sequence: list[dict[str, Content]]) -> None:
    with tempfile.TemporaryDirectory() as folder:
        store, versions, shelf = CultureStore(Path(folder)), TableVersions(), {}
        history: list[tuple[TableVersions, dict[str, Content]]] = []
        for number, file in enumerate(sequence, start=1):
            with open_session(folders=[store.folder]) as session:
                add_new_sets(session, rows_of(file))
                outcome = store.merge(session, versions=versions, batch=number)
            versions = outcome.versions
            assert (outcome.added, outcome.changed, outcome.unchanged, outcome.outdated) == take_into(shelf, file)
            history.append((versions, dict(shelf)))
        for past, expected in history:
            with store.open_snapshot(past) as session:
                assert stored(session) == expected
                assert session.one("select count(distinct set_id) from sets") == (len(expected),)
