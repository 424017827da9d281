"""Every formula of `inspections.trends.chance` beside SciPy or a published worked example."""

from collections import Counter
from itertools import product
from math import exp, log, sqrt

import numpy
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import optimize, stats

from inspections.trends import chance
from inspections.trends.chance import Stratum

CELL = st.integers(0, 60)


@pytest.mark.parametrize(("count", "of"), [(0, 5), (1, 1), (8, 20), (15, 148), (20, 20), (81, 263), (1000, 100000)])
def test_a_share_has_the_interval_that_scipy_gives(count, of):
    ours = chance.wilson_share(count, of)
    theirs = stats.binomtest(count, of).proportion_ci(method="wilson")
    assert (ours.share, ours.low, ours.high) == pytest.approx((count / of, theirs.low, theirs.high), abs=1e-12)


@pytest.mark.parametrize(
    # R. G. Newcombe, Statistics in Medicine 17 (1998), 857-872, table I: published to four places, from memory.
    ("count", "of", "low", "high"),
    [(81, 263, 0.2553, 0.3662), (15, 148, 0.0624, 0.1605), (0, 20, 0.0, 0.1611), (1, 29, 0.0061, 0.1718)],
)
def test_a_share_has_the_interval_published_for_it(count, of, low, high):
    share = chance.wilson_share(count, of)
    assert (share.low, share.high) == pytest.approx((low, high), abs=6e-5)


def test_of_nothing_there_is_no_share():
    assert chance.wilson_share(0, 0) is None
    with pytest.raises(ValueError, match="6 of 5"):
        chance.wilson_share(6, 5)


@pytest.mark.parametrize(
    # R. G. Newcombe, Statistics in Medicine 17 (1998), 873-890, table II, method 10: from memory.
    ("now", "before", "low", "high"),
    [((56, 70), (48, 80), 0.0524, 0.3339), ((9, 10), (3, 10), 0.1705, 0.8090), ((10, 10), (0, 10), 0.6075, 1.0)],
)
def test_a_difference_has_the_interval_published_for_it(now, before, low, high):
    gap = chance.difference(*now, *before)
    assert (gap.low, gap.high) == pytest.approx((low, high), abs=6e-5)


@given(CELL, CELL, CELL, CELL)
@settings(max_examples=150, deadline=None)
def test_fishers_p_is_scipys(a, b, c, d):
    assert chance.fisher_exact(a, b, c, d) == pytest.approx(
        stats.fisher_exact([[a, b], [c, d]])[1], rel=1e-6, abs=1e-12
    )


@given(*[st.integers(0, 60)] * 4, st.sampled_from([0.01, 0.05, 0.5]))
def test_a_broken_off_fishers_p_is_exact_below_its_end_and_above_it_only_above(a, b, c, d, end):
    p, told = chance.fisher_exact(a, b, c, d), chance.fisher_exact(a, b, c, d, enough=end)
    assert told == pytest.approx(p) if p <= end else end < told <= p * (1 + 1e-9)


def test_fishers_p_is_scipys_for_a_whole_firms_visits():
    table = [[5200, 44800], [4900, 45100]]
    assert chance.fisher_exact(*table[0], *table[1]) == pytest.approx(stats.fisher_exact(table)[1], rel=1e-6)


@given(st.lists(st.tuples(st.integers(0, 12), st.integers(1, 12)), min_size=2, max_size=6))
@settings(max_examples=80, deadline=None)
def test_the_trend_is_the_correlation_of_visit_and_period(rows):
    counts, ofs = [min(count, of) for count, of in rows], [of for _, of in rows]
    z, p = chance.trend_test(counts, ofs)
    if not 0 < sum(counts) < sum(ofs):
        assert (z, p) == (0, 1)
        return
    periods = [period for period, of in enumerate(ofs) for _ in range(of)]
    noticed = [int(place < counts[period]) for period, of in enumerate(ofs) for place in range(of)]
    # With every visit a row, the statistic is r times the root of n: Agresti, Categorical Data Analysis, 5.3.5.
    r = stats.pearsonr(periods, noticed).statistic
    assert z == pytest.approx(r * sqrt(len(noticed)), abs=1e-9)
    assert p == pytest.approx(2 * stats.norm.sf(abs(z)), abs=1e-12)


