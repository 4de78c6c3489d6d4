"""Spark gives what the embedded engine and the judge in plain Python give: every paragraph, and five hundred worlds.

A statement costs Spark a fraction of a second however small it is, so that worlds are judged side by side, each at
hospitals of its own. One real local Spark serves the whole file.
"""

from __future__ import annotations

from datetime import date, datetime
from itertools import groupby
from unittest.mock import patch

import pytest
from hypothesis import given, settings
from paragraphs import CHAPTER
from test_judging import charter_of, with_bottles

from cubital.domain.charter import (
    Charter,
    Denominator,
    DifferentCommensals,
    FollowUp,
    LineSets,
    MixedGrowth,
    Population,
    SameCommensal,
    SolitaryCommensal,
    UnitOfCount,
    Window,
)
from cubital.domain.errors import MachineProblem
from cubital.domain.tables import BOTTLES, ISOLATES, SETS
from cubital.engine import open_engine, open_session, spark
from cubital.engine.spark_running import check_spark, stop_spark
from cubital.judge.api import Scope, count_months, count_process, count_rates, judged_sets
from cubital.judge.cells import Dimension, count_cells
from cubital.judge.judging import judge_sets
from cubital.judge.plain import judge_plainly
from cubital.judge.plain_counts import count_plainly
from cubital.judge.preparing import DECISIONS, UNIT_NAMES
from cubital.judge.swift import is_swift
from judge_strategies import worlds
from judge_worlds import World, fill_session, read_world, side_by_side

WORLDS = 500
# Small worlds gain nothing from compiled code and from plans that are changed on the way; the last tests do without.
SMALL = {
    "spark.sql.codegen.wholeStage": "false",
    "spark.sql.codegen.factoryMode": "NO_CODEGEN",
    "spark.sql.adaptive.enabled": "false",
    "spark.sql.shuffle.partitions": "1",
}
QUICK_JAVA = (
    "-XX:TieredStopAtLevel=1 -XX:+UseSerialGC"  # these runs end before better compiled code has paid for itself
)
CHARTERS = (
    Charter(key="rates", name="rates"),
    Charter(
        key="series", name="series", unit_of_count=UnitOfCount.SERIES, window=Window.SAME_OR_NEXT_DAY,
        follow_up=FollowUp.EXCLUDE, population=Population.ADULTS, same_commensal=SameCommensal.ADJUDICATE,
        denominator=Denominator.ELIGIBLE_SETS,
    ),
    Charter(
        key="patient", name="patient", unit_of_count=UnitOfCount.PATIENT, window_hours=18,
        line_sets=LineSets.EXCLUDE, mixed_growth=MixedGrowth.BY_COMMENSAL, excluded_units=("5w",),
        solitary_commensal=SolitaryCommensal.EXCLUDE, different_commensals=DifferentCommensals.PATHOGEN,
    ),
    Charter(
        key="bottle", name="bottle", unit_of_count=UnitOfCount.BOTTLE, window=Window.SAME_DAY,
        solitary_commensal=SolitaryCommensal.COUNT, population=Population.CHILDREN,
    ),
)  # fmt: skip
JUDGED = "select set_id, set_class, reason, series_id, series_size, counted from judged_sets where inside"


@pytest.fixture(scope="module")
def started():
    try:
        check_spark()
    except MachineProblem as problem:
        pytest.skip(problem.sentence())
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("JAVA_TOOL_OPTIONS", QUICK_JAVA)
        yield
        stop_spark()


@pytest.fixture
def usual_spark(started):
    with open_engine("spark:local[2]") as session:
        yield session


@pytest.fixture
def quick_spark(usual_spark):
    for name, value in SMALL.items():
        usual_spark.raw.conf.set(name, value)
    return usual_spark


@pytest.fixture
def embedded():
    with open_session(threads=1) as session:
        yield session


@pytest.fixture(scope="module")
def random_worlds():
    drawn = []

    @settings(max_examples=WORLDS, derandomize=True, database=None)
    @given(worlds())
    def draw(world):
        drawn.append(world)

    draw()
    assert len(drawn) >= WORLDS
    return side_by_side(drawn[:WORLDS])


def fill(session, world):
    for name, columns in (("sets", SETS), ("isolates", ISOLATES), ("bottles", BOTTLES)):
        things = getattr(world, name)
        session.add_rows(name, columns, [tuple(getattr(one, column) for column in columns) for one in things])
    units = [(facility, key, current, name) for (facility, key), (current, name) in (world.units or {}).items()]
    session.add_rows("unit_names", UNIT_NAMES, units)


