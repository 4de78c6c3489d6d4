"""How many calls one or more collectors can take: lost-call and waiting-call formulas for calls that come at random."""

from __future__ import annotations

import math
from dataclasses import dataclass


@dataclass(frozen=True)
class Queue:
    """``lost`` is the share of calls that find every collector busy and go elsewhere, ``waiting`` the share that would
    have to wait if calls waited instead (1 where the queue grows without end), ``minutes`` the mean wait of all calls
    then (infinite where it grows), ``busy`` the share of time a collector is at work when calls do not wait."""

    lost: float
    waiting: float
    minutes: float
    busy: float


def calls_and_collectors(calls_per_hour: float, *, minutes_per_call: float, collectors: int = 1) -> Queue:
    """Calls at random (Poisson) for ``collectors`` who each take ``minutes_per_call`` on average.

    Parameters
    ----------
    calls_per_hour
        Zero or more.
    minutes_per_call
        More than zero; for the waiting figures its spread is taken to be exponential.
    collectors
        One or more.

    Returns
    -------
    Queue
        Without calls nothing is lost and nobody waits.

    Raises
    ------
    ValueError
        For numbers outside these ranges.

    Notes
    -----
    With offered load a = calls × minutes / 60, the lost share is Erlang's B(c, a), by its recursion
    B(0) = 1, B(k) = a B(k-1) / (k + a B(k-1)); it holds for any spread of the minutes. The waiting share is Erlang's
    C = c B / (c - a (1 - B)) for a < c, and the mean wait C × minutes / (c - a).

    References
    ----------
    Erlang AK. Solution of some problems in the theory of probabilities of significance in automatic telephone
    exchanges. Elektroteknikeren 1917;13:5-13. Formulas from memory; checked against a simulation in the tests.

    Examples
    --------
    >>> round(calls_and_collectors(2.0, minutes_per_call=15).lost, 4)
    0.3333
    """
    if calls_per_hour < 0 or minutes_per_call <= 0 or collectors < 1 or not math.isfinite(calls_per_hour):
        raise ValueError("calls of zero or more, minutes above zero and one collector or more are needed")
    load = calls_per_hour * minutes_per_call / 60
    lost = 1.0
    for number in range(1, collectors + 1):
        lost = load * lost / (number + load * lost)
    busy = load * (1 - lost) / collectors
    if load >= collectors:
        return Queue(lost=lost, waiting=1.0, minutes=math.inf, busy=busy)
    waiting = collectors * lost / (collectors - load * (1 - lost))
    return Queue(lost=lost, waiting=waiting, minutes=waiting * minutes_per_call / (collectors - load), busy=busy)
