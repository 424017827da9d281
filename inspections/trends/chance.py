"""What may be read out of counts, and what is chance: every statistical formula of the trends.

Plain numbers in, plain numbers out; no database and no third-party package. Intervals are 95 %. Each function names its
source; the tests set each beside SciPy or a published worked example.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from math import erfc, exp, inf, lgamma, log, log1p, sqrt

Z_95 = 1.959963984540054  # the standard normal's 97.5 % point


@dataclass(frozen=True)
class Share:
    """`count` out of `of`, with the interval in which the true share lies in 95 of 100 such samples."""

    count: int
    of: int
    share: float
    low: float
    high: float


@dataclass(frozen=True)
class Estimate:
    """A number with its 95 % interval."""

    value: float
    low: float
    high: float

    @property
    def leaves_out_one(self) -> bool:
        return self.low > 1 or self.high < 1


# --- one share ----------------------------------------------------------------------------------------------------


def wilson_share(count: int, of: int) -> Share | None:
    """The share with its 95 % score interval, or None of nothing.

    Unlike the plain formula it stays between 0 and 1 and tells something about 0 of 5 too.
    Raises ValueError unless 0 <= count <= of.
    Source: E. B. Wilson, Journal of the American Statistical Association 22 (1927), 209-212, without continuity
    correction.
    """
    if not 0 <= count <= of:
        raise ValueError(f"{count} of {of} is no share")
    if of == 0:
        return None
    share = count / of
    shrink = 1 + Z_95**2 / of
    middle = (share + Z_95**2 / (2 * of)) / shrink
    half_width = Z_95 * sqrt(share * (1 - share) / of + Z_95**2 / (4 * of**2)) / shrink
    return Share(count, of, share, max(0.0, middle - half_width), min(1.0, middle + half_width))


# --- two shares, and shares over time ------------------------------------------------------------------------------


def difference(count: int, of: int, count_before: int, of_before: int) -> Estimate:
    """The first share less the second, with an interval made of the two score intervals.

    Raises ValueError if either share is of nothing.
    Source: R. G. Newcombe, Statistics in Medicine 17 (1998), 873-890, method 10.
    """
    now, before = wilson_share(count, of), wilson_share(count_before, of_before)
    if now is None or before is None:
        raise ValueError("a share of nothing has no difference")
    gap = now.share - before.share
    below = sqrt((now.share - now.low) ** 2 + (before.high - before.share) ** 2)
    above = sqrt((now.high - now.share) ** 2 + (before.share - before.low) ** 2)
    return Estimate(gap, gap - below, gap + above)


def fisher_exact(a: int, b: int, c: int, d: int, *, enough: float = 1.0) -> float:
    """Two-sided p of the table [[a, b], [c, d]]: all tables with the same margins that are no likelier than this one.

    Of a p above `enough` only that is told: the sum is broken off there. Who looks at thousands of tables and shows
    those below loses nothing by it, also after the allowance for many, which makes no p smaller.

    Source: R. A. Fisher, Statistical Methods for Research Workers, 5th edition (1934), section 21.02; two-sided as R
    and SciPy have it, with their tolerance of 1e-7 for ties.
    """
    row, column, total = a + b, a + c, a + b + c + d
    low, high = max(0, row + column - total), min(row, column)
    all_tables = _log_choose(total, row)

    def log_chance(x: int) -> float:
        return _log_choose(column, x) + _log_choose(total - column, row - x) - all_tables

    limit = log_chance(a) + 1e-7
    mode = (row + 1) * (column + 1) // (total + 2)
    if log_chance(mode) <= limit:
        return 1.0

    def tail(x: int, step: int) -> float:
        """The chance of x and of all beyond it, each from the one before, as far as they add anything."""
        here, kept = exp(log_chance(x)), 0.0
        while low <= x <= high and here > kept * 1e-13 and kept <= enough:
            kept += here
            if step == 1:
                here *= (column - x) * (row - x) / ((x + 1) * (total - column - row + x + 1))
            else:
                here *= x * (total - column - row + x) / ((column - x + 1) * (row - x + 1))
            x += step
        return kept

    # Away from the mode tables only grow less likely: on this side it begins here, on the other it is looked for.
    step = 1 if a > mode else -1
    this_side = tail(a, step)
    near, far = mode, low if step == 1 else high
    if this_side > enough or log_chance(far) > limit:
        return min(1.0, this_side)
    while abs(far - near) > 1:
        middle = (near + far) // 2
        if log_chance(middle) <= limit:
            far = middle
        else:
            near = middle
    return min(1.0, this_side + tail(far, -step))


def trend_test(counts: Sequence[int], ofs: Sequence[int], scores: Sequence[float] | None = None) -> tuple[float, float]:
    """Cochran-Armitage: whether a share rises or falls along equally spaced periods. Returns (z, two-sided p).

    z above zero means rising. (0, 1) where nothing can be told: one period, or a share of none or all.
    Source: P. Armitage, Biometrics 11 (1955), 375-386; W. G. Cochran, Biometrics 10 (1954), 417-451.
    """
    scores = list(scores) if scores is not None else list(range(len(counts)))
    total, noticed = sum(ofs), sum(counts)
    if not total or not 0 < noticed < total:
        return 0.0, 1.0
    share = noticed / total
    middle = sum(score * of for score, of in zip(scores, ofs, strict=True)) / total
    spread = sum(of * (score - middle) ** 2 for score, of in zip(scores, ofs, strict=True))
    if spread == 0:
        return 0.0, 1.0
    lean = sum((score - middle) * count for score, count in zip(scores, counts, strict=True))
    z = lean / sqrt(share * (1 - share) * spread)
    return z, two_sided(z)


def benjamini_hochberg(ps: Sequence[float]) -> list[float]:
    """For each p the smallest false discovery rate at which it would be called a discovery, in the given order.

    Source: Y. Benjamini, Y. Hochberg, Journal of the Royal Statistical Society B 57 (1995), 289-300.
    """
    order = sorted(range(len(ps)), key=lambda place: ps[place], reverse=True)
    adjusted, least = [0.0] * len(ps), 1.0
    for back, place in enumerate(order):
        least = min(least, ps[place] * len(ps) / (len(ps) - back))
        adjusted[place] = least
    return adjusted


def two_sided(z: float) -> float:
    """How often a standard normal lies at least this far from zero."""
    return erfc(abs(z) / sqrt(2))


# --- what occurs together -----------------------------------------------------------------------------------------


def odds_ratio(both: int, one: int, other: int, neither: int) -> Estimate:
    """Odds of the one where the other is, over its odds where the other is not.

    A zero cell adds one half to all four. Source: B. Woolf, Annals of Human Genetics 19 (1955), 251-253; the half:
    J. B. S. Haldane, ibid. 20 (1956), 309-311.
    """
    cells = [float(cell) for cell in (both, one, other, neither)]
    if 0 in cells:
        cells = [cell + 0.5 for cell in cells]
    middle = log(cells[0] * cells[3] / (cells[1] * cells[2]))
    half_width = Z_95 * sqrt(sum(1 / cell for cell in cells))
    return Estimate(exp(middle), exp(middle - half_width), exp(middle + half_width))


def lift(both: int, one: int, other: int, neither: int) -> Estimate:
    """How many times as often two things occur together as they would if neither cared for the other.

    The interval is the delta method on its logarithm, for one multinomial sample. `both` must be above zero.
    Raises ValueError otherwise. Source: definition; delta method, A. Agresti, Categorical Data Analysis, section 14.1.
    """
    total = both + one + other + neither
    if both <= 0:
        raise ValueError("what never occurs together has no lift with an interval")
    p_both, p_first, p_second = both / total, (both + one) / total, (both + other) / total
    slopes = (
        (p_both, 1 / p_both - 1 / p_first - 1 / p_second),
        (one / total, -1 / p_first),
        (other / total, -1 / p_second),
    )
    mean = sum(p * slope for p, slope in slopes)
    variance = max(0.0, sum(p * slope**2 for p, slope in slopes) - mean**2) / total
    middle = log(p_both / (p_first * p_second))
    half_width = Z_95 * sqrt(variance)
    return Estimate(exp(middle), exp(middle - half_width), exp(middle + half_width))


# --- ranking groups of different size -----------------------------------------------------------------------------


@dataclass(frozen=True)
class Prior:
    """What the groups have in common: a beta distribution of their true shares. `alpha + beta` acts like visits."""

    alpha: float
    beta: float

    @property
    def mean(self) -> float:
        return self.alpha / (self.alpha + self.beta)

    @property
    def weight(self) -> float:
        return self.alpha + self.beta

    def shrunk(self, count: int, of: int) -> Estimate:
        """The share of a group in the light of all groups, with the middle 95 % of what it may be."""
        alpha, beta = self.alpha + count, self.beta + of - count
        mean = alpha / (alpha + beta)
        half_width = Z_95 * sqrt(mean * (1 - mean) / (alpha + beta + 1))  # where the search for the two ends begins
        low = beta_quantile(0.025, alpha, beta, mean - half_width)
        return Estimate(mean, low, beta_quantile(0.975, alpha, beta, mean + half_width))


STEPS = 17  # each narrows a search to 62 % of what it was
ROUNDS = 3
MOST_WEIGHT = 10_000.0  # groups that do not differ at all would make the prior's weight endless


def fit_prior(groups: Sequence[tuple[int, int]]) -> Prior | None:
    """The beta distribution under which the counts of the groups, (count, of), are likeliest; None of no visits.

    Maximum likelihood of the beta-binomial, by golden section in turns along the weight (on its logarithm) and along
    the mean: the two hardly depend on each other, so few rounds do.
    Source: B. Efron, C. Morris, Journal of the American Statistical Association 70 (1975), 311-319 (the idea);
    J. G. Skellam, Journal of the Royal Statistical Society B 10 (1948), 257-261 (the distribution).
    """
    groups = [(count, of) for count, of in groups if of]
    if not groups:
        return None
    noticed, total = sum(count for count, _ in groups), sum(of for _, of in groups)
    if noticed in (0, total) or len(groups) < 2:
        mean = (noticed + 0.5) / (total + 1)  # nothing tells how the groups differ: lean on their common share
        return Prior(mean * MOST_WEIGHT, (1 - mean) * MOST_WEIGHT)

    mean, log_weight = noticed / total, log(10)
    for _ in range(ROUNDS):
        log_weight = _highest(lambda one, mean=mean: _likelihood_at(groups, mean, exp(one)), log(0.5), log(MOST_WEIGHT))
        mean = _highest(
            lambda one, log_weight=log_weight: _likelihood_at(groups, one, exp(log_weight)), mean / 3, (mean + 2) / 3
        )
    return Prior(mean * exp(log_weight), (1 - mean) * exp(log_weight))


def _likelihood_at(groups: Sequence[tuple[int, int]], mean: float, weight: float) -> float:
    return beta_binomial_log_likelihood(groups, mean * weight, (1 - mean) * weight)


def beta_binomial_log_likelihood(groups: Iterable[tuple[int, int]], alpha: float, beta: float) -> float:
    """Of the counts of the groups, without the terms that do not depend on alpha and beta."""
    start = _log_beta(alpha, beta)
    return sum(_log_beta(alpha + count, beta + of - count) - start for count, of in groups)


# --- setting inspectors beside each other -------------------------------------------------------------------------


@dataclass(frozen=True)
class Stratum:
    """Visits to like decks: how many one inspector had and used the word in, and how many the others."""

    own_count: int
    own_of: int
    others_count: int
    others_of: int


@dataclass(frozen=True)
class Comparison:
    """One against the others on like decks. `expected` is the count if judged as the others judged such decks."""

    ratio: Estimate | None
    p: float
    count: int
    of: int
    expected: float
    left_out: int


def compare_by_strata(strata: Iterable[Stratum]) -> Comparison:
    """Mantel-Haenszel: the ratio of the two shares on like decks, with its interval, and a test of no difference.

    Strata in which one side has no visit tell nothing; `left_out` counts the own visits in them. The ratio is None
    where one side never used the word. Sources: S. Greenland, J. M. Robins, Biometrics 41 (1985), 55-68 (ratio and
    variance); N. Mantel, W. Haenszel, Journal of the National Cancer Institute 22 (1959), 719-748 (the test, here
    without continuity correction); indirect standardisation for `expected`.
    """
    upper = lower = spread = lean = variance = expected = 0.0
    count = of = left_out = 0
    for one in strata:
        if not one.own_of or not one.others_of:
            left_out += one.own_of
            continue
        total, noticed = one.own_of + one.others_of, one.own_count + one.others_count
        count, of = count + one.own_count, of + one.own_of
        expected += one.own_of * one.others_count / one.others_of
        upper += one.own_count * one.others_of / total
        lower += one.others_count * one.own_of / total
        spread += (one.own_of * one.others_of * noticed - one.own_count * one.others_count * total) / total**2
        lean += one.own_count - one.own_of * noticed / total
        if total > 1:
            variance += one.own_of * one.others_of * noticed * (total - noticed) / (total**2 * (total - 1))
    p = two_sided(lean / sqrt(variance)) if variance > 0 else 1.0
    ratio = None
    if upper > 0 and lower > 0:
        middle, half_width = log(upper / lower), Z_95 * sqrt(spread / (upper * lower))
        ratio = Estimate(exp(middle), exp(middle - half_width), exp(middle + half_width))
    return Comparison(ratio, p, count, of, expected, left_out)


@dataclass(frozen=True)
class Agreement:
    """Cohen's weighted kappa: 1 full agreement, 0 as much as chance alone would give."""

    kappa: Estimate | None
    pairs: int
    same: int


