"""Error bars, walk tests, noise alarms and quasi-random numbers against statistics libraries and published test plans."""

from __future__ import annotations

import numpy as np

from fencecast.estimate import intervals, walktest
from fencecast.evidence.check import Check, outside, relative, with_version
from fencecast.physics import discrimination
from fencecast.sampling import sobol
from fencecast.sampling.variables import SITE_VARIABLES

# Tests without a miss, with one, two ... misses that show 0.95 at 95 % confidence: Wilks's tolerance limits, as used in nuclear
# safety (Guba, Makai and Pal 2003; published values, not checked against the originals).
WILKS_95_95 = (59, 93, 124, 153, 181)


def walk_tests() -> Check:
    """Catches a two-sided limit for a one-sided one, a count that is off by one."""
    lower = outside("statsmodels.stats.proportion").proportion_confint
    wrong, count = 0, 0
    for required in (0.5, 0.8, 0.9, 0.95, 0.99):
        for confidence in (0.8, 0.9, 0.95):
            for misses in range(5):
                n = walktest.walks_needed(required, confidence, misses)
                # One-sided: the lower end of a two-sided interval with twice the tail.
                limits = [
                    lower(tests - misses, tests, alpha=2.0 * (1.0 - confidence), method="beta")[0]
                    for tests in (n, n - 1)
                    if tests > misses
                ]
                enough = limits[0] >= required - 1e-12
                fewest = len(limits) == 1 or limits[1] < required
                wrong += not (enough and fewest)
                count += 1
    return Check(
        "walk_tests",
        "Walks needed for 0.5-0.99 at 80-95 %, up to 4 misses",
        float(wrong),
        "wrong answers",
        0.0,
        "a count",
        f"Clopper-Pearson limits ({with_version('statsmodels')})",
        count,
        note=f"0.90 at 95 %: {walktest.walks_needed(0.9, 0.95)} without a miss",
    )


def walk_tests_published() -> Check:
    """Catches a rule that agrees with a library called wrongly."""
    ours = [walktest.walks_needed(0.95, 0.95, misses) for misses in range(len(WILKS_95_95))]
    wrong = sum(a != b for a, b in zip(ours, WILKS_95_95))
    allowed = max(misses for misses in range(10) if walktest.walks_needed(0.9, 0.95, misses) <= 50)
    wrong += allowed != 1
    return Check(
        "walk_tests_published",
        "Published test plans: 95 % at 95 %; 49 of 50",
        float(wrong),
        "wrong answers",
        0.0,
        "a count",
        "Wilks's limits (published values, not checked against the originals); "
        "UFGS 13721A, intrusion detection: Pd > 0.90 at 95 % is 49 of 50 tests",
        len(ours) + 1,
        note="tests for 0-4 misses: " + ", ".join(map(str, ours)),
    )


def intervals_of_means() -> Check:
    """Catches a normal quantile for Student's, a sum of squares over R for R - 1."""
    stats = outside("statsmodels.stats.weightstats").DescrStatsW
    random = np.random.default_rng(8)
    ours, theirs = [], []
    for _ in range(30):
        means = random.beta(4.0, 1.5, 8)
        for confidence in (0.8, 0.9, 0.95, 0.99):
            se = intervals.standard_error(means)
            # So many crossings that the 1/n of the rule is nothing.
            ours.append(float(intervals.half_width(se, np.array(1e15), len(means), confidence)))
            low, high = stats(means).tconfint_mean(alpha=1.0 - confidence)
            theirs.append(0.5 * (high - low))
    return Check(
        "intervals_of_means",
        "Half width over 8 scramblings, 80-99 %, without its 1/n",
        relative(ours, theirs),
        "relative",
        1e-9,
        "rounding, and the 1/n that is left",
        f"Student's interval ({with_version('statsmodels')})",
        len(ours),
    )


def noise_alarms() -> Check:
    """Catches a sum that starts one late, a lower tail for the upper."""
    stats = outside("scipy.stats")
    cases = [(wanted, k) for wanted in (1, 2, 3, 5) for k in (2.0, 3.5, 5.0, 7.0)]
    theirs = [stats.binom.sf(wanted - 1, 64, stats.norm.sf(k)) for wanted, k in cases]
    return Check(
        "noise_alarms",
        "Noise alone: at least 1-5 of 64 pixels pass 2-7 sigma",
        relative([discrimination.noise_alarm_probability(64, *case) for case in cases], theirs),
        "relative",
        1e-10,
        "rounding of logarithms, down to 1e-58",
        f"binomial tail of normal tails ({with_version('scipy')})",
        len(cases),
    )


def normal_quantile() -> Check:
    """Catches a tail that stops converging: every normal draw goes through it."""
    p = np.concatenate(
        [10.0 ** np.linspace(-300, -1, 400), np.linspace(0.11, 0.89, 101), 1.0 - 10.0 ** np.linspace(-15, -1, 100)]
    )
    theirs = outside("scipy.special").ndtri(p)
    ours = np.array([discrimination.normal_quantile(each) for each in p])
    return Check(
        "normal_quantile",
        "Normal quantile, 1e-300 to 1 - 1e-15",
        float(np.max(np.abs(ours - theirs) / np.maximum(np.abs(theirs), 1.0))),
        "of 1, or of it",
        1e-13,
        "a few roundings",
        f"ndtri ({with_version('scipy')})",
        len(p),
    )


def sobol_points() -> Check:
    """Catches a column of direction numbers that slipped: the draws would fill the cube unevenly."""
    library = outside("scipy.stats.qmc").Sobol(len(SITE_VARIABLES), scramble=False, bits=32)
    theirs = np.round(library.random(1024) * 2.0**32).astype(np.int64)
    ours = sobol.sobol_table(1024, len(SITE_VARIABLES)).astype(np.int64)

    def in_order(rows):
        return rows[np.lexsort(rows.T[::-1])]

    return Check(
        "sobol_points",
        f"First 1,024 Sobol points in {len(SITE_VARIABLES)} dimensions",
        float(np.sum(in_order(ours) != in_order(theirs))),
        "wrong numbers",
        0.0,
        "whole numbers",
        f"qmc.Sobol, Joe & Kuo's directions ({with_version('scipy')})",
        ours.size,
    )


CHECKS = (walk_tests, walk_tests_published, intervals_of_means, noise_alarms, normal_quantile, sobol_points)