@given(st.lists(st.floats(0, 1), min_size=1, max_size=40))
@settings(max_examples=80, deadline=None)
def test_many_comparisons_are_allowed_for_as_scipy_does(ps):
    assert chance.benjamini_hochberg(ps) == pytest.approx(list(stats.false_discovery_control(ps)), abs=1e-12)


@given(st.integers(1, 60), st.integers(1, 60), st.integers(1, 60), st.integers(1, 60))
@settings(max_examples=60, deadline=None)
def test_an_odds_ratio_has_scipys_interval(a, b, c, d):
    theirs = stats.contingency.odds_ratio([[a, b], [c, d]], kind="sample")
    interval = theirs.confidence_interval(0.95)
    ours = chance.odds_ratio(a, b, c, d)
    assert (ours.value, ours.low, ours.high) == pytest.approx((theirs.statistic, interval.low, interval.high), rel=1e-9)


def test_an_odds_ratio_of_an_empty_cell_is_finite():
    assert chance.odds_ratio(5, 0, 3, 9).value == pytest.approx(5.5 * 9.5 / (0.5 * 3.5))


@pytest.mark.parametrize("cells", [(12, 30, 18, 140), (3, 5, 40, 200), (50, 1, 2, 60)])
def test_a_lift_has_the_interval_of_the_delta_method_worked_numerically(cells):
    total = sum(cells)
    p = [cell / total for cell in cells]

    def log_lift(q):
        return log(q[0] / ((q[0] + q[1]) * (q[0] + q[2])))

    slopes = optimize.approx_fprime(p, log_lift, 1e-8)
    variance = (
        sum(q * s * s for q, s in zip(p, slopes, strict=True)) - sum(q * s for q, s in zip(p, slopes, strict=True)) ** 2
    ) / total
    ours = chance.lift(*cells)
    assert log(ours.high / ours.value) == pytest.approx(1.959964 * sqrt(variance), rel=1e-4)
    assert ours.value == pytest.approx(cells[0] * total / ((cells[0] + cells[1]) * (cells[0] + cells[2])))


GROUPS = {
    "unlike": [(1, 20), (9, 20), (4, 30), (30, 40), (2, 3), (0, 5), (12, 25)],
    "alike": [(10, 100), (11, 100), (9, 100), (10, 100)],
    "many": [(place % 7, 8 + place % 5) for place in range(60)],
}


@pytest.mark.parametrize("name", GROUPS)
def test_the_common_distribution_is_as_likely_as_the_best_that_scipy_finds(name):
    groups = GROUPS[name]

    def minus_log_likelihood(logs):
        alpha, beta = exp(logs[0]), exp(logs[1])
        return -sum(stats.betabinom.logpmf(count, of, alpha, beta) for count, of in groups)

    prior = chance.fit_prior(groups)
    ours = minus_log_likelihood((log(prior.alpha), log(prior.beta)))
    bounds = [(log(1e-3), log(chance.MOST_WEIGHT))] * 2
    best = min(
        (
            optimize.minimize(minus_log_likelihood, start, bounds=bounds, method="L-BFGS-B").fun
            for start in ((0, 0), (2, 3))
        ),
    )
    assert ours <= best + 2e-3


def test_three_visits_do_not_beat_three_hundred():
    prior = chance.fit_prior([(3, 3), (210, 300), (40, 200), (30, 250), (5, 60)])
    few, many = prior.shrunk(3, 3), prior.shrunk(210, 300)
    assert few.low < many.low, "all of three is less sure than 70 % of three hundred"
    assert prior.mean < few.value < 1


def test_groups_without_any_difference_are_drawn_to_their_common_share():
    prior = chance.fit_prior([(0, 5), (0, 50)])
    assert prior.shrunk(0, 5).value == pytest.approx(prior.shrunk(0, 50).value, abs=1e-3)


