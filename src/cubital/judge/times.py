"""How far the collection times of judged sets can be trusted."""

from __future__ import annotations

from collections.abc import Mapping

from cubital.domain.cultures import TimeQuality
from cubital.engine import QuerySession
from cubital.judge.preparing import judge_sql


def count_time_qualities(session: QuerySession) -> Mapping[TimeQuality, int]:
    """Sets of the population by quality of their time, under the judgement that the session holds; none are left out.

    The counts add up to the sets of ``count_process`` over the same judgement.
    """
    found = {TimeQuality(quality): int(sets) for quality, sets in session.rows(judge_sql("time_qualities"))}
    return {quality: found.get(quality, 0) for quality in TimeQuality}