def weighted_kappa(table: Sequence[Sequence[int]]) -> Agreement:
    """Agreement of two ratings on ordered words, a step apart counting less than five. `table[i][j]`: pairs rated i, j.

    Linear weights 1 - |i - j| / (k - 1). None where all pairs stand in one cell of both margins, or there is no pair.
    Sources: J. Cohen, Psychological Bulletin 70 (1968), 213-220; the standard error for the interval: J. L. Fleiss,
    J. Cohen, B. S. Everitt, Psychological Bulletin 72 (1969), 323-327.
    """
    size = len(table)
    pairs = sum(map(sum, table))
    same = sum(table[place][place] for place in range(size))
    if not pairs:
        return Agreement(None, 0, 0)
    p = [[cell / pairs for cell in row] for row in table]
    rows = [sum(row) for row in p]
    columns = [sum(row[place] for row in p) for place in range(size)]
    cells = [(i, j) for i in range(size) for j in range(size)]
    weight = {(i, j): 1 - abs(i - j) / (size - 1) for i, j in cells}
    seen = sum(weight[i, j] * p[i][j] for i, j in cells)
    by_chance = sum(weight[i, j] * rows[i] * columns[j] for i, j in cells)
    if by_chance >= 1:
        return Agreement(None, pairs, same)
    kappa = (seen - by_chance) / (1 - by_chance)
    of_row = [sum(weight[i, j] * columns[j] for j in range(size)) for i in range(size)]
    of_column = [sum(weight[i, j] * rows[i] for i in range(size)) for j in range(size)]
    square = sum(
        p[i][j] * (weight[i, j] * (1 - by_chance) - (of_row[i] + of_column[j]) * (1 - seen)) ** 2 for i, j in cells
    )
    rest = (seen * by_chance - 2 * by_chance + seen) ** 2
    error = sqrt(max(0.0, square - rest) / pairs) / (1 - by_chance) ** 2
    return Agreement(Estimate(kappa, max(-1.0, kappa - Z_95 * error), min(1.0, kappa + Z_95 * error)), pairs, same)


