"""P11, first half: the protocol of a trial on one page, with the fingerprint by which it is known again."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from cubital.answers.trial_boundary import Limit, planned_limits
from cubital.answers.trial_deviations import late_words
from cubital.answers.trial_result import points_words
from cubital.answers.trial_words import design_words
from cubital.domain.errors import RequestProblem
from cubital.domain.trial import Spending, Stretch, TrialDesign, TrialPlan
from cubital.domain.words import _, day_words, decimal_words, grouped_words, month_names, ngettext, share_words
from cubital.papers.figure_words import unbroken
from cubital.papers.typeset import PageTooLong, PaperSize, Sheet, typeset

SIZES = (12.0, 11.0, 10.0, 9.2, 8.4, 7.6)  # points of the lines; the largest that fits one page is taken
WEEKS_A_LINE = {TrialDesign.WEEKS: 26, TrialDesign.DAYS: 5}
MARK_MM = {TrialDesign.WEEKS: 3.9, TrialDesign.DAYS: 2.9}


@dataclass(frozen=True, kw_only=True)
class TrialPage:
    """A plan and what stands around it. ``number`` none and ``sealed`` empty for one that is not sealed yet.

    ``definition`` says in words what a contaminated set is; ``sealed`` who sealed it when, on which data.
    """

    plan: TrialPlan
    definition: str
    made_on: date
    number: int | None = None
    sealed: str = ""


def print_trial_page(page: TrialPage, *, paper: PaperSize = PaperSize.A4) -> bytes:
    """The protocol as PDF, one page; ``RequestProblem`` where it does not fit even in the smallest type."""
    for size in SIZES:
        try:
            return typeset(
                Sheet(
                    template="trial_protocol", title=trial_title(page), data=_words(page, size=size),
                    made_on=page.made_on, paper=paper,
                )
            )  # fmt: skip
        except PageTooLong:
            continue
    raise RequestProblem(
        _("this trial has too many units, turns or words for one page."),
        fix=_("Plan fewer units or longer turns; 'cubital trial show' lists every turn."),
    )


def trial_title(page: TrialPage) -> str:
    """``Trial 3: Kit trial``, or a draft."""
    if page.number is None:
        return _("Draft of a trial: {name}").format(name=page.plan.name)
    return _("Trial {number}: {name}").format(number=page.number, name=page.plan.name)


def fingerprint_words(fingerprint: str) -> str:
    """The 64 digits in groups of eight, as they are compared by eye."""
    return " ".join(fingerprint[at : at + 8] for at in range(0, len(fingerprint), 8))


def analysis_words(plan: TrialPlan) -> str:
    """The analysis that belongs to the design, in one sentence."""
    if plan.design.in_turns:
        return _(
            "Difference of shares within each unit, turns as clusters, units weighted as Mantel and Haenszel do; "
            "{level} interval, repeated."
        ).format(level=share_words(plan.level, 0))
    if plan.design is TrialDesign.PARALLEL:
        return _("Difference of shares, units as clusters, Student's t; {level} interval, repeated.").format(
            level=share_words(plan.level, 0)
        )
    return _(
        "Logistic model: units differ (random), one level per period, the new way shifts the odds; {level} interval, "
        "repeated."
    ).format(level=share_words(plan.level, 0))


def looks_words(plan: TrialPlan) -> str:
    """Every planned look with its limit."""
    spending = {
        Spending.CAUTIOUS: _("hardly any chance of error spent early (O'Brien and Fleming's curve)"),
        Spending.EVEN: _("the chance of error spent evenly (Pocock's curve)"),
    }[plan.spending]
    looks = "; ".join(_look_words(share, limit) for share, limit in zip(plan.looks, planned_limits(plan), strict=True))
    return _("{looks}: {spending}. Every look is kept.").format(looks=looks, spending=spending)


def _look_words(share: float, limit: Limit) -> str:
    if limit.z > 99:
        return _("at {share} of the sets, no limit yet").format(share=share_words(share, 0))
    often, p = 1000 * limit.nominal_p, limit.nominal_p
    return _(
        "at {share} of the sets, where chance alone shows as much in fewer than {often} of 1,000 (p below {p})"
    ).format(
        share=share_words(share, 0), often=decimal_words(f"{often:.1f}" if often < 10 else f"{often:.0f}"),
        p=decimal_words(f"{p:.4f}" if p < 0.01 else f"{p:.3f}"),
    )  # fmt: skip


def size_words(plan: TrialPlan) -> str:
    """What the size was computed from."""
    return _(
        "{sets} sets in each arm, to find a fall from {baseline} to {expected} in {power} of such trials; correlation "
        "of sets within a unit {icc}."
    ).format(
        sets=grouped_words(plan.sets_per_arm), baseline=share_words(plan.baseline), expected=share_words(plan.expected),
        power=share_words(plan.power, 0), icc=decimal_words(f"{plan.icc:.2g}"),
    )  # fmt: skip


def _words(page: TrialPage, *, size: float) -> dict[str, Any]:
    plan = page.plan
    pairs = [
        (_("Compared"), _("'{new}' with '{usual}': {design}.").format(new=plan.new, usual=plan.usual,
                                                                   design=design_words(plan.design))),
        (_("Where"), ", ".join(dict.fromkeys(one.place for one in plan.stretches))),
        (_("When"), _("{start} to {end}").format(start=day_words(plan.start), end=day_words(plan.end))),
        (_("Counted"), page.definition),
        (_("How many"), size_words(plan)),
        (_("What would matter"), _("a fall of at least {least}").format(
            least=points_words(plan.meaningful, signed=False))),
        (_("Analysis"), analysis_words(plan)),
        (_("Looks"), looks_words(plan)),
        (_("Stopping"), plan.stop_rule),
        (_("Left out"), _left_out_words(plan)),
        (_("Decides"), plan.decides),
    ]  # fmt: skip
    return {
        "size": size,
        "heading": trial_title(page),
        "kind": _("Protocol, written before the data") if not plan.late else _("Protocol, written late"),
        "late": late_words(plan),
        "question": unbroken(plan.question),
        "pairs": [[label, unbroken(words)] for label, words in pairs],
        "order_title": _("Who begins when"),
        "order": _order(plan),
        "mark": MARK_MM.get(plan.design, 3.9),
        "order_note": _order_note(plan),
        "fingerprint_title": _("Fingerprint (SHA-256 of the whole plan)"),
        "fingerprint": fingerprint_words(plan.fingerprint()),
        "sealed": page.sealed or _("Not sealed yet: nothing binds anybody."),
        "signed": [_("Agreed by (name, role)"), _("Day")],
        "foot": " · ".join(
            part
            for part in (
                _("Printed {day}").format(day=day_words(page.made_on)),
                _("replaces trial {number}").format(number=plan.replaces) if plan.replaces else "",
                _("A changed plan has another fingerprint. Local policy and licensed practice come first."),
            )
            if part
        ),
    }


def _left_out_words(plan: TrialPlan) -> str:
    parts = list(plan.exclusions)
    if plan.settle_days:
        parts.append(
            ngettext(
                "the first {count} day after a unit changes", "the first {count} days after a unit changes",
                plan.settle_days,
            ).format(count=plan.settle_days)
        )  # fmt: skip
    return "; ".join(parts) or _("nothing but what the definition leaves out")


def _order(plan: TrialPlan) -> list[dict[str, Any]]:
    """One entry per unit: words, and for turns the marks in lines."""
    found = []
    for place in dict.fromkeys(one.place for one in plan.stretches):
        mine = sorted((one for one in plan.stretches if one.place == place), key=lambda one: one.first)
        lines = _lines(mine, plan.design) if plan.design.in_turns else []
        found.append({"place": place, "words": "" if lines else _begin_words(mine, plan), "lines": lines})
    return found


def _begin_words(mine: Sequence[Stretch], plan: TrialPlan) -> str:
    new = next((one for one in mine if one.arm), None)
    if new is None:
        return _("stays with '{usual}'").format(usual=plan.usual)
    return _("'{new}' from {day}").format(new=plan.new, day=day_words(new.first))


def _lines(mine: Sequence[Stretch], design: TrialDesign) -> list[dict[str, Any]]:
    per_week = 7 if design is TrialDesign.DAYS else 1
    lines = []
    long = WEEKS_A_LINE[design] * per_week
    for chunk in (mine[at : at + long] for at in range(0, len(mine), long)):
        marks = [bool(one.arm) for one in chunk]
        lines.append({"from": short_day(chunk[0].first), "marks": marks, "group": 7 if per_week > 1 else 4})
    return lines


def short_day(day: date) -> str:
    """``4 May``, with the month cut to three letters."""
    return _("{day} {month}").format(day=day.day, month=month_names()[day.month - 1][:3])


def _order_note(plan: TrialPlan) -> str:
    seed = "" if plan.seed is None else _("Drawn with seed {seed}: anyone can draw it again.").format(seed=plan.seed)
    if not plan.design.in_turns:
        return seed
    what = {
        TrialDesign.WEEKS: _("One mark a week from {day}: N is '{new}', – is '{usual}'."),
        TrialDesign.DAYS: _("One mark a day from {day}: N is '{new}', – is '{usual}'."),
    }[plan.design].format(day=day_words(plan.start), new=plan.new, usual=plan.usual)
    return f"{what} {seed}".strip()
