"""Every paragraph of the chapter on judging, on both judges; and the chapter leaves no choice of a charter out."""

from __future__ import annotations

from enum import StrEnum

import pytest
from paragraphs import CHAPTER, Paragraph

from cubital.domain.charter import Charter, Reason, SetClass, build_charter
from cubital.domain.cultures import Bottle, BottleKind
from cubital.engine import open_session
from cubital.judge.api import Scope, count_months
from cubital.judge.plain_counts import count_plainly
from judge_worlds import World, fill_session, read_world

PARAGRAPHS = [paragraph for section in CHAPTER.values() for paragraph in section]
USUAL = {"key": "usual", "name": "usual", "population": "everyone"}


def charter_of(paragraph: Paragraph) -> Charter:
    return build_charter(USUAL | dict(paragraph.charter))


@pytest.mark.parametrize("paragraph", PARAGRAPHS, ids=lambda paragraph: paragraph.says)
def test_every_set_counts_as_the_paragraph_says(judge, paragraph):
    world, expected = read_world(paragraph.sets)
    found = judge(world, charter_of(paragraph))
    assert found == {set_id: words for set_id, words in expected.items() if words != ("-", "-")}


def with_bottles(world: World) -> World:
    bottles = tuple(
        Bottle(set_id=one.set_id, bottle=number, kind=kind, grew=number == 1 and grew)
        for one in world.sets
        for grew in [any(isolate.set_id == one.set_id for isolate in world.isolates)]
        for number, kind in ((1, BottleKind.AEROBIC), (2, BottleKind.ANAEROBIC))
    )
    return World(world.sets, world.isolates, bottles)


@pytest.mark.parametrize("engine", ["plain", "engine"])
@pytest.mark.parametrize("paragraph", CHAPTER["rates"], ids=lambda paragraph: paragraph.says)
def test_the_rate_is_the_paragraphs(engine, paragraph):
    world, charter = with_bottles(read_world(paragraph.sets)[0]), charter_of(paragraph)
    if engine == "plain":
        months = count_plainly(world.sets, world.isolates, world.bottles, charter, scope=Scope())
    else:
        with open_session(threads=1) as session:
            fill_session(session, world)
            months = count_months(session, charter)
    assert (sum(m.numerator for m in months), sum(m.denominator for m in months)) == paragraph.rate


def test_the_chapter_reaches_every_choice_of_a_charter():
    charters = [charter_of(paragraph) for paragraph in PARAGRAPHS]
    choices = {
        (name, choice)
        for name in Charter.__dataclass_fields__
        if isinstance(kind := type(getattr(charters[0], name)), type) and issubclass(kind, StrEnum)
        for choice in kind
    }
    reached = {(name, getattr(charter, name)) for charter in charters for name, _choice in choices}
    assert choices - reached == set()
    assert len(choices) > 20


def test_the_chapter_reaches_every_class_and_every_reason():
    words = [words for paragraph in PARAGRAPHS for words in read_world(paragraph.sets)[1].values()]
    assert {name for name, _reason in words} - {"-"} == set(SetClass)
    assert {reason for _name, reason in words} - {"-"} == set(Reason)
