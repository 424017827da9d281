"""The score interval against SciPy's own, and against a worked example in print."""

import pytest
from scipy.stats import binomtest

from inspections.trends.intervals import wilson_share


@pytest.mark.parametrize(("count", "of"), [(0, 1), (1, 1), (0, 5), (5, 5), (3, 8), (17, 40), (81, 263), (999, 1000)])
def test_the_interval_is_the_one_that_scipy_computes(count, of):
    theirs = binomtest(count, of).proportion_ci(0.95, method="wilson")
    ours = wilson_share(count, of)
    assert (ours.low, ours.high) == pytest.approx((theirs.low, theirs.high), abs=1e-12)
    assert ours.share == count / of


def test_a_worked_example_in_print():
    """R. G. Newcombe, Statistics in Medicine 17 (1998), Table I, method 3: 81 of 263 gives 0.2553 to 0.3662."""
    ours = wilson_share(81, 263)
    assert (round(ours.low, 4), round(ours.high, 4)) == (0.2553, 0.3662)


def test_nothing_has_no_share():
    assert wilson_share(0, 0) is None


@pytest.mark.parametrize(("count", "of"), [(-1, 5), (6, 5), (1, 0)])
def test_what_is_no_share_is_refused(count, of):
    with pytest.raises(ValueError, match="no share"):
        wilson_share(count, of)


def test_the_more_visits_the_narrower_the_interval():
    widths = [one.high - one.low for one in (wilson_share(n, 3 * n) for n in (1, 5, 25, 125))]
    assert widths == sorted(widths, reverse=True)
