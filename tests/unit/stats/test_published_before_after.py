"""Published before-and-after counts, recomputed.

The counts are those of the studies named beside them; ratios, intervals and Fisher's P were computed apart from this
project and handed over with the counts (each rounded as shown, which sets the tolerance). Ratios and P values that the
studies print themselves stand in the second table.
"""

from __future__ import annotations

import pytest
from scipy.stats import fisher_exact

from cubital.stats.exact_table import exact_table
from cubital.stats.proportions import wilson_interval
from cubital.stats.two_proportions import odds_ratio_wald, risk_ratio_score, risk_ratio_wald

# study: events and sets of either side, risk ratio (95 %), odds ratio (95 %), Fisher's P two-sided
RECOMPUTED = {
    "Self WH, Acad Emerg Med 2013;20:89-97": (
        (111, 6590, 321, 7389), (0.388, 0.313, 0.480), (0.377, 0.303, 0.469), 2.2e-20,
    ),
    "Rupp ME, Clin Infect Dis 2017;65:201-205": (
        (2, 904, 16, 904), (0.125, 0.029, 0.542), (0.123, 0.028, 0.537), 0.00125,
    ),
    "Gander RM, J Clin Microbiol 2009;47:1021-1024, west": (
        (62, 2012, 122, 1650), (0.417, 0.309, 0.562), (0.398, 0.291, 0.545), 3.1e-09,
    ),
    "the same, other places": ((62, 2012, 100, 1770), (0.545, 0.400, 0.744), (0.531, 0.384, 0.734), 1.05e-04),
    "Mimoz O, Ann Intern Med 1999": ((14, 1019, 34, 1022), (0.413, 0.223, 0.765), (0.405, 0.216, 0.759), 0.0050),
    "Suwanpimolkul G, J Infect 2008;56:354-359": (
        (34, 1068, 74, 1078), (0.464, 0.312, 0.690), (0.446, 0.295, 0.676), 1.0e-04,
    ),
    "Patton RG, J Clin Microbiol 2010;48:4501-4503": (
        (37, 2672, 30, 1061), (0.490, 0.304, 0.788), (0.483, 0.297, 0.785), 0.0039,
    ),
    "Calfee DP, J Clin Microbiol 2002;40:1660-1665": (
        (333, 12692, 413, 12859), (0.817, 0.709, 0.942), (0.812, 0.701, 0.940), 0.0053,
    ),
    "Story-Roller E, J Clin Microbiol 2016;54:3007-3009": (
        (115, 2965, 123, 3130), (0.987, 0.769, 1.266), (0.986, 0.761, 1.279), 0.947,
    ),
    "Boyce JM, Infect Control Hosp Epidemiol 2013;34:1042-1047": (
        (21, 4245, 84, 5274), (0.311, 0.193, 0.500), (0.307, 0.190, 0.496), 1.6e-07,
    ),
    "Connell 2007, positivity": ((34, 655, 14, 648), (2.403, 1.302, 4.434), (2.479, 1.318, 4.665), 0.0047),
    "Leisure 1990": ((6, 462, 7, 451), (0.837, 0.283, 2.471), (0.835, 0.278, 2.503), 0.787),
    "diversion device on wards, medRxiv": ((2, 207, 24, 464), (0.187, 0.045, 0.783), (0.179, 0.042, 0.764), 0.0081),
}  # fmt: skip

# study: counts, what is printed in it (its P or its ratio), how far rounding lets it lie
PRINTED_P = {
    "Rupp 2017, P = .001": ((2, 904, 16, 904), 0.001, 0.0005),
    "Patton 2010, P = .005": ((37, 2672, 30, 1061), 0.005, 0.0015),
    "Suwanpimolkul 2008, P < .001": ((34, 1068, 74, 1078), 0.0005, 0.0005),
    "Archibald 2006, P < .0001": ((26, 332, 11, 1003), 0.00005, 0.00005),
}
PRINTED_RATIO = {
    "Mimoz 1999, OR 0.40 (0.21 to 0.75)": ((14, 1019, 34, 1022), (0.40, 0.21, 0.75)),
    "Calfee 2002, RR 0.82 (0.71 to 0.94)": ((333, 12692, 413, 12859), (0.82, 0.71, 0.94)),
}


def three(found):
    return found.estimate, found.interval.low, found.interval.high


@pytest.mark.parametrize("study", RECOMPUTED)
def test_ratios_and_exact_p_are_the_recomputed_ones(study):
    (a, n1, b, n2), risk, odds, p = RECOMPUTED[study]
    assert three(risk_ratio_wald(a, n1, x2=b, n2=n2)) == pytest.approx(risk, abs=6e-4)
    assert three(odds_ratio_wald(a, n1, x2=b, n2=n2)) == pytest.approx(odds, abs=6e-4)
    found = exact_table(a, n1 - a, c=b, d=n2 - b).p_two_sided
    assert found == pytest.approx(p, rel=0.04)
    assert found == pytest.approx(fisher_exact([[a, n1 - a], [b, n2 - b]]).pvalue, rel=1e-6)


@pytest.mark.parametrize("study", RECOMPUTED)
def test_intervals_for_small_counts_tell_the_same_story(study):
    """Score and mid-P intervals lie on the same side of 1 as P says."""
    a, n1, b, n2 = RECOMPUTED[study][0]
    table, score = exact_table(a, n1 - a, c=b, d=n2 - b), risk_ratio_score(a, n1, x2=b, n2=n2).interval
    for span in (table.interval_midp, score):
        assert (span.low <= 1 <= span.high) is (table.p_midp_two_sided > 0.05)


@pytest.mark.parametrize("study", PRINTED_P)
def test_p_values_agree_with_print(study):
    (a, n1, b, n2), p, rounding = PRINTED_P[study]
    assert exact_table(a, n1 - a, c=b, d=n2 - b).p_two_sided == pytest.approx(p, abs=rounding)


@pytest.mark.parametrize("study", PRINTED_RATIO)
def test_ratios_agree_with_print(study):
    (a, n1, b, n2), ratio = PRINTED_RATIO[study]
    compare = odds_ratio_wald if "OR" in study else risk_ratio_wald
    assert three(compare(a, n1, x2=b, n2=n2)) == pytest.approx(ratio, abs=0.011)


def test_shares_of_a_paired_trial_have_the_recomputed_limits():
    """Rupp 2017: 0.221 % (0.061 to 0.803) and 1.770 % (1.092 to 2.856), Wilson."""
    for x, limits in ((2, (0.00061, 0.00803)), (16, (0.01092, 0.02856))):
        found = wilson_interval(x, 904)
        assert (found.low, found.high) == pytest.approx(limits, abs=6e-6)


def test_published_percentages_are_those_of_their_counts():
    """As the studies print them, rounded: Self 4.3 and 1.7; Gander 3.1, 7.4 and 5.6; Boyce 1.6 and 0.5 %."""
    printed = {
        (321, 7389): 4.3, (111, 6590): 1.7, (62, 2012): 3.1, (122, 1650): 7.4, (100, 1770): 5.6, (84, 5274): 1.6,
        (21, 4245): 0.5,
    }  # fmt: skip
    assert {counts: round(100 * counts[0] / counts[1], 1) for counts in printed} == printed
