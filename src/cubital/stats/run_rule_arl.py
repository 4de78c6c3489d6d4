"""How long a chart with run rules stays quiet: exact average run lengths by a Markov chain.

Champ CW, Woodall WH, Technometrics 1987;29:393-399 (doi:10.1080/00401706.1987.10488266). Used to say what a rule costs
in false alarms before anybody adopts it.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass

import numpy as np
from scipy.special import ndtr

_EDGES = (-3.0, -2.0, -1.0, 0.0, 1.0, 2.0, 3.0)
_SHIFT = 8

Bits = tuple[bool, ...]


@dataclass(frozen=True)
class _Memory:
    """What the rules need of the past: which recent points lay beyond 2 and 1 sigma, and the run so far."""

    above2: Bits = (False, False)
    below2: Bits = (False, False)
    above1: Bits = (False, False, False, False)
    below1: Bits = (False, False, False, False)
    run: int = 0


def _seen(memory: _Memory, zone: int, rules: frozenset[int]) -> _Memory | None:
    """The memory after a point in ``zone`` (0 to 7, from below −3 to above +3 sigma), or none: a rule has fired."""
    two = (*memory.above2, zone >= 6), (*memory.below2, zone <= 1)
    one = (*memory.above1, zone >= 5), (*memory.below1, zone <= 2)
    side = 1 if zone >= 4 else -1
    run = memory.run + side if memory.run * side > 0 else side
    fired = (
        (1 in rules and zone in (0, 7))
        or (2 in rules and max(map(sum, two)) >= 2)
        or (3 in rules and max(map(sum, one)) >= 4)
        or (4 in rules and abs(run) >= _SHIFT)
    )
    if fired:
        return None
    blank = _Memory()
    return _Memory(
        above2=two[0][1:] if 2 in rules else blank.above2,
        below2=two[1][1:] if 2 in rules else blank.below2,
        above1=one[0][1:] if 3 in rules else blank.above1,
        below1=one[1][1:] if 3 in rules else blank.below1,
        run=run if 4 in rules else 0,
    )


def _chain(rules: frozenset[int]) -> tuple[list[_Memory], list[list[_Memory | None]]]:
    """Every memory that can be reached from an empty one, and where each zone leads from it."""
    states, moves = [_Memory()], []
    known = set(states)
    for state in states:  # grows while it is walked
        reached = [_seen(state, zone, rules) for zone in range(len(_EDGES) + 1)]
        moves.append(reached)
        for after in reached:
            if after is not None and after not in known:
                known.add(after)
                states.append(after)
    return states, moves


def average_run_length(rules: Collection[int], *, shift: float = 0.0) -> float:
    """Average number of points until one of ``rules`` fires, for independent normal points.

    Parameters
    ----------
    rules : some of 1 (beyond 3 sigma), 2 (two of three beyond 2 sigma on one side), 3 (four of five beyond 1 sigma on
        one side), 4 (eight in a row on one side); empty or unknown rules are a ``ValueError``.
    shift : how far the mean has moved from the centre, in sigmas.

    Examples
    --------
    >>> round(average_run_length({1}), 1)
    370.4
    """
    chosen = frozenset(rules)
    if not chosen or not chosen <= {1, 2, 3, 4}:
        raise ValueError(f"rules {sorted(chosen)}: choose among 1, 2, 3 and 4")
    states, moves = _chain(chosen)
    zones = np.diff(np.concatenate(([0.0], ndtr(np.array(_EDGES) - shift), [1.0])))
    place = {state: index for index, state in enumerate(states)}
    stay = np.zeros((len(states), len(states)))
    for index, reached in enumerate(moves):
        for zone, after in enumerate(reached):
            if after is not None:
                stay[index, place[after]] += zones[zone]
    return float(np.linalg.solve(np.eye(len(states)) - stay, np.ones(len(states)))[0])