# --- time until something -----------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Survival:
    """The share of which it has not yet happened just after `at`, with how many were still watched then."""

    at: float
    watched: int
    happened: int
    share: float
    low: float
    high: float


def kaplan_meier(events: Mapping[float, int], losses: Mapping[float, int]) -> list[Survival]:
    """The curve of those of which it has not yet happened: a point for each time at which it happened to some.

    `events` and `losses` count by time those to which it happened and those last seen before it did. The interval is
    Greenwood's on the log(-log) scale. Sources: E. L. Kaplan, P. Meier, Journal of the American Statistical Association
    53 (1958), 457-481; J. D. Kalbfleisch, R. L. Prentice, The Statistical Analysis of Failure Time Data, section 1.4.
    """
    watched = sum(events.values()) + sum(losses.values())
    share, spread, curve = 1.0, 0.0, []
    for at in sorted({*events, *losses}):
        happened = events.get(at, 0)
        if happened:
            share *= 1 - happened / watched
            if share > 0:
                spread += happened / (watched * (watched - happened))
                half_width = Z_95 * sqrt(spread) / log(share)
                low, high = share ** exp(-half_width), share ** exp(half_width)
            else:
                low = high = 0.0
            curve.append(Survival(at, watched, happened, share, min(low, high), max(low, high)))
        watched -= happened + losses.get(at, 0)
    return curve


