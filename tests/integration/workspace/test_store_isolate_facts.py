"""Stored isolates repeat what the judge asks of their set: always as the set has it, also read from older files."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path
from unittest.mock import patch

import duckdb
import pytest
from culture_rows import a_set, add_new_movements
from test_store_merging import Shelf

from cubital.domain.tables import ISOLATES, SET_FACTS, SET_ISOLATES
from cubital.engine import load_sql
from cubital.engine.session import quote_name
from cubital.store import delta
from cubital.store.shapes import MONTH, PLACED, STORED

COAG, COLI = "staphylococcus-coagulase-negative", "escherichia-coli"


@pytest.fixture
def shelf(tmp_path: Path) -> Shelf:
    return Shelf(tmp_path)


def stored_and_joined(shelf: Shelf, versions=None) -> tuple[list, list]:
    """The facts as stored, and as the judge joins them where nothing is stored."""
    columns = ", ".join(quote_name(name) for name in SET_ISOLATES)
    facts = ", ".join(f"s.{name}" for name in SET_FACTS)
    with shelf.store.open_snapshot(versions or shelf.versions) as session:
        session.do(load_sql("cubital.judge", "isolate_facts").format(facts=facts, isolates="isolates"))
        return tuple(
            session.rows(f"select {columns} from {name} order by all") for name in ("set_isolates", "isolate_facts")
        )


def make_old(files: Iterable[Path]) -> None:
    """Takes the repeated facts out of the files, as earlier versions wrote them."""
    kept = ", ".join(quote_name(name) for name in (*ISOLATES, MONTH))
    for file in files:
        with duckdb.connect() as raw:
            raw.execute(f"copy (select {kept} from '{file}') to '{file}.old' (format parquet)")
        Path(f"{file}.old").replace(file)


def old_files(shelf: Shelf) -> list[Path]:
    return shelf.store.table("isolates").paths(shelf.versions.isolates)


def take_two_months(shelf: Shelf) -> None:
    shelf.take(
        a_set("1", organisms=(COAG,)),
        a_set("2", organisms=(COAG, COLI), patient_key=None, age_group="1_to_17", method="central_line"),
        a_set("3", days=40, organisms=(COLI, COLI), status="preliminary"),
        a_set("4", days=40),
    )


def test_every_isolate_repeats_its_set(shelf: Shelf) -> None:
    take_two_months(shelf)
    stored, joined = stored_and_joined(shelf)
    assert stored == joined
    assert len(stored) == 5


def test_one_isolate_leads_each_set_and_two_organisms_make_it_mixed(shelf: Shelf) -> None:
    take_two_months(shelf)
    found = shelf.rows(
        "select accession, count(*) filter (leads), bool_or(mixed) from set_isolates join sets using (set_id) "
        "group by 1 order by 1"
    )
    assert found == [("1", 1, False), ("2", 1, True), ("3", 1, False)]


def test_a_corrected_set_is_repeated_as_corrected(shelf: Shelf) -> None:
    take_two_months(shelf)
    shelf.take(a_set("3", days=2, organisms=(COAG,), unit_key="icu"), a_set("5", days=41, organisms=(COLI,)))
    stored, joined = stored_and_joined(shelf)
    assert stored == joined
    assert len(stored) == 5


def test_a_ward_movement_moves_the_isolates_too(shelf: Shelf) -> None:
    take_two_months(shelf)
    with shelf.store.open_snapshot(shelf.versions) as session:
        add_new_movements(session, [(7, "icu", -1, 1)])
        shelf.versions = shelf.store.merge_movements(session, versions=shelf.versions, batch=2).versions
    stored, joined = stored_and_joined(shelf)
    assert stored == joined
    assert shelf.rows("select distinct unit_key from set_isolates order by 1") == [("ed",), ("icu",)]


def test_files_of_earlier_versions_give_the_same(shelf: Shelf) -> None:
    take_two_months(shelf)
    before, _joined = stored_and_joined(shelf)
    make_old(old_files(shelf))
    assert stored_and_joined(shelf) == (before, before)
    assert len(shelf.rows("select * from isolates")) == 5


def test_old_and_new_files_are_read_together(shelf: Shelf) -> None:
    take_two_months(shelf)
    make_old(old_files(shelf))
    frozen = shelf.versions
    before, _joined = stored_and_joined(shelf)
    shelf.take(a_set("1", organisms=(COLI,)), a_set("6", days=80, organisms=(COAG,)))
    stored, joined = stored_and_joined(shelf)
    assert stored == joined
    assert len(stored) == 6
    assert stored_and_joined(shelf, frozen) == (before, before)


def test_compaction_gives_old_isolates_their_facts(shelf: Shelf) -> None:
    take_two_months(shelf)
    make_old(old_files(shelf))
    shelf.take(a_set("7", organisms=(COAG,)))
    before, _joined = stored_and_joined(shelf)
    crowded = shelf.store.crowded_months(shelf.versions, at_least=2)
    shelf.versions = shelf.store.compact(crowded, versions=shelf.versions, number=1).versions
    assert stored_and_joined(shelf) == (before, before)
    (joined_file,) = [path for path in old_files(shelf) if path.name.startswith("c")]
    with duckdb.connect() as raw:
        assert raw.execute(f"select count(leads) from '{joined_file}'").fetchall() == [(4,)]


def test_a_table_made_without_the_facts_gets_their_columns(shelf: Shelf) -> None:
    older = {**STORED, "isolates": {name: kind for name, kind in STORED["isolates"].items() if name not in PLACED}}
    with patch("cubital.store.shapes.STORED", older | {"isolates": {**ISOLATES, MONTH: "VARCHAR"}}):
        delta.DeltaFolder(shelf.store.folder / "isolates", "isolates")._create()
    shelf.versions = shelf.versions.__class__(**vars(shelf.versions) | {"isolates": 0})
    take_two_months(shelf)
    table = delta.DeltaTable((shelf.store.folder / "isolates").as_uri())
    assert {field.name for field in table.schema().fields} == set(STORED["isolates"])
    assert len(shelf.rows("select * from set_isolates")) == 5