def plain_verdicts(world, charter):
    found = judge_plainly(world.sets, world.isolates, charter, current_units=world.current_units())
    return sorted(
        (set_id, one.set_class, one.reason, one.series_id, one.series_size, one.counted)
        for set_id, one in found.items()
    )


def plain_counts(world, charter, scope):
    current = world.current_units()
    return count_plainly(world.sets, world.isolates, world.bottles, charter, scope=scope, current_units=current)


def test_decisions_about_sets_are_followed_on_both_ways(quick_spark, embedded, random_worlds):
    """Every third set was decided in sixty of the worlds; both ways, against the embedded engine."""
    some = {one.set_id for one in random_worlds.sets if one.set_id < 60_000}
    world = World(
        sets=tuple(one for one in random_worlds.sets if one.set_id in some),
        isolates=tuple(one for one in random_worlds.isolates if one.set_id in some),
        units=random_worlds.units,
    )
    said = [
        (one.facility, one.accession, ("significant", "contaminant")[one.set_id % 2])
        for one in world.sets
        if one.set_id % 3 == 0
    ]
    charter = CHARTERS[0]
    found = []
    for session in (quick_spark, embedded):
        fill(session, world)
        session.add_rows("decisions", DECISIONS, said)
        count_months(session, charter)
        rows = sorted(map(tuple, session.rows(JUDGED)))
        found.append((rows, count_rates(session, charter, by="unit")))
    assert found[0] == found[1]
    assert any(reason == "judged_contaminant" for _id, _class, reason, *_more in found[0][0])


def test_every_paragraph_of_the_chapter_is_judged_as_it_says(quick_spark):
    paragraphs = sorted((one for section in CHAPTER.values() for one in section), key=lambda one: str(one.charter))
    judged = 0
    for _charter, group in groupby(paragraphs, key=lambda one: str(one.charter)):
        several = list(group)
        told = [read_world(one.sets) for one in several]
        charter = charter_of(several[0])
        fill(quick_spark, with_bottles(side_by_side([world for world, _expected in told])))
        if any(one.rate for one in several):
            assert rates_told(several) == rates_found(quick_spark, charter, several)
        else:
            judge_sets(quick_spark, charter)
        found = {set_id: (set_class, reason) for set_id, set_class, reason, *_ in quick_spark.rows(JUDGED)}
        assert found == {
            set_id + 1000 * place: words
            for place, (_world, sets) in enumerate(told)
            for set_id, words in sets.items()
            if words[0] != "-"
        }
        judged += len(several)
    assert judged == len(paragraphs) >= 45


def rates_told(several):
    return {place: one.rate for place, one in enumerate(several) if one.rate}


def rates_found(session, charter, several):
    """Numerator and denominator of every paragraph that tells them; its place is the last word of its hospitals."""
    sums = {place: (0, 0) for place in rates_told(several)}
    for one in count_months(session, charter, by="facility"):
        place = int(one.facility.split()[-1])
        if place in sums:
            sums[place] = (sums[place][0] + one.numerator, sums[place][1] + one.denominator)
    return sums


@pytest.mark.parametrize("charter", CHARTERS, ids=lambda charter: charter.key)
def test_five_hundred_worlds_have_the_same_classes_reasons_and_counts(quick_spark, embedded, random_worlds, charter):
    fill(quick_spark, random_worlds)
    fill_session(embedded, random_worlds)
    counts = [count_months(one, charter, by="unit") for one in (quick_spark, embedded)]
    assert counts[0] == counts[1] == plain_counts(random_worlds, charter, Scope())
    verdicts = [sorted(one.rows(JUDGED)) for one in (quick_spark, embedded)]
    assert verdicts[0] == verdicts[1] == plain_verdicts(random_worlds, charter)


def test_the_rates_of_many_years_are_the_same_in_five_hundred_worlds(quick_spark, embedded, random_worlds):
    charter = CHARTERS[0]
    assert is_swift(charter)
    scope = Scope(from_month="2026-03")
    fill(quick_spark, random_worlds)
    fill_session(embedded, random_worlds)
    rates = [count_rates(one, charter, scope=scope, by="unit") for one in (quick_spark, embedded)]
    assert rates[0] == rates[1]
    assert len(rates[0]) > WORLDS / 2


