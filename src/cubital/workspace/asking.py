"""Every question whose answer rests on the workspace alone, by name: what a receipt asks again.

A new kind of answer that leaves gets a line in ``QUESTIONS``: its arguments are plain data (texts, numbers, lists),
and the same arguments asked of the same workspace, or of one pinned to an earlier day, give the same answer. Nothing
about a person is here: letters expire, and nothing that expires may be computed again.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from enum import StrEnum
from typing import Any

from cubital.domain.answer import Answer
from cubital.domain.errors import RequestProblem
from cubital.domain.words import _
from cubital.workspace.opening import Workspace

Asked = Mapping[str, Any]
Ask = Callable[[Workspace, Asked], Answer]
States = Callable[[Workspace, Asked], tuple[int, ...]]


class RestsOn(StrEnum):
    """Lists that an answer may rest on and that are not kept as they were."""

    PEOPLE = "people"
    LOTS = "lots"


def _last_state(workspace: Workspace, _asked: Asked) -> tuple[int, ...]:
    """Most answers read what the last batch left, and nothing before."""
    from cubital.workspace.pins import pin_now

    number = pin_now(workspace).batch
    return (number,) if number else ()


def _states_before(workspace: Workspace, asked: Asked) -> tuple[int, ...]:
    """Those of a month that was restated: the figures of before are recomputed from what the batches before left."""
    from itertools import pairwise

    from cubital.workspace.batches import list_batches
    from cubital.workspace.month_surroundings import MOST_RESTATEMENTS

    month = asked["month"]
    restated = [before for before, after in pairwise(list_batches(workspace)) if month in after.changed_months]
    kept = [one.number for one in restated[-MOST_RESTATEMENTS:] if one.released_at is None]
    return (*kept, *_last_state(workspace, asked))


def _every_state(workspace: Workspace, _asked: Asked) -> tuple[int, ...]:
    """Those of every file that is still kept: the question is what was known when."""
    from cubital.workspace.batches import list_batches

    return tuple(one.number for one in list_batches(workspace) if one.released_at is None)


def _no_state(_workspace: Workspace, _asked: Asked) -> tuple[int, ...]:
    """What was asked holds everything, such as months of counts."""
    return ()


@dataclass(frozen=True, kw_only=True)
class Askable:
    """One question: ``answer`` gives it, ``states`` names the batches whose state it reads, which a receipt keeps.

    ``rests_on`` names lists that can change under it; then a receipt can say why the answer is another one.
    """

    answer: Ask
    states: States = _last_state
    rests_on: tuple[RestsOn, ...] = ()


def ask_again(workspace: Workspace, *, question: str, asked: Asked) -> Answer:
    """The answer to a question by name; ``RequestProblem`` where this version does not know it."""
    return _known(question).answer(workspace, asked)


def states_of(workspace: Workspace, *, question: str, asked: Asked) -> tuple[int, ...]:
    """The batches whose state the answer reads."""
    return tuple(sorted(set(_known(question).states(workspace, asked))))


def rests_on(question: str) -> tuple[RestsOn, ...]:
    """The lists that the answer rests on and that are not kept as they were."""
    return _known(question).rests_on


def _known(question: str) -> Askable:
    found = QUESTIONS.get(question)
    if found is None:
        raise RequestProblem(
            _("this version of Cubital does not know the question '{name}' any more.").format(name=question),
            fix=_("Ask with the version that kept the receipt."),
        )
    return found


def _month(workspace: Workspace, asked: Asked) -> Answer:
    from cubital.workspace.months import month_answer

    return month_answer(workspace, month=asked["month"], facility=asked.get("facility"), unit=asked.get("unit"))


def _month_for_others(workspace: Workspace, asked: Asked) -> Answer:
    from cubital.workspace.guarded_months import month_for_others

    at = _with_left(workspace, asked)
    return month_for_others(at, month=asked["month"], facility=asked.get("facility"), unit=asked.get("unit")).answer


def _with_left(workspace: Workspace, asked: Asked) -> Workspace:
    """The workspace with the tables in mind that had left when it was asked first."""
    from cubital.workspace.pins import at_pin, pin_now

    if workspace.pinned is not None and workspace.pinned.left_before is not None:
        return workspace
    return at_pin(workspace, replace(pin_now(workspace), left_before=asked["left_before"]))


def _chart(asked: Asked) -> Any:
    from cubital.answers.charts.kinds import ChartKind

    return ChartKind(asked["chart"]) if asked.get("chart") else None


def _signal(workspace: Workspace, asked: Asked) -> Answer:
    from cubital.workspace.signals import Question, ask_place

    return ask_place(
        workspace, question=Question(asked["question"]), chart=_chart(asked), month=asked.get("month"),
        facility=asked.get("facility"), unit=asked.get("unit"), target=asked.get("target"),
    )  # fmt: skip


def _signal_states(workspace: Workspace, asked: Asked) -> tuple[int, ...]:
    if asked["question"] == "noticed":
        return _every_state(workspace, asked)
    if asked["question"] == "real":
        from cubital.workspace.signals import last_month

        month = asked.get("month") or last_month(workspace, facility=asked.get("facility"), unit=asked.get("unit"))
        return _states_before(workspace, {**asked, "month": month})
    return _last_state(workspace, asked)


def _counts_of_months(_workspace: Workspace, asked: Asked) -> Answer:
    from cubital.answers.counts import MonthCount
    from cubital.workspace.signals import Question, ask_counts

    counts = [MonthCount(month=month, sets=sets, contaminated=bad) for month, sets, bad in asked["months"]]
    return ask_counts(counts, question=Question(asked["question"]), chart=_chart(asked), target=asked.get("target"))


def _places_ask(asked: Asked) -> Any:
    from cubital.answers.place_words import By
    from cubital.workspace.places_gathering import PlacesAsk

    return PlacesAsk(
        by=By(asked.get("by") or By.UNIT), facility=asked.get("facility"), unit=asked.get("unit"),
        from_month=asked.get("from_month"), to_month=asked.get("to_month"),
        widening=asked.get("widening") or "additive",
    )  # fmt: skip


def _places(workspace: Workspace, asked: Asked) -> Answer:
    from cubital.workspace.places_answers import places_answer

    guarded, standard = asked.get("guarded", True), asked.get("standard", False)
    return places_answer(workspace, _places_ask(asked), guarded=guarded, standard=standard).answer


def _visit(workspace: Workspace, asked: Asked) -> Answer:
    from cubital.workspace.places_answers import visit_answer

    return visit_answer(
        workspace, unit=asked["visited"], facility=asked.get("facility"), on=asked["on"], ask=_places_ask(asked)
    )


def _merged(workspace: Workspace, asked: Asked) -> Answer:
    from cubital.workspace.places_answers import merged_answer

    return merged_answer(workspace, at=asked["at"], ask=_places_ask(asked))


def _fair_ask(asked: Asked) -> Any:
    from cubital.workspace.fair_gathering import FairAsk, FairBy

    return FairAsk(
        by=FairBy(asked.get("by") or FairBy.SHIFT), facility=asked.get("facility"), unit=asked.get("unit"),
        from_month=asked.get("from_month"), to_month=asked.get("to_month"),
    )  # fmt: skip


def _compare(workspace: Workspace, asked: Asked) -> Answer:
    from cubital.workspace.fair_answers import comparison_answer

    return comparison_answer(workspace, _fair_ask(asked))


def _hours(workspace: Workspace, asked: Asked) -> Answer:
    from cubital.answers.hours_reading import EVERY_DAY, HoursPolicy
    from cubital.workspace.fair_answers import hours_answer

    return hours_answer(
        workspace, _fair_ask(asked), length=asked.get("length", 12), days=tuple(asked.get("days") or EVERY_DAY),
        policy=HoursPolicy(minutes_per_set=asked["minutes"]) if asked.get("minutes") else None,
    )  # fmt: skip


def _pack(workspace: Workspace, asked: Asked) -> Answer:
    from cubital.workspace.pack_answers import pack_answers
    from cubital.workspace.pack_gathering import PackAsk
    from cubital.workspace.packs import part_of

    ask = PackAsk(from_month=asked["from_month"], to_month=asked["to_month"], facility=asked.get("facility"))
    return part_of(pack_answers(_with_left(workspace, asked), ask), asked["part"])


def _spike(workspace: Workspace, asked: Asked) -> Answer:
    from cubital.workspace.left_answers import spike_as_answer, workspace_receipt
    from cubital.workspace.spikes import spike_sheet

    place = {name: asked.get(name) for name in ("facility", "unit")}
    sheet = spike_sheet(workspace, month=asked["month"], **place)
    return spike_as_answer(sheet, receipt=workspace_receipt(workspace))


def _counts(workspace: Workspace, asked: Asked) -> Answer:
    from cubital.workspace.count_exports import counts_for_others
    from cubital.workspace.left_answers import counts_as_answer, workspace_receipt

    at = _with_left(workspace, asked)
    span = {name: asked.get(name) for name in ("from_month", "to_month", "facility")}
    return counts_as_answer(counts_for_others(at, **span).rows, receipt=workspace_receipt(workspace))


def _sets(workspace: Workspace, asked: Asked) -> Answer:
    from cubital.workspace.exports import list_sets
    from cubital.workspace.left_answers import sets_as_answer, workspace_receipt

    span = {name: asked.get(name) for name in ("from_month", "to_month", "facility", "unit")}
    return sets_as_answer(list_sets(workspace, **span), receipt=workspace_receipt(workspace))


def _charter_bench(workspace: Workspace, asked: Asked) -> Answer:
    from cubital.workspace.left_answers import charter_bench_as_answer, workspace_receipt
    from cubital.workspace.printing import charter_bench_lines

    at = _with_left(workspace, asked) if asked["for_others"] else workspace
    found = charter_bench_lines(at, version=asked["version"], for_others=asked["for_others"])
    return charter_bench_as_answer(found.lines, months=found.months, receipt=workspace_receipt(workspace))


def _definitions(workspace: Workspace, asked: Asked) -> Answer:
    from cubital.workspace.judging import run_bench
    from cubital.workspace.left_answers import definitions_as_answer, workspace_receipt

    span = {name: asked.get(name) for name in ("from_month", "to_month")}
    bench = run_bench(workspace, **span, adults=bool(asked.get("adults")))
    return definitions_as_answer(bench, receipt=workspace_receipt(workspace))


def _coverage(workspace: Workspace, asked: Asked) -> Answer:
    from cubital.workspace.supply import cover_asked

    return cover_asked(workspace, **asked)


def _worth(_workspace: Workspace, asked: Asked) -> Answer:
    from cubital.workspace.worth_answers import worth_again

    return worth_again(asked)


def _trial(workspace: Workspace, asked: Asked) -> Answer:
    from cubital.workspace.trial_looks import trial_result

    return trial_result(workspace, number=asked["trial"], look=asked["look"])


def _did(workspace: Workspace, asked: Asked) -> Answer:
    from datetime import date

    from cubital.workspace.did_answers import DidAsk, did_answer

    on = date.fromisoformat(asked["on"]) if asked.get("on") else None
    ask = DidAsk(
        number=asked.get("number"), on=on, facility=asked.get("facility"), unit=asked.get("unit"),
        words=asked.get("words") or "",
    )  # fmt: skip
    return did_answer(workspace, ask).answer


def _missed(workspace: Workspace, asked: Asked) -> Answer:
    from cubital.workspace.missed import answer_asked

    return answer_asked(asked, workspace=workspace)


def _missed_states(workspace: Workspace, asked: Asked) -> tuple[int, ...]:
    """Only what was not said is looked up in the cultures."""
    return _last_state(workspace, asked) if asked["place"] is not None else ()


def _drivers(workspace: Workspace, asked: Asked) -> Answer:
    from cubital.workspace.driver_gathering import driver_answer
    from cubital.workspace.missed_gathering import PlaceAsk

    return driver_answer(workspace, PlaceAsk(**asked))


QUESTIONS: dict[str, Askable] = {
    "month": Askable(answer=_month, states=_states_before),
    "month for others": Askable(answer=_month_for_others),
    "signal": Askable(answer=_signal, states=_signal_states),
    "counts of months": Askable(answer=_counts_of_months, states=_no_state),
    "places": Askable(answer=_places, rests_on=(RestsOn.PEOPLE,)),
    "visit": Askable(answer=_visit),
    "merged": Askable(answer=_merged),
    "did": Askable(answer=_did),
    "compare": Askable(answer=_compare, rests_on=(RestsOn.PEOPLE,)),
    "hours": Askable(answer=_hours),
    "coverage": Askable(answer=_coverage),
    "worth": Askable(answer=_worth, states=_no_state),
    "missed": Askable(answer=_missed, states=_missed_states),
    "drivers": Askable(answer=_drivers),
    "spike": Askable(answer=_spike, states=_states_before, rests_on=(RestsOn.LOTS,)),
    "counts": Askable(answer=_counts),
    "sets": Askable(answer=_sets),
    "charter bench": Askable(answer=_charter_bench),
    "definitions": Askable(answer=_definitions),
    "pack": Askable(answer=_pack),
    "trial": Askable(answer=_trial, states=_no_state),
}
