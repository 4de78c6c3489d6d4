"""Is it worth it, and what does one contaminated set cost? From a table of inputs; draws from the cultures if asked."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import cubital
from cubital.answers.contamination_cost import (
    build_contamination_cost_answer,
    contamination_cost_question,
    read_contamination_cost,
)
from cubital.answers.worth import build_worth_answer, worth_question
from cubital.answers.worth_reading import DRAWS, SEED, WorthReading, read_worth
from cubital.answers.worth_refusal import refuse_worth
from cubital.answers.worth_table import cost_rows, parse_costs
from cubital.domain.answer import Answer, Receipt
from cubital.domain.costs import CostTable
from cubital.domain.words import _

if TYPE_CHECKING:
    from cubital.workspace.opening import Workspace
    from cubital.workspace.worth_counts import CountedDraws, CountsAsk


@dataclass(frozen=True, kw_only=True)
class Worth:
    """The answer with what it was computed from; ``reading`` is none where the answer is a refusal.

    ``counted`` are the stored cultures' counts that went in, none where all inputs were given.
    """

    answer: Answer
    table: CostTable
    reading: WorthReading | None
    counted: CountedDraws | None = None


def worth_of(table: CostTable, *, counted: CountedDraws | None = None, draws: int = DRAWS, seed: int = SEED) -> Worth:
    """The decision model over these inputs; stores nothing, and gives the same result for the same table and seed."""
    receipt = _receipt(table, counted)
    refusal = refuse_worth(table, question=worth_question(), with_programme=True, receipt=receipt)
    if refusal is not None:
        return Worth(answer=refusal, table=table, reading=None, counted=counted)
    reading = read_worth(table, draws=draws, seed=seed)
    return Worth(
        answer=build_worth_answer(reading, receipt=receipt), table=table, reading=reading, counted=counted
    )  # fmt: skip


def worth_with_counts(workspace: Workspace, *, table: CostTable, ask: CountsAsk) -> Worth:
    """The same with draws and baseline counted from the stored cultures; errors as for ``count_draws``."""
    from cubital.workspace.worth_counts import count_draws, with_counted

    counted = count_draws(workspace, ask)
    return worth_of(with_counted(table, counted), counted=counted)


def contamination_cost_of(table: CostTable) -> Answer:
    """What one contaminated set costs, from the inputs of the table that are about it."""
    receipt = _receipt(table, None)
    refusal = refuse_worth(table, question=contamination_cost_question(), with_programme=False, receipt=receipt)
    return refusal or build_contamination_cost_answer(read_contamination_cost(table), receipt=receipt)


def worth_asked(worth: Worth) -> dict[str, Any]:
    """What a receipt has to keep to compute the answer again: every input as it was, and the seed."""
    return {
        "inputs": cost_rows(worth.table), "draws": DRAWS, "seed": SEED,
        "data": worth.answer.receipt.data if worth.answer.receipt else "",
        "charter": worth.answer.receipt.charter if worth.answer.receipt else "",
    }  # fmt: skip


def worth_again(asked: Any) -> Answer:
    """The answer to what ``worth_asked`` gave."""
    from dataclasses import replace

    table = parse_costs(asked["inputs"], where=_("the inputs"))
    answer = worth_of(table, draws=int(asked["draws"]), seed=int(asked["seed"])).answer
    if answer.receipt is None:
        return answer
    return replace(answer, receipt=replace(answer.receipt, data=asked["data"], charter=asked["charter"]))


def _receipt(table: CostTable, counted: CountedDraws | None) -> Receipt:
    given = _("{count} inputs as given").format(count=len(table.inputs))
    if counted is None:
        return Receipt(
            data=given, charter=_("no charter: counts were given ready made"), policy="", code=cubital.__version__
        )
    return Receipt(
        data=f"{given}; {counted.data}", charter=_("charter {fingerprint}").format(fingerprint=counted.definition),
        policy="", code=cubital.__version__,
    )  # fmt: skip