DAY_AND_NIGHT = {Dimension.HOUR: {hour: 7 if 7 <= hour < 19 else 19 for hour in range(24)}}


@pytest.mark.parametrize("held", [0, spark.HELD_WHOLE], ids=["kept by the workers", "sent whole"])
def test_process_sets_and_cells_are_the_same_as_spark_usually_runs(usual_spark, embedded, random_worlds, held):
    world = some_of(random_worlds, 100)
    fill(usual_spark, world)
    fill_session(embedded, world)
    asked = {}
    with patch.object(spark, "HELD_WHOLE", held):
        for name, session in (("spark", usual_spark), ("embedded", embedded)):
            asked[name] = [
                judged_sets(session, CHARTERS[0]),
                count_process(session, CHARTERS[0], by="unit", judge=False),
                grown(count_cells(session, CHARTERS[0], by=[Dimension.WEEKDAY, Dimension.HOUR], judge=False)),
                grown(count_cells(session, CHARTERS[0], by=[Dimension.HOUR], judge=False, together=DAY_AND_NIGHT)),
            ]
    assert asked["spark"] == asked["embedded"]
    assert len(asked["spark"][0]) > 50


def some_of(world: World, sets: int) -> World:
    kept = world.sets[:sets]
    numbers = {one.set_id for one in kept}
    isolates, bottles = (
        tuple(one for one in things if one.set_id in numbers) for things in (world.isolates, world.bottles)
    )
    return World(kept, isolates, bottles, world.units)


def grown(cells):
    return dict(cells.keys), cells.numerator.tolist(), cells.denominator.tolist(), cells.positives.tolist()


WORDS = {
    "isodow(begun)": 7,  # the first of March 2026 is a Sunday
    "epoch_us(begun)": 1772360430900000,
    "date_diff('second', begun, later)": 1,  # the clock's second changed once in 0.2 seconds
    "date_diff('day', date '1970-01-01', day)": 20513,
    "7 / 2.0": 3.5,
    "list_last(list_reduce([[1], [5], [9]], lambda a, b: case when list_first(b) > list_last(a) + 4 "
    "then list_concat(a, b) else a end))": 9,
}


@pytest.mark.parametrize("word", WORDS)
def test_a_word_that_is_translated_has_the_same_value(quick_spark, embedded, word):
    for session in (quick_spark, embedded):
        session.add_rows(
            "moments",
            {"begun": "TIMESTAMP", "later": "TIMESTAMP", "day": "DATE"},
            [(datetime(2026, 3, 1, 10, 20, 30, 900000), datetime(2026, 3, 1, 10, 20, 31, 100000), date(2026, 3, 1))],  # noqa: DTZ001
        )
        assert session.one(f"select {word} from moments") == (WORDS[word],)


def test_bound_words_stay_words(quick_spark, embedded):
    odd = "O'Brien\\'; drop view sets -- \u202e \0 ${x}"
    for session in (quick_spark, embedded):
        session.add_rows("odd", {"word": "VARCHAR"}, [(odd,), (None,)])
        assert session.rows("select word from odd where word = $word", {"word": odd}) == [(odd,)]


def test_files_in_a_folder_with_an_odd_name_are_read_where_they_lie(quick_spark, embedded, tmp_path):
    folder = tmp_path / "ward [5] {a,b} ?*%20é" / "month=2026-04"
    folder.mkdir(parents=True)
    with open_session(folders=[tmp_path]) as writer:
        writer.do(f"copy (select 7 as set_id, '2026-03' as month) to '{folder}/b.parquet'")
    quick_spark.add_parquet_view("found", [folder / "b.parquet"])
    assert quick_spark.named_rows("select set_id, month from found") == [{"set_id": 7, "month": "2026-03"}]
    quick_spark.add_parquet_view("found", [], {"set_id": "BIGINT"})
    assert quick_spark.rows("select set_id from found") == []


def test_a_closed_session_leaves_nothing_to_the_next(started):
    with open_engine("spark:local[2]") as first:
        first.add_rows("left_over", {"a": "BIGINT"}, [(1,)])
    with open_engine("spark:local[2]") as second:
        assert not second.has_table("left_over")


def test_spark_listens_on_this_computer_only(usual_spark):
    conf = usual_spark.raw.sparkContext.getConf()
    assert conf.get("spark.driver.bindAddress") == "127.0.0.1"
    assert conf.get("spark.ui.enabled") == "false"
    assert usual_spark.raw.sparkContext.uiWebUrl is None
