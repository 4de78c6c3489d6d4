"""How many sets show a difference between two shares."""

from __future__ import annotations

import math

from scipy.special import bdtrc, ndtri

from cubital.stats.interval import normal_quantile


def sets_per_group(first: float, second: float, *, level: float = 0.95, power: float = 0.8) -> int:
    """Sets needed in each of two equal groups to tell ``first`` from ``second``, two-sided.

    Parameters
    ----------
    first, second : shares between 0 and 1, not equal (``ValueError``).
    level : 1 minus the two-sided chance of a false finding.
    power : the chance of finding a true difference.

    Notes
    -----
    Normal approximation with the pooled share under no difference, no continuity correction (Fleiss JL, Statistical
    Methods for Rates and Proportions, chapter 4).

    Examples
    --------
    >>> sets_per_group(0.04, 0.02)
    1141
    """
    if not 0 < first < 1 or not 0 < second < 1 or first == second:
        raise ValueError("two different shares between 0 and 1 are needed")
    if not 0 < power < 1:
        raise ValueError(f"a power of {power} is not between 0 and 1")
    middle = (first + second) / 2
    alike = normal_quantile(level) * math.sqrt(2 * middle * (1 - middle))
    apart = float(ndtri(power)) * math.sqrt(first * (1 - first) + second * (1 - second))
    return math.ceil(((alike + apart) / (first - second)) ** 2)


MOST_DRAWS = 100_000  # beyond this many the two rates are as good as equal


def draws_to_tell(usual: float, raised: float, *, power: float = 0.8, chance: float = 0.05) -> int:
    """Draws of one person from which a rate of ``raised`` is told from the fixed rate ``usual`` with ``power``.

    Parameters
    ----------
    usual, raised : shares between 0 and 1, ``usual`` below ``raised`` (``ValueError``).
    power : the chance of finding the raised rate; from the number given on, every larger one has it as well, although
        whole counts make the power saw-toothed.
    chance : the one-sided chance, at most, of a false finding at ``usual``.

    Notes
    -----
    Exact binomial. ``ValueError`` where more than ``MOST_DRAWS`` would be needed.

    Examples
    --------
    >>> draws_to_tell(0.03, 0.06)
    319
    """
    if not 0 < usual < raised < 1:
        raise ValueError("a usual rate and a higher one between 0 and 1 are needed")
    spread = float(ndtri(power)) * math.sqrt(raised * (1 - raised)) - float(ndtri(chance)) * math.sqrt(
        usual * (1 - usual)
    )
    reach = math.ceil(2 * (spread / (raised - usual)) ** 2) + 100  # the saw has run out well before
    if reach > MOST_DRAWS:
        raise ValueError(f"more than {MOST_DRAWS} draws would be needed")
    short = 0
    least = 0
    for n in range(1, reach + 1):
        while bdtrc(least - 1, n, usual) > chance:  # fewer than this many are not a finding
            least += 1
        if bdtrc(least - 1, n, raised) < power:
            short = n
    return short + 1
