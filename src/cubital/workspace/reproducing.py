"""Computes what a receipt stands for again: to the last digit, or why not; and what today's data would say."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, replace
from enum import StrEnum

import cubital
from cubital.domain.answer import Answer, Figure, build_answer_dict, read_answer_dict
from cubital.domain.errors import CubitalError, ReceiptProblem
from cubital.domain.words import _, choose_language, current_language, day_words, decimal_words
from cubital.workspace import records
from cubital.workspace.asking import ask_again, rests_on, states_of
from cubital.workspace.left_tables import last_left_number
from cubital.workspace.opening import Workspace
from cubital.workspace.pins import Pin, at_pin, pin_now
from cubital.workspace.receipts import Kept, find_receipt, written
from cubital.workspace.what_changed import changed_since, list_words


class Sameness(StrEnum):
    """How what was computed again compares with what was kept."""

    SAME = "same"
    WORDS_DIFFER = "words_differ"  # every figure to the last digit, but another sentence, caution or picture
    FIGURES_DIFFER = "figures_differ"
    NOT_POSSIBLE = "not_possible"


@dataclass(frozen=True, kw_only=True)
class Difference:
    """One figure that has another value: its label, the value that left, and the other one; none has no value."""

    key: str
    label: str
    unit: str
    left: float | None
    now: float | None


@dataclass(frozen=True, kw_only=True)
class Reproduced:
    """What became of a receipt. ``answer`` is the one that was kept.

    ``why`` says why it is not the same, and which other version of Cubital made it. ``today`` is the same question
    asked of today's data under today's rules, none where it has no answer, and then ``today_note`` says why; ``moved``
    are the figures that differ from the kept ones and ``reasons`` what happened since, empty where nothing differs.
    """

    kept: Kept
    answer: Answer
    sameness: Sameness
    why: tuple[str, ...]
    differences: tuple[Difference, ...]
    today: Answer | None
    today_note: str
    moved: tuple[Difference, ...]
    reasons: tuple[str, ...]

    @property
    def differs_today(self) -> bool:
        """Whether today's data under today's rules say something else."""
        return bool(self.reasons)


def again(workspace: Workspace, typed: str) -> Reproduced:
    """The figures of a receipt, computed again from the data and under the rules that they rested on.

    Nothing is stored. ``RequestProblem`` where the receipt is mistyped or not kept here; ``ReceiptProblem`` where what
    is kept of it was changed since.
    """
    kept = find_receipt(workspace, typed)
    if not kept.sound:
        raise ReceiptProblem(
            _("what is kept of receipt {code} was changed since it was made, so it proves nothing.").format(
                code=kept.code
            ),
            fix=_("Put the records back from a backup of that time."),
        )
    answer = read_answer_dict(kept.said)
    try:
        found = ask_then(workspace, kept)
    except CubitalError as problem:
        sameness, why = Sameness.NOT_POSSIBLE, (problem.sentence(), *_version_words(kept))
        differences: tuple[Difference, ...] = ()
    else:
        sameness, differences = _compare(kept, answer, found)
        why = _version_words(kept) if sameness is Sameness.SAME else _why_not(workspace, kept, sameness)
    today, note = _ask_today(workspace, kept)
    moved = _differences(answer, today) if today else ()
    return Reproduced(
        kept=kept, answer=answer, sameness=sameness, why=why, differences=differences, today=today, today_note=note,
        moved=moved, reasons=_reasons(workspace, kept, answer, today),
    )  # fmt: skip


def ask_then(workspace: Workspace, kept: Kept) -> Answer:
    """The answer computed again from what the receipt rests on, in its language.

    ``ReceiptProblem`` where a state it reads is gone; whatever error the question has where it cannot be answered.
    """
    then = at_pin(workspace, kept.pin)
    with _in_language(kept.pin.language):
        _check_states(then, kept)
        return ask_again(then, question=kept.question, asked=kept.asked)


def sameness_words(found: Reproduced) -> str:
    """The first sentence: whether it is the same to the last digit."""
    code = found.kept.code
    if found.sameness is Sameness.SAME:
        return _("{code} is the same to the last digit.").format(code=code)
    if found.sameness is Sameness.WORDS_DIFFER:
        return _("{code}: every figure is the same to the last digit; the words or the picture are not.").format(
            code=code
        )
    if found.sameness is Sameness.FIGURES_DIFFER:
        return _("{code} does not come out the same. Below stands what left, and then what comes out now.").format(
            code=code
        )
    return _("{code} cannot be computed again. Below stands what left.").format(code=code)


def exact_words(one: Difference) -> tuple[str, str]:
    """Both values with every digit; an interval or a count may differ where the value does not."""
    left, now = ("–" if value is None else decimal_words(repr(value)) for value in (one.left, one.now))
    return (left, now) if left != now else (left, _("{value}, with another range or count").format(value=now))


def refuse_another(found: Reproduced) -> None:
    """Raises ``ReceiptProblem`` where the figures could not be computed again or came out otherwise."""
    if found.sameness in (Sameness.FIGURES_DIFFER, Sameness.NOT_POSSIBLE):
        raise ReceiptProblem(" ".join(found.why), where=found.kept.code)


def _check_states(then: Workspace, kept: Kept) -> None:
    """Says which state is gone, before a reader of the tables stumbles over it."""
    wanted = states_of(then, question=kept.question, asked=kept.asked)
    gone = records.Batch.objects.using(then.alias).filter(number__in=wanted, released_at__isnull=False).first()
    if gone and gone.released_at:
        raise ReceiptProblem(
            _("what batch {number} left was let go on {day}: the keep time had passed.").format(
                number=gone.number, day=day_words(gone.released_at.date())
            ),
            fix=_("Look in a backup made before that day."),
        )
    if wanted and not records.Batch.objects.using(then.alias).filter(number=max(wanted)).exists():
        raise ReceiptProblem(
            _("there is no batch {number} here.").format(number=max(wanted)),
            fix=_("Look in the workspace, or the backup, that kept the receipt."),
        )


def _compare(kept: Kept, answer: Answer, found: Answer) -> tuple[Sameness, tuple[Difference, ...]]:
    if written(build_answer_dict(_said_by(found, kept.code_version))) == kept.text:
        return Sameness.SAME, ()
    if _numbers(found) == _numbers(answer):
        return Sameness.WORDS_DIFFER, ()
    return Sameness.FIGURES_DIFFER, _differences(answer, found)


def _said_by(answer: Answer, version: str) -> Answer:
    """The answer with the name of the Cubital that kept the receipt: which one computes is no part of the answer."""
    if answer.receipt is None or answer.receipt.code != cubital.__version__:
        return answer
    return replace(answer, receipt=replace(answer.receipt, code=version))


def _why_not(workspace: Workspace, kept: Kept, sameness: Sameness) -> tuple[str, ...]:
    now, lists = pin_now(workspace), rests_on(kept.question)
    changed = [one for one in lists if getattr(kept.pin, one) != getattr(now, one)]
    found = (*(list_words(one) for one in changed), *_version_words(kept))
    if found or sameness is Sameness.WORDS_DIFFER:
        return found
    return (_("Nothing that Cubital keeps says why. Look in a backup of that time, and tell who keeps Cubital."),)


def _version_words(kept: Kept) -> tuple[str, ...]:
    if kept.code_version == cubital.__version__:
        return ()
    return (
        _("It was made with Cubital {then}; this is {now}.").format(then=kept.code_version, now=cubital.__version__),
    )


def _ask_today(workspace: Workspace, kept: Kept) -> tuple[Answer | None, str]:
    """Asked of a pin of now, so that nothing is noted as having left."""
    pin = replace(pin_now(workspace), left_before=last_left_number(workspace))
    try:
        return ask_again(at_pin(workspace, pin), question=kept.question, asked=kept.asked), ""
    except CubitalError as problem:
        return None, problem.sentence()


def _reasons(workspace: Workspace, kept: Kept, answer: Answer, today: Answer | None) -> tuple[str, ...]:
    """What happened since, where today's figures differ or there are none."""
    if today is not None and _numbers(today) == _numbers(answer):
        return ()
    found = changed_since(workspace, kept.pin, rests_on=_lists_of(kept))
    return (*found, *_version_words(kept)) or (_("Nothing that Cubital keeps says why."),)