def median_time(curve: Sequence[Survival]) -> float | None:
    """The first time at which it has happened to half; None if it has not within what was watched."""
    return next((point.at for point in curve if point.share <= 0.5), None)


def quantile(sorted_values: Sequence[float], share: float) -> float:
    """Between the two neighbours, in proportion. Raises ValueError of nothing.

    Source: R. J. Hyndman, Y. Fan, The American Statistician 50 (1996), 361-365, definition 7.
    """
    if not sorted_values:
        raise ValueError("a quantile of nothing")
    place = share * (len(sorted_values) - 1)
    below = int(place)
    above = min(below + 1, len(sorted_values) - 1)
    return sorted_values[below] + (place - below) * (sorted_values[above] - sorted_values[below])


# --- the beta distribution ----------------------------------------------------------------------------------------


def beta_quantile(share: float, alpha: float, beta: float, start: float = 0.5) -> float:
    """The value below which a beta variable lies with this probability, to 1e-7: Newton's steps, kept in a bracket."""
    low, high, front = 0.0, 1.0, _log_beta(alpha, beta)
    x = min(max(start, 1e-6), 1 - 1e-6)
    for _ in range(60):
        off = beta_share_below(x, alpha, beta) - share
        low, high = (x, high) if off < 0 else (low, x)
        density = exp((alpha - 1) * log(x) + (beta - 1) * log1p(-x) - front)
        step = x - off / density if density > 0 else -1.0
        nearer = step if low < step < high else (low + high) / 2
        if abs(nearer - x) < 1e-7:
            return nearer
        x = nearer
    return x


