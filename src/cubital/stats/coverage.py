"""Which hours of the week to staff: the shifts that together cover most, found exactly."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

WEEK = 168
Values = np.ndarray[tuple[int], np.dtype[np.float64]]


@dataclass(frozen=True)
class Cover:
    """The chosen shifts by the hour of the week at which they begin (0 is Monday 00:00), in order, and what the hours
    in them are worth together."""

    starts: tuple[int, ...]
    worth: float


def best_shifts(worth: Values, *, length: int, shifts: int) -> Cover:
    """At most ``shifts`` shifts of ``length`` hours that do not overlap and whose hours are worth most.

    Parameters
    ----------
    worth
        168 values of zero or more, the first from Monday 00:00 to 01:00.
    length
        Hours of a shift, 1 to 24.
    shifts
        How many there may be, 1 up to as many as fit into a week.

    Returns
    -------
    Cover
        Fewer shifts where a further one would add nothing. Of equally good choices the one that begins earliest.

    Raises
    ------
    ValueError
        For other shapes, negative or missing values, or more shifts than fit.

    Notes
    -----
    Weighted intervals of one length on a circle, by dynamic programming. Either no shift runs past the end of the
    week, or exactly one does: that one is fixed at each of its ``length`` - 1 starts and the rest is a line.

    Examples
    --------
    >>> import numpy as np
    >>> week = np.zeros(168); week[[19, 20, 43, 44]] = 1.0
    >>> best_shifts(week, length=2, shifts=2)
    Cover(starts=(19, 43), worth=4.0)
    """
    values = np.asarray(worth, dtype=float)
    if values.shape != (WEEK,) or not np.isfinite(values).all() or (values < 0).any():
        raise ValueError("168 values of zero or more are needed")
    if not 1 <= length <= 24 or not 1 <= shifts <= WEEK // length:
        raise ValueError("shifts of 1 to 24 hours are needed, as many as fit into a week")
    best = _on_a_line(values, length, shifts, first=0, last=WEEK)
    for over in range(1, length):
        start = WEEK - length + over
        held = float(values[start:].sum() + values[:over].sum())
        rest = _on_a_line(values, length, shifts - 1, first=over, last=start) if shifts > 1 else Cover((), 0.0)
        whole = Cover(tuple(sorted((*rest.starts, start))), rest.worth + held)
        if whole.worth > best.worth + 1e-12:
            best = whole
    return best


def _on_a_line(values: Values, length: int, shifts: int, *, first: int, last: int) -> Cover:
    """The same for shifts inside the hours ``first`` to ``last``."""
    size = last - first
    sums = np.concatenate(([0.0], np.cumsum(values[first:last])))
    held = np.full(size + 1, -1.0)
    held[length:] = sums[length:] - sums[: size + 1 - length]  # worth of the shift that ends at each hour
    most = np.zeros((shifts + 1, size + 1))  # the most that so many shifts within the first hours can be worth
    for count in range(1, shifts + 1):
        shift = np.full(size + 1, -1.0)
        shift[length:] = most[count - 1, : size + 1 - length] + held[length:]
        most[count] = np.maximum.accumulate(np.maximum(most[count - 1], shift))
    return Cover(_walk_back(most, length, first=first), float(most[shifts, size]))


def _walk_back(most: np.ndarray[tuple[int, int], np.dtype[np.float64]], length: int, *, first: int) -> tuple[int, ...]:
    """The shifts behind the last value; what adds nothing is left out, because then the same value stands earlier."""
    starts: list[int] = []
    count, end = most.shape[0] - 1, most.shape[1] - 1
    while count and end:
        if most[count, end] == most[count, end - 1]:
            end -= 1
        elif most[count, end] == most[count - 1, end]:
            count -= 1
        else:
            starts.append(first + end - length)
            count, end = count - 1, end - length
    return tuple(sorted(starts))