@given(st.floats(0.001, 0.999), st.floats(0.3, 5000), st.floats(0.3, 5000))
@settings(max_examples=150, deadline=None)
def test_a_beta_quantile_is_scipys(share, alpha, beta):
    assert chance.beta_quantile(share, alpha, beta) == pytest.approx(stats.beta.ppf(share, alpha, beta), abs=1e-6)
    assert chance.beta_share_below(0.3, alpha, beta) == pytest.approx(stats.beta.cdf(0.3, alpha, beta), abs=1e-9)


# Admissions to Berkeley, autumn 1973, six departments (P. J. Bickel, E. A. Hammel, J. W. O'Connell, Science 187 (1975),
# 398-404), as R's data set UCBAdmissions has them: admitted and rejected men, admitted and rejected women.
BERKELEY = [
    (512, 313, 89, 19), (353, 207, 17, 8), (120, 205, 202, 391), (138, 279, 131, 244), (53, 138, 94, 299),
    (22, 351, 24, 317),
]  # fmt: skip


def test_like_is_set_beside_like_as_published_for_berkeley():
    strata = [Stratum(a, a + b, c, c + d) for a, b, c, d in BERKELEY]
    # R's documentation of mantelhaen.test, without continuity correction: X-squared = 1.5246, p = 0.2169 (from memory).
    assert chance.compare_by_strata(strata).p == pytest.approx(0.2169, abs=6e-5)


def test_of_one_stratum_the_ratio_is_the_relative_risk_with_katzs_interval():
    ours = chance.compare_by_strata([Stratum(20, 60, 10, 80)]).ratio
    theirs = stats.contingency.relative_risk(20, 60, 10, 80)
    interval = theirs.confidence_interval(0.95)
    assert (ours.value, ours.low, ours.high) == pytest.approx((theirs.relative_risk, interval.low, interval.high))


def test_the_test_of_one_stratum_is_pearsons_with_n_less_one():
    table = [[20, 40], [10, 70]]
    chi2 = stats.chi2_contingency(table, correction=False).statistic * (140 - 1) / 140
    assert chance.compare_by_strata([Stratum(20, 60, 10, 80)]).p == pytest.approx(stats.chi2.sf(chi2, 1))


def test_the_ratio_over_strata_has_the_variance_of_its_own_simulation():
    strata = [Stratum(24, 80, 30, 150), Stratum(30, 60, 25, 75), Stratum(6, 50, 8, 100)]
    ours = chance.compare_by_strata(strata)
    rng = numpy.random.default_rng(7)
    logs = []
    ratio = ours.ratio.value
    for _ in range(4000):
        drawn = []
        for one in strata:
            base = (one.own_count + one.others_count) / (one.own_of * ratio + one.others_of)
            drawn.append(
                Stratum(
                    int(rng.binomial(one.own_of, base * ratio)),
                    one.own_of,
                    int(rng.binomial(one.others_of, base)),
                    one.others_of,
                )
            )
        logs.append(log(chance.compare_by_strata(drawn).ratio.value))
    assert log(ours.ratio.high / ratio) / 1.959964 == pytest.approx(numpy.std(logs), rel=0.06)


def test_what_is_expected_is_what_colleagues_did_on_like_decks():
    told = chance.compare_by_strata([Stratum(5, 10, 20, 100), Stratum(1, 10, 40, 80), Stratum(3, 4, 0, 0)])
    assert told.expected == pytest.approx(10 * 0.2 + 10 * 0.5)
    assert (told.count, told.of, told.left_out) == (6, 20, 4), "nobody else saw the third kind of deck"


def _square_kappa(table):
    """Kappa with linear weights from the definition, for the numerical slopes."""
    size, total = len(table), sum(map(sum, table))
    apart = sum(abs(i - j) * table[i][j] for i, j in product(range(size), repeat=2)) / total
    rows, columns = [sum(row) for row in table], [sum(row[j] for row in table) for j in range(size)]
    by_chance = sum(abs(i - j) * rows[i] * columns[j] for i, j in product(range(size), repeat=2)) / total**2
    return 1 - apart / by_chance


