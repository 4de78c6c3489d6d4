"""P11, second half: what a trial showed on one page, beside what had been written."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from cubital.answers.trial_deviations import deviation_lines, late_words
from cubital.answers.trial_result import bare_points, chance_words, points_words
from cubital.domain.answer import Answer, Figure, Verdict
from cubital.domain.errors import RequestProblem
from cubital.domain.trial import TrialPlan
from cubital.domain.words import _, day_words, decimal_words
from cubital.papers.figure_words import count_words, interval_words, unbroken, value_words
from cubital.papers.pictures import render_svg
from cubital.papers.trial_page import fingerprint_words
from cubital.papers.typeset import PageTooLong, PaperSize, Sheet, typeset

SIZES = (11.5, 10.5, 9.5, 8.5, 7.8)
PICTURE = (620, 150)
_ROWS = ("arm_0", "arm_1", "difference", "meaningful", "any_fall", "z", "limit", "share")


@dataclass(frozen=True, kw_only=True)
class TrialResultPage:
    """``answer`` is what the look said; ``deviations`` in words; ``hidden`` says why counts are left out, or nothing.

    ``receipt`` says how to compute the page again; ``looked`` which look it is, when, on which data.
    """

    number: int
    plan: TrialPlan
    answer: Answer
    deviations: Sequence[str]
    limits: Sequence[str]
    definition: str
    looked: str
    made_on: date
    receipt: str = ""


def print_trial_result(page: TrialResultPage, *, paper: PaperSize = PaperSize.A4) -> bytes:
    """The result as PDF, one page; ``RequestProblem`` where it does not fit even in the smallest type."""
    drawn = {}
    if page.answer.picture:
        picture = {key: value for key, value in page.answer.picture.items() if key != "title"}
        drawn = {"picture": render_svg(picture, width=PICTURE[0], height=PICTURE[1])}
    for size in SIZES:
        try:
            return typeset(
                Sheet(
                    template="trial_result", title=_title(page), data=_words(page, size=size, pictured=bool(drawn)),
                    made_on=page.made_on, paper=paper, pictures=drawn,
                )
            )  # fmt: skip
        except PageTooLong:
            continue
    raise RequestProblem(_("this result has too many words for one page."), fix=_("Shorten the names of the arms."))


def _title(page: TrialResultPage) -> str:
    return _("Result of trial {number}: {name}").format(number=page.number, name=page.plan.name)


def verdict_words(verdict: Verdict) -> str:
    """The word in the box."""
    return {
        Verdict.SIGNAL: _("limit crossed"),
        Verdict.WITHIN_VARIATION: _("limit not crossed"),
        Verdict.TOO_FEW: _("not yet"),
        Verdict.NOT_IDENTIFIABLE: _("cannot be said"),
    }.get(verdict, _("not answered"))


def _words(page: TrialResultPage, *, size: float, pictured: bool) -> dict[str, Any]:
    answer, plan = page.answer, page.plan
    late = late_words(plan)
    return {
        "size": size,
        "heading": _title(page),
        "verdict": verdict_words(answer.verdict),
        "loud": answer.verdict is Verdict.SIGNAL,
        "late": late,
        "question": unbroken(plan.question),
        "sentence": unbroken(answer.sentence.removeprefix(late).strip()),
        "picture": pictured,
        "picture_words": answer.sentence,
        "head": [_("What"), _("Value"), _("Counts"), _("Interval")],
        "rows": [_row(figure) for figure in answer.figures if figure.key in _ROWS and figure.value is not None],
        "deviations_title": _("Written beforehand, and done otherwise"),
        "deviations": [unbroken(line) for line in deviation_lines(page.deviations)],
        "limits_title": _("What this cannot say"),
        "limits": [unbroken(line) for line in page.limits],
        "definition": page.definition,
        "decision": _("Decision of {who}").format(who=plan.decides),
        "signed": [_("Name and role"), _("Day")],
        "fingerprint": _("Plan {fingerprint}").format(fingerprint=fingerprint_words(plan.fingerprint())),
        "foot": " · ".join(
            part for part in (page.looked, _("Printed {day}").format(day=day_words(page.made_on)), page.receipt) if part
        ),
    }


def _row(figure: Figure) -> list[str]:
    value = figure.value or 0.0
    if figure.key == "difference" and figure.low is not None and figure.high is not None:
        reach = _("{low} to {high}").format(low=bare_points(figure.low), high=bare_points(figure.high))
        return [figure.label, points_words(value), "", reach]
    if figure.key in ("meaningful", "any_fall"):
        return [figure.label, chance_words(value), "", ""]
    if figure.key in ("z", "limit"):
        return [figure.label, decimal_words(f"{value:.2f}").replace("-", "\u2212"), "", ""]
    return [figure.label, unbroken(value_words(figure)), count_words(figure), unbroken(interval_words(figure))]
