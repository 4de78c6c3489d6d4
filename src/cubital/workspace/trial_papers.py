"""P11 on paper: the protocol of a trial, and its result for others as far as counts may leave."""

from __future__ import annotations

from datetime import date
from pathlib import Path

from cubital.answers.trial_deviations import late_words
from cubital.answers.trial_result import limit_lines
from cubital.domain.answer import Answer
from cubital.domain.errors import RequestProblem
from cubital.domain.trial import TrialPlan
from cubital.domain.words import _, day_words, grouped_words
from cubital.papers.charter_words import definition_words
from cubital.papers.out_files import write_whole
from cubital.papers.trial_page import TrialPage, print_trial_page
from cubital.papers.trial_result_page import TrialResultPage, print_trial_result
from cubital.reference.commensals import commensal_lists
from cubital.workspace.guarding import let_leave
from cubital.workspace.opening import Workspace
from cubital.workspace.pins import today_of
from cubital.workspace.printing import paper_size
from cubital.workspace.receipts import keep_receipt, receipt_words
from cubital.workspace.snapshots import last_batch_number
from cubital.workspace.trial_arms import arms_table
from cubital.workspace.trial_looks import KeptLook, compare_with_protocol, list_looks, trial_result
from cubital.workspace.trials import SealedTrial, charter_of, get_protocol

FACE = "trial result"


def print_protocol(
    workspace: Workspace, *, number: int, out: Path, paper: str = "a4", today: date | None = None
) -> None:
    """Writes the protocol of a sealed trial to ``out``, one page. Errors as for ``get_protocol``."""
    trial = get_protocol(workspace, number)
    page = TrialPage(
        plan=trial.plan, number=number, definition=_definition(workspace, trial.plan), sealed=sealed_words(trial),
        made_on=today or today_of(workspace),
    )  # fmt: skip
    write_whole(out, print_trial_page(page, paper=paper_size(paper)))


def print_draft(
    workspace: Workspace, *, plan: TrialPlan, out: Path, paper: str = "a4", today: date | None = None
) -> None:
    """Writes a plan that is not sealed yet, so that it can be agreed; the page says that it binds nobody."""
    page = TrialPage(plan=plan, definition=_definition(workspace, plan), made_on=today or today_of(workspace))
    write_whole(out, print_trial_page(page, paper=paper_size(paper)))


def print_result(
    workspace: Workspace, *, number: int, out: Path, paper: str = "a4", own: bool = False, today: date | None = None
) -> str:
    """Writes what the last look said to ``out``, one page; gives the code of its receipt, empty where none was kept.

    The counts of both arms go through the guard, unless the page is the trial's ``own``, which says that it stays.
    ``RequestProblem`` where nobody has looked, or where the counts may not leave: then nothing is written.
    """
    trial, look = get_protocol(workspace, number), _last_look(workspace, number)
    answer = trial_result(workspace, number=number)
    if not own:
        _check_may_leave(workspace, trial, look)
    code = _receipt(workspace, number, look, answer)
    day = today or today_of(workspace)
    page = TrialResultPage(
        number=number, plan=trial.plan, answer=answer, deviations=compare_with_protocol(workspace, number=number),
        limits=(*limit_lines(trial.plan), *([_own_words()] if own else [])),
        definition=_definition(workspace, trial.plan), looked=looked_words(look), made_on=day,
        receipt=receipt_words(code) if look.batch == last_batch_number(workspace) else "",
    )  # fmt: skip
    write_whole(out, print_trial_result(page, paper=paper_size(paper)))
    return code


def sealed_words(trial: SealedTrial) -> str:
    """Who sealed it when, and which data were there."""
    data = (
        _("data up to {day} were in").format(day=day_words(trial.plan.data_to))
        if trial.plan.data_to
        else _("no data of these units were in")
    )
    words = _("Sealed by {name}, {role}, on {day}; {data}.").format(
        name=trial.sealed_by, role=trial.role, day=day_words(trial.sealed_at.date()), data=data
    )
    return " ".join(part for part in (words, late_words(trial.plan)) if part)


def looked_words(look: KeptLook) -> str:
    """Which look it was."""
    return _("Look {number} on {day}, batch {batch}, {sets} sets").format(
        number=look.number, day=day_words(look.at.date()), batch=look.batch, sets=grouped_words(look.counts.sets)
    )


def _last_look(workspace: Workspace, number: int) -> KeptLook:
    looks = list_looks(workspace, number)
    if not looks:
        raise RequestProblem(
            _("nobody has looked at trial {number} yet.").format(number=number),
            fix=_("Look when the plan says so: every look is kept, and costs a part of the certainty."),
        )
    return looks[-1]


def _receipt(workspace: Workspace, number: int, look: KeptLook, answer: Answer) -> str:
    """Kept only while the look rests on the newest file: later, the figures stand in the look itself."""
    if look.batch != last_batch_number(workspace):
        return ""
    return keep_receipt(workspace, question="trial", asked={"trial": number, "look": look.number}, answer=answer)


def _definition(workspace: Workspace, plan: TrialPlan) -> str:
    charter = charter_of(workspace, plan)
    words = definition_words(charter.charter, list_title=commensal_lists()[charter.charter.commensal_list].title)
    return _("Charter {version}: {words}").format(version=charter.version, words=words)


def _own_words() -> str:
    return _("The trial's own page: small counts are not hidden on it. It stays with those who run the trial.")


def _check_may_leave(workspace: Workspace, trial: SealedTrial, look: KeptLook) -> None:
    arms = arms_table(workspace, trial, look)
    about = _("trial {number}, look {look}").format(number=trial.number, look=look.number)
    leaving = let_leave(workspace, table=arms.table, asked=arms.cells, face=FACE, about=about)
    if not all(leaving.may_show(cell) for cell in arms.cells):
        raise RequestProblem(
            _(
                "a count of an arm is small ({low} to {high}) or would give a small one away, so it may not leave."
            ).format(low=leaving.limits.low, high=leaving.limits.high),
            fix=_("Print the trial's own page, which stays with those who run it, or wait for more sets."),
        )
