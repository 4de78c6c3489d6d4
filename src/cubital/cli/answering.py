"""The command that answers for a month, and how an answer is printed."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from contextlib import suppress
from typing import TYPE_CHECKING, Any

import click

from cubital.cli.shared import MONTH, facility_option, json_option, opened, print_json, unit_option
from cubital.domain.answer import Answer, Figure, build_answer_dict
from cubital.domain.errors import MachineProblem, WorkspaceProblem
from cubital.domain.words import _, difference_words, month_words, share_words

if TYPE_CHECKING:
    from cubital.workspace.opening import Workspace

CHECK_WORDS = {True: "passed", False: "LOOK", None: "not checked"}


WRITERS: Mapping[str, Callable[[float], str]] = {"proportion": share_words, "difference": difference_words}


def figure_words(figure: Figure) -> str:
    """One figure as a line: what it is, its value with counts, its interval."""
    if figure.value is None:
        return f"{figure.label}: {figure.note or 'not measurable'}"
    write = WRITERS.get(figure.unit, _plain_number)
    value = write(figure.value)
    if figure.unit not in WRITERS:
        value = f"{value} {_unit_words(figure)}".rstrip()
        if figure.unit == "months" and not float(figure.value).is_integer():
            value = f"about {value}"
    spread = ""
    if figure.low is not None and figure.high is not None:
        spread = f" ({write(figure.low)} to {write(figure.high)})"
    counts = ""
    if figure.denominator is not None:
        counts = (
            f", of {figure.denominator:,}"
            if figure.numerator is None
            else f", {figure.numerator:,} of {figure.denominator:,}"
        )
    return f"{figure.label}: {value}{spread}{counts}"


def _plain_number(value: float) -> str:
    return f"{value:,.0f}" if float(value).is_integer() or abs(value) >= 100 else f"{value:,.2g}"


def _unit_words(figure: Figure) -> str:
    words = figure.unit.replace("_", " ")
    return words.removesuffix("s") if figure.value == 1 else words


def _figure_lines(figures: Sequence[Figure]) -> list[str]:
    """One line per figure; those without a value for one and the same reason share a line at the end."""
    reasons = Counter(figure.note for figure in figures if figure.value is None and figure.note)
    shared = [note for note, count in reasons.items() if count > 1]
    lines = [figure_words(one) for one in figures if one.value is not None or one.note not in shared]
    for note in shared:
        labels = ", ".join(one.label for one in figures if one.value is None and one.note == note)
        lines.append(f"Without a value, because {note}: {labels}")
    return lines


def private_words() -> str:
    """What stands beside every answer from stored cultures that the guard has not seen."""
    return _("Private: small counts are not hidden here; do not pass this on. For others: export counts, paper unit.")


def print_answer(answer: Answer, *, as_json: bool, private: bool = False) -> None:
    """The answer as JSON, or the sentence first and what stands behind it after; said where it is ``private``."""
    if as_json:
        print_json(build_answer_dict(answer) | ({"private": private_words()} if private else {}))
        return
    for check in answer.checks:
        click.echo(f"  {CHECK_WORDS[check.passed]}: {check.words}")
    click.echo()
    click.echo(answer.sentence)
    click.echo()
    for line in _figure_lines(answer.figures):
        click.echo(f"  {line}")
    for caution in answer.cautions:
        click.echo(f"  ! {caution}")
    for mark in answer.marks:
        click.echo(f"  {mark.letter} {month_words(mark.month, with_year=True)}: {mark.words}")
    if answer.receipt:
        click.echo(f"  {answer.receipt.charter}; {answer.receipt.data}; Cubital {answer.receipt.code}")
    if private:
        click.echo(f"  {private_words()}")


receipt_option = click.option(
    "--receipt", "keep", is_flag=True, help="Keep a receipt: 'cubital again' computes these figures again from it."
)


def print_with_receipt(
    workspace: Workspace, answer: Answer, *, question: str, asked: Mapping[str, Any], keep: bool, as_json: bool,
    private: bool = False,
) -> None:  # fmt: skip
    """The answer, and below it the receipt where one is to be kept."""
    if not keep:
        print_answer(answer, as_json=as_json, private=private)
        return
    from cubital.workspace.receipts import keep_receipt, receipt_words

    code = keep_receipt(workspace, question=question, asked=asked, answer=answer)
    if as_json:
        kept = {"receipt_code": code} | ({"private": private_words()} if private else {})
        print_json(build_answer_dict(answer) | kept)
        return
    print_answer(answer, as_json=False, private=private)
    click.echo(f"  {receipt_words(code)}")


@click.command()
@click.argument("month", type=MONTH)
@facility_option
@unit_option
@receipt_option
@json_option
@click.pass_context
def month(ctx: click.Context, month: str, facility: str | None, unit: str | None, keep: bool, as_json: bool) -> None:
    """The sentence for one month (YYYY-MM), with everything that stands beside it."""
    from cubital.workspace.months import month_answer
    from cubital.workspace.places import remember_place

    workspace = opened(ctx)
    answer = month_answer(workspace, month=month, facility=facility, unit=unit)
    with suppress(WorkspaceProblem, MachineProblem):  # a folder that only allows reading still answers
        remember_place(workspace, month=month, facility=facility, unit=unit)
    asked = {"month": month, "facility": facility, "unit": unit}
    print_with_receipt(workspace, answer, question="month", asked=asked, keep=keep, as_json=as_json, private=True)


def add_commands(root: click.Group) -> None:
    """Hangs this module's commands on the root."""
    for command in (month,):
        root.add_command(command)
