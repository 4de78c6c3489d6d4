"""Pages that leave the workspace: the unit's month and the charter, each as one PDF page."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import UTC, date, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

from cubital.answers.bench import MAIN_KEYS, Bench, build_bench
from cubital.domain.charter import Charter, Population, with_population
from cubital.domain.errors import RequestProblem
from cubital.domain.policy import PolicyState
from cubital.domain.words import _, month_words
from cubital.judge.counts import Scope
from cubital.papers.charter_page import BenchLine, CharterPage, print_charter_page
from cubital.papers.charter_words import counted_words, definition_words
from cubital.papers.highlights import MORE_IS_BETTER, choose_highlights
from cubital.papers.out_files import write_whole
from cubital.papers.typeset import PaperSize
from cubital.papers.unit_page import UnitPage, print_unit_page
from cubital.reference.charters import published_charters
from cubital.reference.commensals import commensal_lists
from cubital.workspace.asked_places import find_place
from cubital.workspace.charters import CharterVersion, current_charter, get_charter
from cubital.workspace.judging import judge_definition
from cubital.workspace.left_tables import last_left_number
from cubital.workspace.opening import Workspace
from cubital.workspace.places import list_places
from cubital.workspace.policies import current_policy
from cubital.workspace.policy_rules import policy_limits
from cubital.workspace.receipts import keep_receipt, receipt_words
from cubital.workspace.snapshots import open_snapshot

if TYPE_CHECKING:
    from cubital.domain.answer import Answer

BENCH_MONTHS = 12
# The policy speaks of "late" where the figures speak of the later of two limits.
_POLICY_KEYS = {"receipt_very_late": "receipt_late_target"}


def print_unit(
    workspace: Workspace,
    *,
    month: str,
    out: Path,
    facility: str | None = None,
    unit: str | None = None,
    paper: str = "a4",
    for_others: bool = True,
    today: date | None = None,
) -> None:
    """Writes the one-pager of a unit, a hospital or the whole network for one month (``YYYY-MM``) to ``out``.

    ``paper`` is ``a4`` or ``letter``. A page ``for_others`` goes through the guard: what it may not show is left out,
    and what it shows is kept in mind. Otherwise it is the unit's own, small counts included, and says so. A month that
    cannot be judged prints as the refusal it is. ``RequestProblem`` for an unknown place or paper; ``PolicyProblem``
    where the policy names no small counts; ``MachineProblem`` where the file cannot be written, and then nothing is.
    """
    from cubital.workspace.guarded_months import month_for_others
    from cubital.workspace.months import month_answer

    size = paper_size(paper)
    asked: dict[str, Any] = {"month": month, "facility": facility, "unit": unit}
    if for_others:
        made = month_for_others(workspace, month=month, facility=facility, unit=unit)
        answer, asked = made.answer, {**asked, "left_before": made.left_before}
        code = keep_receipt(workspace, question="month for others", asked=asked, answer=answer)
    else:
        answer = month_answer(workspace, month=month, facility=facility, unit=unit)
        code = keep_receipt(workspace, question="month", asked=asked, answer=answer)
        answer = replace(answer, cautions=(own_page_words(), *answer.cautions))
    page = build_unit_page(workspace, answer, month=month, facility=facility, unit=unit, today=today)
    write_whole(out, print_unit_page(replace(page, kept=receipt_words(code)), paper=size))


def print_charter(
    workspace: Workspace, *, out: Path, paper: str = "a4", version: int | None = None, for_others: bool = True,
    today: date | None = None,
) -> None:  # fmt: skip
    """Writes the charter in force, or the version named, to ``out``, with the bench of the last twelve months.

    ``for_others`` leaves the bench's counts out where they are small or would give small ones away. Errors as for
    ``print_unit``; an unknown version is a ``CharterProblem``.
    """
    size = paper_size(paper)
    found = current_charter(workspace) if version is None else get_charter(workspace, version)
    write_whole(
        out, print_charter_page(build_charter_page(workspace, found, for_others=for_others, today=today), paper=size)
    )


def paper_size(paper: str) -> PaperSize:
    """The size of that name; ``RequestProblem`` with the choices otherwise."""
    try:
        return PaperSize(paper.casefold())
    except ValueError:
        raise RequestProblem(
            _("'{paper}' is no paper that Cubital knows.").format(paper=paper),
            fix=_("Choose one of: {choices}.").format(choices=", ".join(PaperSize)),
        ) from None


def build_unit_page(
    workspace: Workspace,
    answer: Answer,
    *,
    month: str,
    facility: str | None = None,
    unit: str | None = None,
    today: date | None = None,
) -> UnitPage:
    """The page around an answer that was made already."""
    day = today or datetime.now(UTC).date()
    charter = current_charter(workspace)
    signed = _("signed") if charter.signatures else _("not signed")
    return UnitPage(
        answer=answer,
        place=place_words(workspace, facility=facility, unit=unit),
        month=month,
        counted=_("Counted by {charter}, {signed}").format(charter=counted_words(charter.charter), signed=signed),
        definition=definition_words(charter.charter, list_title=_list_title(charter.charter)),
        highlights=choose_highlights(
            answer,
            policy_lines(workspace, day),
            late_minutes=policy_limits(current_policy(workspace)).very_late_minutes,
        ),
        made_on=day,
    )


def build_charter_page(
    workspace: Workspace, found: CharterVersion, *, for_others: bool = True, today: date | None = None
) -> CharterPage:
    """The page of one version; where there are data, with the definitions counted on the last twelve months."""
    bench = charter_bench_lines(workspace, version=found.version, for_others=for_others)
    months, scope, kept = bench.months, "", ""
    if months:
        first, last = (month_words(month, with_year=True) for month in (months[0], months[-1]))
        scope = first if first == last else _("{first} to {last}").format(first=first, last=last)
        kept = _keep_bench(workspace, bench, version=found.version, for_others=for_others)
    return CharterPage(
        charter=found.charter,
        list_title=_list_title(found.charter),
        made_on=today or datetime.now(UTC).date(),
        signatures=found.signatures,
        bench=bench.lines,
        bench_scope=scope,
        kept=kept,
    )


@dataclass(frozen=True, kw_only=True)
class BenchFound:
    """The lines of a charter's page over ``months``. ``left_before`` is the last table that had left before them."""

    lines: tuple[BenchLine, ...]
    months: tuple[str, ...]
    left_before: int