@pytest.mark.parametrize(
    "table",
    [
        [[75, 1, 4], [5, 4, 1], [0, 0, 10]],
        [[20, 5], [10, 15]],
        [[3, 1, 0, 0], [2, 8, 1, 0], [0, 3, 9, 2], [1, 0, 1, 4]],
    ],
)
def test_agreement_and_its_interval_follow_the_definition(table):
    size, total = len(table), sum(map(sum, table))
    flat = [cell / total for row in table for cell in row]

    def kappa_of(p):
        return _square_kappa([list(p[i * size : (i + 1) * size]) for i in range(size)])

    slopes = optimize.approx_fprime(flat, kappa_of, 1e-9)
    mean = sum(p * s for p, s in zip(flat, slopes, strict=True))
    error = sqrt((sum(p * s * s for p, s in zip(flat, slopes, strict=True)) - mean**2) / total)
    ours = chance.weighted_kappa(table)
    assert ours.kappa.value == pytest.approx(_square_kappa(table))
    if ours.kappa.high < 1:
        assert (ours.kappa.high - ours.kappa.value) / 1.959964 == pytest.approx(error, rel=1e-4)


def test_agreement_of_two_words_is_cohens_kappa_as_published():
    # Cohen's kappa of [[20, 5], [10, 15]]: 0.70 seen, 0.50 by chance, kappa 0.40; the example that textbooks work.
    assert chance.weighted_kappa([[20, 5], [10, 15]]).kappa.value == pytest.approx(0.40)


def test_two_who_always_use_one_word_have_no_kappa():
    told = chance.weighted_kappa([[9, 0], [0, 0]])
    assert (told.kappa, told.pairs, told.same) == (None, 9, 9)


@given(
    st.lists(st.integers(1, 30), min_size=1, max_size=30),
    st.lists(st.integers(1, 30), max_size=30),
)
@settings(max_examples=60, deadline=None)
def test_the_curve_until_repair_is_scipys_kaplan_meier(events, losses):
    ours = chance.kaplan_meier(Counter(events), Counter(losses))
    sample = stats.CensoredData(uncensored=events, right=losses)
    curve = stats.ecdf(sample).sf
    assert [point.at for point in ours] == sorted(set(events))
    for point in ours:
        assert point.share == pytest.approx(curve.evaluate(point.at), abs=1e-12)


def test_the_curve_is_the_published_one_for_leukaemia():
    # E. J. Freireich and others, Blood 21 (1963), 699-716: weeks of remission under 6-MP, the example of most textbooks
    # (Collett, Modelling Survival Data; Kleinbaum): at 6 weeks 0.857, 10 weeks 0.753, 22 weeks 0.538, 23 weeks 0.448.
    events = {6: 3, 7: 1, 10: 1, 13: 1, 16: 1, 22: 1, 23: 1}
    losses = {6: 1, 9: 1, 10: 1, 11: 1, 17: 1, 19: 1, 20: 1, 25: 1, 32: 2, 34: 1, 35: 1}
    curve = {point.at: point for point in chance.kaplan_meier(events, losses)}
    assert [round(curve[at].share, 3) for at in (6, 7, 10, 13, 16, 22, 23)] == [
        0.857,
        0.807,
        0.753,
        0.690,
        0.627,
        0.538,
        0.448,
    ]
    assert chance.median_time(list(curve.values())) == 23


def test_the_curves_interval_is_scipys():
    events, losses = [3, 5, 5, 8, 12, 20], [4, 9, 9, 21]
    interval = stats.ecdf(stats.CensoredData(uncensored=events, right=losses)).sf.confidence_interval(
        0.95, method="log-log"
    )
    for point in chance.kaplan_meier(Counter(events), Counter(losses)):
        assert point.low == pytest.approx(float(interval.low.evaluate(point.at)), abs=1e-9)
        assert point.high == pytest.approx(float(interval.high.evaluate(point.at)), abs=1e-9)


@given(st.lists(st.integers(-50, 50), min_size=1, max_size=40), st.floats(0, 1))
@settings(max_examples=40, deadline=None)
def test_a_quantile_is_numpys(values, share):
    assert chance.quantile(sorted(values), share) == pytest.approx(numpy.quantile(values, share), abs=1e-9)