def _lists_of(kept: Kept) -> tuple[str, ...]:
    try:
        return rests_on(kept.question)
    except CubitalError:
        return ()


def _numbers(answer: Answer) -> str:
    """Every number of an answer and nothing of its words."""
    figures = [
        [one.key, one.value, one.low, one.high, one.level, one.numerator, one.denominator] for one in answer.figures
    ]
    rows = answer.table.rows if answer.table else ()
    cells = [[cell for cell in row if isinstance(cell, int | float)] for row in rows]
    return written([answer.verdict, figures, cells])


def _differences(left: Answer, now: Answer) -> tuple[Difference, ...]:
    """Figures with another value or interval, in the order in which they left; then those that are new."""
    before, after = ({one.key: one for one in answer.figures} for answer in (left, now))
    found = []
    for key, one in {**before, **after}.items():
        first, second = before.get(key), after.get(key)
        if first is None or second is None or _exact(first) != _exact(second):
            found.append(
                Difference(
                    key=key, label=one.label, unit=one.unit, left=first.value if first else None,
                    now=second.value if second else None,
                )
            )  # fmt: skip
    return tuple(found)


def _exact(figure: Figure) -> str:
    return written([figure.value, figure.low, figure.high, figure.numerator, figure.denominator])


@contextmanager
def _in_language(language: str) -> Iterator[None]:
    was = current_language()
    choose_language(language)
    try:
        yield
    finally:
        choose_language(was)


def pin_words(pin: Pin) -> str:
    """The day and the last file that a receipt rests on."""
    day = day_words(pin.today)
    if not pin.batch:
        return _("asked on {day}, from counts alone").format(day=day)
    return _("asked on {day}, from what batch {number} left").format(day=day, number=pin.batch)