def charter_bench_lines(workspace: Workspace, *, version: int, for_others: bool) -> BenchFound:
    """The definitions on the last twelve months beside the charter ``version``; no lines where there are no data."""
    from cubital.workspace.guarded_bench import bench_for_others, left_before_bench

    found = get_charter(workspace, version)
    months = list_places(workspace).months[-BENCH_MONTHS:]
    lines = charter_bench(workspace, found.charter, first=months[0], last=months[-1]) if months else ()
    if months and for_others:
        before = last_left_number(workspace)
        lines = bench_for_others(workspace, found, lines, months=months)
        return BenchFound(lines=lines, months=months, left_before=left_before_bench(workspace, before, months=months))
    return BenchFound(lines=lines, months=months, left_before=0)


def _keep_bench(workspace: Workspace, bench: BenchFound, *, version: int, for_others: bool) -> str:
    from cubital.workspace.left_answers import charter_bench_as_answer, workspace_receipt

    answer = charter_bench_as_answer(bench.lines, months=bench.months, receipt=workspace_receipt(workspace))
    asked = {"version": version, "for_others": for_others, "left_before": bench.left_before}
    return receipt_words(keep_receipt(workspace, question="charter bench", asked=asked, answer=answer))


def charter_bench(workspace: Workspace, charter: Charter, *, first: str, last: str) -> tuple[BenchLine, ...]:
    """The charter and the four main published definitions over the same months and the same people."""
    published = published_charters()
    others = [with_population(published[key], charter.population) for key in MAIN_KEYS]
    known = any(other.fingerprint() == charter.fingerprint() for other in others)
    compared = others if known else [charter, *others]
    scope = Scope(from_month=first, to_month=last)
    with open_snapshot(workspace) as session:
        bench: Bench = build_bench([judge_definition(session, one, scope=scope) for one in compared])
    return tuple(
        BenchLine(
            name=line.name,
            numerator=line.numerator,
            denominator=line.denominator,
            rate=line.rate,
            is_this=one.fingerprint() == charter.fingerprint(),
        )
        for one, line in zip(compared, bench.definitions, strict=True)
    )


def policy_lines(workspace: Workspace, today: date) -> dict[str, float]:
    """Where local policy draws its lines, by figure; none while the policy is not approved or out of date.

    Single sets have a line only where the charter in force counts adults: children are mostly drawn once, and no page
    of ours asks for more blood from a child.
    """
    policy = current_policy(workspace)
    if policy.state(today) is not PolicyState.APPROVED:
        return {}
    values = {value.key: value.value for value in policy.values}
    wanted = {key: _POLICY_KEYS.get(key, f"{key}_target") for key in MORE_IS_BETTER}
    if current_charter(workspace).charter.population is not Population.ADULTS:
        del wanted["solitary_by_episode"]
    return {key: values[name] for key, name in wanted.items() if name in values}


def place_words(workspace: Workspace, *, facility: str | None, unit: str | None) -> str:
    """``Marrowby General · Emergency``, the hospital alone, or the whole network; unknown names are refused."""
    place = find_place(workspace, facility=facility, unit=unit)
    if place.facility is None:
        return _("The whole network")
    return f"{place.facility} · {place.name.removeprefix(f'{place.facility}, ')}" if place.unit else place.facility


def own_page_words() -> str:
    """What a page of the unit's own says of itself."""
    return _("The unit's own page: small counts are not hidden on it. It stays in the unit; do not pass it on.")


def _list_title(charter: Charter) -> str:
    return commensal_lists()[charter.commensal_list].title
