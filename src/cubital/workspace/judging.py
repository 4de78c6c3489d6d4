"""Runs every published definition over the cultures of a workspace."""

from __future__ import annotations

from dataclasses import replace

from cubital.answers.bench import Bench, JudgedDefinition, build_bench
from cubital.domain.charter import Charter, Population, with_population
from cubital.engine import QuerySession
from cubital.judge.api import count_months, grown_verdicts
from cubital.judge.counts import Scope
from cubital.reference.charters import published_charters
from cubital.workspace.opening import Workspace
from cubital.workspace.snapshots import open_snapshot


def run_bench(
    workspace: Workspace, *, from_month: str | None = None, to_month: str | None = None, adults: bool = False
) -> Bench:
    """Every published definition over the same months (``YYYY-MM``, inclusive; none means all).

    With ``adults`` every definition counts adults, and unknown age is kept; without it each counts whom its
    publication counts. Raises ``RequestProblem`` where no file has been taken or a month is no month.
    """
    scope = Scope(from_month=from_month, to_month=to_month)
    published = published_charters().values()
    charters = [with_population(one, Population.ADULTS) if adults else one for one in published]
    same_rules: dict[str, JudgedDefinition] = {}  # several publications say the same: judged once
    with open_snapshot(workspace) as session:
        for one in charters:
            if one.fingerprint() not in same_rules:
                same_rules[one.fingerprint()] = judge_definition(session, one, scope=scope)
    return build_bench([replace(same_rules[one.fingerprint()], charter=one) for one in charters])


def judge_definition(session: QuerySession, charter: Charter, *, scope: Scope) -> JudgedDefinition:
    """One charter over the sets of a session."""
    months = count_months(session, charter, scope=scope)
    return JudgedDefinition(
        charter=charter, months=months, verdicts=grown_verdicts(session, charter, scope=scope, judge=False)
    )