def beta_share_below(x: float, alpha: float, beta: float) -> float:
    """The regularised incomplete beta function I_x(alpha, beta), by its continued fraction (modified Lentz method).

    Source: NIST Digital Library of Mathematical Functions, 8.17.22; beyond the mean by its symmetry, 8.17.4.
    """
    if not 0 < x < 1:
        return 0.0 if x <= 0 else 1.0
    if x > (alpha + 1) / (alpha + beta + 2):
        return 1.0 - beta_share_below(1 - x, beta, alpha)
    front = exp(alpha * log(x) + beta * log1p(-x) - _log_beta(alpha, beta)) / alpha
    c = 1.0
    d = fraction = 1 / _not_zero(1 - (alpha + beta) * x / (alpha + 1))
    for m in range(1, 2000):
        change = 1.0
        for numerator in (
            m * (beta - m) * x / ((alpha + 2 * m - 1) * (alpha + 2 * m)),
            -(alpha + m) * (alpha + beta + m) * x / ((alpha + 2 * m) * (alpha + 2 * m + 1)),
        ):
            d = 1 / _not_zero(1 + numerator * d)
            c = _not_zero(1 + numerator / c)
            change = c * d
            fraction *= change
        if abs(change - 1) < 1e-12:
            break
    return front * fraction


def _not_zero(value: float) -> float:
    return value if abs(value) > 1e-300 else 1e-300


def _log_beta(alpha: float, beta: float) -> float:
    return lgamma(alpha) + lgamma(beta) - lgamma(alpha + beta)


def _log_choose(n: int, k: int) -> float:
    return lgamma(n + 1) - lgamma(k + 1) - lgamma(n - k + 1) if 0 <= k <= n else -inf


def _highest(of, low: float, high: float) -> float:
    """Where a function with one peak is highest between two ends; by golden section."""
    golden = (sqrt(5) - 1) / 2
    left, right = high - golden * (high - low), low + golden * (high - low)
    at_left, at_right = of(left), of(right)
    for _ in range(STEPS):
        if at_left < at_right:
            low, left, at_left = left, right, at_right
            right = low + golden * (high - low)
            at_right = of(right)
        else:
            high, right, at_right = right, left, at_left
            left = high - golden * (high - low)
            at_left = of(left)
    return (low + high) / 2
