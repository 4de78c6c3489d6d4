"""What more blood would have found, by the shapes in which studies of yield put it: a curve, a campaign, odds, a line.

Each shape turns one volume of blood per episode into another and says how many times as many infections would be found.
They are scenarios over published numbers. They disagree, and nothing here chooses between them.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise


def found_share(volume_ml: float, *, found: Sequence[float], set_ml: float) -> float:
    """The share of infections found with so much blood, read off a curve of cumulative detection by sets.

    Parameters
    ----------
    volume_ml : mL per episode, 0 or more.
    found : share found with 1, 2, 3 ... sets, rising, each above 0 and below 1.
    set_ml : mL in one set of that series, above 0.

    Returns
    -------
    Share between 0 and the last of ``found``; beyond the last set the curve is taken as level.

    Raises
    ------
    ValueError
        The curve does not rise within 0 to 1, or a volume is negative.

    Notes
    -----
    Between two whole sets the share still *missed* falls by equal factors per mL (a constant chance per mL of finding
    what was not found yet), and so it does from nothing to the first set, where no series has looked. With the 460,
    564, 618 and 628 of 629 episodes of Lee and 20 mL in a set, 216 infections found at 22.4 mL would be 216 + 32.5 at
    36 mL. A straight line between the same counts says 32.3; a straight line between the percentages rounded to 73 and
    90 says 33.3. The form with equal factors is kept because it cannot leave 0 to 1, needs no rounded input and agrees
    with independent sets where the sets are independent.

    References
    ----------
    Lee A, Mirrett S, Reller LB, Weinstein MP. J Clin Microbiol 2007;45:3546-3548 (first series of its abstract; the
    second prints a percentage that its own counts contradict and is not used).

    Examples
    --------
    >>> lee = [460 / 629, 564 / 629, 618 / 629, 628 / 629]
    >>> round(found_share(22.4, found=lee, set_ml=20), 4)
    0.7604
    """
    steps = [0.0, *found]
    if set_ml <= 0 or volume_ml < 0 or any(not low < high < 1 for low, high in pairwise(steps)):
        raise ValueError("a curve rises within 0 to 1 over sets and volumes above zero")
    sets = volume_ml / set_ml
    if sets >= len(found):
        return found[-1]
    whole = int(sets)
    start, end = 1 - steps[whole], 1 - steps[whole + 1]
    return float(1 - start * (end / start) ** (sets - whole))


def curve_ratio(
    volumes_ml: Sequence[float], *, weights: Sequence[float], wanted_ml: float, found: Sequence[float], set_ml: float
) -> float:
    """How many times as many would be found if no episode had less than ``wanted_ml``, by the curve of ``found_share``.

    Parameters
    ----------
    volumes_ml, weights : mL per episode and how much each counts, of equal length n >= 1.
    wanted_ml : episodes with less are raised to it; the others stay as they are.

    Notes
    -----
    The curve bends, so episodes are put on it one by one and not their mean. Where no episode has any blood nothing is
    found and the ratio is infinite.

    Examples
    --------
    >>> lee = [460 / 629, 564 / 629, 618 / 629, 628 / 629]
    >>> round(216 * (curve_ratio([22.4], weights=[1], wanted_ml=36, found=lee, set_ml=20) - 1), 1)
    32.5
    """
    shares = [found_share(volume, found=found, set_ml=set_ml) for volume in volumes_ml]
    raised = max(0.0, wanted_ml)
    then = [found_share(max(volume, raised), found=found, set_ml=set_ml) for volume in volumes_ml]
    now = sum(share * weight for share, weight in zip(shares, weights, strict=True))
    return sum(share * weight for share, weight in zip(then, weights, strict=True)) / now if now else math.inf


def campaign_ratio(more_ml: float, *, before: float, after: float, raised_ml: float) -> float:
    """How many times as many, if the gain of a campaign that raised the fill by ``raised_ml`` holds for ``more_ml``.

    Parameters
    ----------
    more_ml, raised_ml : mL in the same measure (per bottle, as campaigns report it); ``raised_ml`` above 0.
    before, after : share of cultures positive before and after the campaign, above 0.

    Notes
    -----
    Equal factors per mL: (after / before) ** (more / raised). From 2.3 to 8.6 mL in a bottle and 7.39 to 8.85 %
    positive (Khare), 3.4 mL more in each of four bottles turn 216 into 216 + 22.1; a straight line says 23.0.
    Everything else that changed meanwhile is in the number too.

    References
    ----------
    Khare R et al. Clin Infect Dis 2020;70:262-268.

    Examples
    --------
    >>> round(216 * (campaign_ratio(13.6 / 4, before=0.0739, after=0.0885, raised_ml=8.6 - 2.3) - 1), 1)
    22.1
    """
    if before <= 0 or after <= 0 or raised_ml <= 0:
        raise ValueError("a campaign has shares and a rise above zero")
    return float((after / before) ** (more_ml / raised_ml))


def odds_ratio_gain(more_ml: float, *, odds_per_ml: float, positive_share: float) -> float:
    """How many times as many, if every mL multiplies the odds of a positive episode by ``odds_per_ml``.

    Parameters
    ----------
    more_ml : mL per episode.
    odds_per_ml : odds ratio for one mL, above 0.
    positive_share : share of episodes positive now, above 0 and below 1.

    Notes
    -----
    With R = odds_per_ml ** more_ml and p the share now, the share becomes pR / (1 - p + pR), so the ratio is
    R / (1 + p(R - 1)). The share matters: an odds ratio is near a ratio of shares only while positives are rare. At
    9 % and 13.6 mL more, 216 gain 28.1 at 1.01, 59.1 at 1.02 and 606.4 at 1.13 per mL.

    References
    ----------
    The conversion: Zhang J, Yu KF. JAMA 1998;280:1690-1691 (from memory).

    Examples
    --------
    >>> [round(216 * (odds_ratio_gain(13.6, odds_per_ml=o, positive_share=0.09) - 1), 1) for o in (1.01, 1.02, 1.13)]
    [28.1, 59.1, 606.4]
    """
    if odds_per_ml <= 0 or not 0 < positive_share < 1:
        raise ValueError("odds per mL are above zero, and a share of positives lies between 0 and 1")
    raised = odds_per_ml**more_ml
    return float(raised / (1 + positive_share * (raised - 1)))


def line_ratio(more_ml: float, *, share_per_ml: float) -> float:
    """How many times as many, if every mL that is short loses ``share_per_ml`` of what full bottles would find.

    Parameters
    ----------
    more_ml : mL per episode that are short, 0 or more.
    share_per_ml : share lost for one mL, 0 to 1.

    Returns
    -------
    1 / (1 - share * more); infinite where the line has reached nothing, which is a fault of the line.

    Notes
    -----
    The studies compare pairs of bottles at a few mL, and print about 3 % for one mL (Mermel and Maki: 92 % found with
    a mean of 8.7 mL, 69 % with 2.7 mL). Laid over 13.6 mL the line says that 40.8 % were lost: 216 / 0.592 - 216 is
    148.9. Gaining 3 % compound for each mL says 106.9 and is not what a line of losses means.

    References
    ----------
    Mermel LA, Maki DG. Ann Intern Med 1993;119:270-272.

    Examples
    --------
    >>> round(216 * (line_ratio(13.6, share_per_ml=0.03) - 1), 1)
    148.9
    """
    if not 0 <= share_per_ml <= 1 or more_ml < 0:
        raise ValueError("a share lost per mL lies between 0 and 1, and no volume is below zero")
    left = 1 - share_per_ml * more_ml
    return 1 / left if left > 0 else math.inf
