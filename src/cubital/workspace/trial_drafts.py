"""Makes a plan that can be sealed out of a trial that was computed, and the words that only people can give."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from cubital.domain.errors import RequestProblem
from cubital.domain.trial import TrialPlan
from cubital.domain.words import _
from cubital.workspace.charters import current_charter
from cubital.workspace.opening import Workspace
from cubital.workspace.trial_planning import PlannedTrial

LONGEST = {"name": 80, "question": 200, "usual": 60, "new": 60, "decides": 120, "stop_rule": 300}
MOST_EXCLUSIONS = 6


@dataclass(frozen=True, kw_only=True)
class TrialWords:
    """What people agree on beforehand. ``meaningful`` is the least fall (a share, above 0) that would be acted on.

    Empty ``question`` and ``stop_rule`` take the usual sentence. ``settle_days`` after each change are left out.
    """

    name: str
    new: str
    decides: str
    meaningful: float
    usual: str = ""
    question: str = ""
    stop_rule: str = ""
    exclusions: tuple[str, ...] = ()
    settle_days: int = 0
    replaces: int | None = None


def draft_plan(workspace: Workspace, planned: PlannedTrial, words: TrialWords) -> TrialPlan:
    """The plan, not sealed yet. ``RequestProblem`` where the trial was refused, or a word is missing or too long."""
    if not planned.stretches:
        raise RequestProblem(planned.answer.sentence, fix=_("Only a trial that can be computed can be sealed."))
    tidy: dict[str, Any] = {key: " ".join(getattr(words, key).split()) for key in LONGEST}
    tidy["usual"] = tidy["usual"] or _("as now")
    tidy["question"] = tidy["question"] or _("Does '{new}' lower contamination, compared with '{usual}'?").format(
        new=tidy["new"], usual=tidy["usual"]
    )
    tidy["stop_rule"] = tidy["stop_rule"] or _(
        "Stop where the limit of a planned look is crossed, in either direction; otherwise at the planned size."
    )
    _check_words(tidy, words)
    charter, ask = current_charter(workspace), planned.reading.ask
    try:
        return TrialPlan(
            **tidy, design=planned.request.design, stretches=planned.stretches, charter=charter.version,
            charter_fingerprint=charter.fingerprint, baseline=ask.baseline, expected=ask.expected,
            meaningful=words.meaningful, level=ask.level, power=planned.power, icc=ask.icc,
            sets_per_arm=planned.sets_per_arm, looks=planned.request.looks, spending=planned.request.spending,
            exclusions=tuple(" ".join(one.split()) for one in words.exclusions if one.strip()),
            settle_days=words.settle_days, seed=planned.seed, replaces=words.replaces,
        )  # fmt: skip
    except ValueError as error:
        raise RequestProblem(
            _("this cannot be a plan: {reason}.").format(reason=error), fix=_("Say it anew.")
        ) from None


def _check_words(tidy: dict[str, Any], words: TrialWords) -> None:
    missing = [key for key in ("name", "new", "decides") if not tidy[key]]
    if missing:
        raise RequestProblem(
            _("a trial needs a name, a word for what is new, and somebody who decides."),
            fix=_("Say what is missing: {names}.").format(names=", ".join(missing)),
        )
    if tidy["usual"].casefold() == tidy["new"].casefold():
        raise RequestProblem(_("both arms are called the same."), fix=_("Give them different names."))
    long = [key for key, most in LONGEST.items() if len(tidy[key]) > most]
    if long or len(words.exclusions) > MOST_EXCLUSIONS or any(len(one) > 120 for one in words.exclusions):
        raise RequestProblem(
            _("too long for one page: {names}.").format(names=", ".join(long) or _("what is left out")),
            fix=_("Say it in one sentence."),
        )
    if not 0 < words.meaningful < 1 or not 0 <= words.settle_days <= 28:
        raise RequestProblem(
            _("the least fall that matters lies between 0 and 100 points, and days to settle between 0 and 28."),
            fix=_("Usual are 1 point and 0 days."),
        )
