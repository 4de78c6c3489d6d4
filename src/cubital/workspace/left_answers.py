"""What leaves as a sheet, a table or a page of definitions, as the one object that a receipt can keep and compare."""

from __future__ import annotations

import hashlib
import json
from collections import Counter
from collections.abc import Sequence
from dataclasses import asdict

from cubital.answers.bench import Bench
from cubital.answers.class_words import class_words
from cubital.answers.spike import SpikeSheet
from cubital.domain.answer import Answer, AnswerTable, Figure, Receipt, Verdict
from cubital.domain.words import _, grouped_words, month_words
from cubital.judge.counts import JudgedSet
from cubital.papers.charter_page import BenchLine
from cubital.papers.counts_table import MEASURES, CountRow
from cubital.papers.spike_page import found_words
from cubital.workspace.charters import current_charter
from cubital.workspace.month_gathering import receipt_of
from cubital.workspace.opening import Workspace
from cubital.workspace.policies import current_policy
from cubital.workspace.snapshots import snapshot_words


def workspace_receipt(workspace: Workspace) -> Receipt:
    """What anything computed now rests on."""
    return receipt_of(snapshot_words(workspace), current_charter(workspace), current_policy(workspace))


def spike_as_answer(sheet: SpikeSheet, *, receipt: Receipt) -> Answer:
    """The sheet for a month that jumped: its sentence, and every line of its steps."""
    rows = tuple((step.title, found_words(step.found), line) for step in sheet.steps for line in step.lines or ("",))
    return Answer(
        question=_("What made {month} jump at {place}?").format(
            month=month_words(sheet.month, with_year=True), place=sheet.place
        ),
        verdict=Verdict.ESTIMATE,
        sentence=f"{sheet.sentence} {sheet.proposal}",
        table=AnswerTable(title=_("The steps"), columns=(_("Step"), _("Found"), _("What it says")), rows=rows),
        receipt=receipt,
    )


def counts_as_answer(rows: Sequence[CountRow], *, receipt: Receipt) -> Answer:
    """The table of unit-month counts as it left, hidden counts empty."""
    hidden = sum(len(row.hidden) for row in rows)
    return Answer(
        question=_("What are the counts of every unit and month?"),
        verdict=Verdict.ESTIMATE,
        sentence=_("{rows} rows left, with {shown} counts shown and {hidden} hidden.").format(
            rows=grouped_words(len(rows)), shown=grouped_words(len(rows) * len(MEASURES) - hidden),
            hidden=grouped_words(hidden),
        ),
        table=AnswerTable(
            title=_("Counts by unit and month"),
            columns=(
                _("Level"), _("Hospital"), _("Unit"), _("Months"), _("Counted"), _("Contaminated"), _("Undecided"),
                _("Other growth"),
            ),
            rows=tuple(
                (
                    row.level, row.facility, row.unit_name or row.unit, row.span, row.counted, row.contaminated,
                    row.undecided, row.other_growth,
                )
                for row in rows
            ),
        ),
        receipt=receipt,
    )  # fmt: skip


def sets_as_answer(rows: Sequence[JudgedSet], *, receipt: Receipt) -> Answer:
    """A list of single sets: how many of each class, and the fingerprint of the whole list. No set is kept."""
    text = json.dumps([asdict(row) for row in rows], default=str, ensure_ascii=False)
    classes = Counter(row.set_class for row in rows)
    return Answer(
        question=_("Which sets are there, and how is each counted?"),
        verdict=Verdict.ESTIMATE,
        sentence=_("{count} sets left as a list with the fingerprint {digits}.").format(
            count=grouped_words(len(rows)), digits=hashlib.sha256(text.encode()).hexdigest()
        ),
        figures=(Figure(key="sets", label=_("Sets in the list"), value=len(rows), unit="sets"),),
        table=AnswerTable(
            title=_("Sets by class"), columns=(_("Class"), _("Sets")),
            rows=tuple((class_words(one), count) for one, count in sorted(classes.items())),
        ),
        receipt=receipt,
    )  # fmt: skip


def charter_bench_as_answer(lines: Sequence[BenchLine], *, months: Sequence[str], receipt: Receipt) -> Answer:
    """The lines of a charter's page; a hidden line has no counts."""
    return Answer(
        question=_("What does each definition make of the same data?"),
        verdict=Verdict.ESTIMATE,
        sentence=_("{count} definitions, {first} to {last}.").format(
            count=len(lines), first=month_words(months[0], with_year=True), last=month_words(months[-1], with_year=True)
        ),
        table=AnswerTable(
            title=_("The same data under each definition"),
            columns=(_("Definition"), _("Contaminated"), _("Sets"), _("Share")),
            rows=tuple(
                (line.name, None, None, None) if line.hidden else
                (line.name, line.numerator, line.denominator, line.rate)
                for line in lines
            ),
        ),
        receipt=receipt,
    )  # fmt: skip


def definitions_as_answer(bench: Bench, *, receipt: Receipt) -> Answer:
    """Every published definition on the same data, with how many sets change class between two of them."""
    rates = [line.rate for line in bench.definitions if line.rate is not None]
    return Answer(
        question=_("What does each definition make of the same data?"),
        verdict=Verdict.ESTIMATE,
        sentence=_("{count} definitions; {moves} sets change class between two of them.").format(
            count=len(bench.definitions), moves=grouped_words(len(bench.moves))
        ),
        figures=tuple(
            Figure(key=key, label=label, value=value, unit="proportion")
            for key, label, value in (
                ("lowest", _("Lowest rate of a definition"), min(rates, default=None)),
                ("highest", _("Highest rate of a definition"), max(rates, default=None)),
            )
        ),
        table=AnswerTable(
            title=_("The same data under each definition"),
            columns=(_("Definition"), _("Contaminated"), _("Sets"), _("Share")),
            rows=tuple((line.name, line.numerator, line.denominator, line.rate) for line in bench.definitions),
        ),
        receipt=receipt,
    )  # fmt: skip
