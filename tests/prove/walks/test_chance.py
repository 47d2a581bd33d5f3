"""Plans of walk tests: published and exact numbers, the ladder by enumeration and by scipy."""

from itertools import product

import numpy as np
import pytest
from scipy.stats import betabinom, binom

import fencecast as fc
from fencecast.errors import UsageError
from fencecast.prove.walks.chance import (
    alarms_distribution,
    chance_of,
    course,
    course_of_walks,
    expected_walks,
    fixed,
    interval,
    ladder,
    lower_limit,
    upper_limit,
)


@pytest.mark.parametrize(
    ("pd", "walks"),
    [(0.80, (14, 22, 30, 37, 44, 50)), (0.90, (29, 46, 61, 76, 89, 103)), (0.95, (59, 93, 124, 153, 181, 208))],
)
def test_fixed_plans_have_their_known_sizes(pd, walks):
    """Catches: a two-sided limit, a count off by one, rungs that are not one number of walks."""
    for misses, size in enumerate(walks):
        stops = fixed(pd, 0.95, misses)
        assert stops == (size,) * (misses + 1)
        assert chance_of(stops, pd) == pytest.approx(binom.cdf(misses, size, 1.0 - pd), abs=1e-12)


def test_fixed_plans_pass_as_often_as_the_exact_binomial_says():
    """Catches: a chance of passing that counts rungs twice."""
    plans = [fixed(0.90, 0.95, misses) for misses in (0, 1, 2, 4)]
    for true, expected in ((0.95, (0.226, 0.323, 0.406, 0.539)), (0.98, (0.557, 0.766, 0.877, 0.967))):
        assert [chance_of(stops, true) for stops in plans] == pytest.approx(expected, abs=6e-4)


@pytest.mark.parametrize(
    ("misses", "rungs", "errs"),
    [
        (0, (29,), 0.0471),
        (1, (36, 48), 0.0480),
        (2, (39, 53, 65), 0.0496),
        (3, (42, 56, 69, 81), 0.0497),
        (5, (46, 61, 74, 87, 99, 111), 0.0497),
    ],
)
def test_the_ladder_has_its_known_rungs_and_keeps_its_error_rate(misses, rungs, errs):
    """Catches: a rung too early, an error rate that is not shared out over the rungs."""
    assert ladder(0.90, 0.95, misses) == rungs
    assert chance_of(rungs, 0.90) == pytest.approx(errs, abs=6e-5)


def test_the_ladder_passes_good_fences():
    """Catches: misses counted twice, walks counted after the end."""
    stops = ladder(0.90, 0.95, 2)
    assert [chance_of(stops, true) for true in (0.95, 0.97, 0.98)] == pytest.approx((0.398, 0.715, 0.872), abs=6e-4)
    assert all(43.5 < expected_walks(stops, true) < 48.5 for true in (0.95, 0.97, 0.98))
    assert expected_walks(stops, 1.0) == 39 and expected_walks(stops, 0.0) == 3  # the third miss ends it


def test_walking_on_after_a_miss_is_no_fixed_plan():
    """Catches: the mistake that the ladder is there for."""
    assert chance_of((29, 46, 61), 0.90) == pytest.approx(0.0904, abs=5e-5)
    assert chance_of((29, 46, 61, 76, 89, 103), 0.90) == pytest.approx(0.1236, abs=5e-5)


def test_the_course_of_a_ladder_is_what_enumeration_gives():
    """Every row of alarms and misses of a short ladder, walked by hand. Catches: a wrong recursion, also for unlike walks."""
    stops, pds = (3, 5, 8), np.linspace(0.55, 0.95, 8)
    for pd in (np.full(8, 0.8), pds, pds[::-1]):
        accepted, walks = np.zeros(3), 0.0
        for row in product((True, False), repeat=8):
            chance = np.prod(np.where(row, pd, 1.0 - pd))
            misses = 0
            for n, alarm in enumerate(row, start=1):
                misses += not alarm
                passed = [k for k, stop in enumerate(stops) if stop == n and misses <= k]
                if passed or misses == 3:
                    break
            if passed:
                accepted[passed[0]] += chance
            walks += n * chance
        found = course_of_walks(stops, pd)
        np.testing.assert_allclose(found.accepted, accepted, atol=1e-14)
        assert found.expected_walks == pytest.approx(walks, abs=1e-12)
        if np.ptp(pd) == 0.0:
            np.testing.assert_allclose(course(stops, 0.8).accepted, accepted, atol=1e-14)


def test_the_ladder_as_drawn_walk_by_walk():
    """100,000 tests drawn with numpy. Catches: a recursion and an enumeration that share a mistake. 4 standard errors."""
    stops, random = (39, 53, 65), np.random.default_rng(11)
    misses = (random.random((100_000, 65)) > 0.95).cumsum(axis=1)
    passed = np.zeros(len(misses), dtype=bool)
    for k, stop in enumerate(stops):
        passed |= misses[:, stop - 1] <= k
    assert chance_of(stops, 0.95) == pytest.approx(passed.mean(), abs=4 * np.sqrt(0.24 / 100_000))


def test_walks_of_one_night_pass_too_often():
    """Catches: a beta-binomial with another correlation."""
    for alike, passes in ((0.02, 0.091), (0.05, 0.157), (0.10, 0.253)):
        assert chance_of((29,), 0.90, alike) == pytest.approx(passes, abs=6e-4)
        for stops in ((29,), (46, 46), (61, 61, 61)):
            a, b = (0.1 * (1.0 - alike) / alike, 0.9 * (1.0 - alike) / alike)
            expected = betabinom.cdf(len(stops) - 1, stops[0], a, b)
            assert chance_of(stops, 0.90, alike) == pytest.approx(expected, abs=1e-10)
    assert course((39, 53, 65), [0.9, 0.95]).chance[1] == chance_of((39, 53, 65), 0.95)


def test_a_pool_of_unlike_places_passes_no_oftener_than_one_of_its_mean():
    """Catches: a pooled claim of which unlike places would make more than the confidence allows."""
    pool = np.repeat([0.70, 0.85, 0.95, 1.0, 1.0], 6)
    assert course_of_walks((30,), pool).chance == pytest.approx(0.0326, abs=5e-5)
    assert chance_of((30,), 0.90) == pytest.approx(0.0424, abs=5e-5)
    # The ladder over the same places in any order of rounds: not above 5 % either.
    random = np.random.default_rng(5)
    for _ in range(20):
        order = np.concatenate([random.permutation([0.70, 0.85, 0.95, 1.0, 1.0]) for _ in range(13)])
        assert course_of_walks((39, 53, 65), order).chance < 0.0496


def test_limits_are_those_of_clopper_and_pearson():
    """Catches: a limit of the wrong side, one-sided for two-sided."""
    assert lower_limit(29, 0, 0.95) == pytest.approx(0.9019, abs=5e-5)
    assert interval(29, 2, 0.95) == pytest.approx((0.7723, 0.9915), abs=5e-5)
    assert interval(40, 2, 0.95) == pytest.approx((0.8308, 0.9939), abs=5e-5)
    assert [lower_limit(36, k, 0.95) for k in range(3)] == pytest.approx((0.9202, 0.8749, 0.8353), abs=5e-5)
    assert (lower_limit(5, 5, 0.95), upper_limit(5, 0, 0.95)) == (0.0, 1.0)
    low, high = lower_limit(40, 3, 0.9), upper_limit(40, 3, 0.9)
    assert binom.cdf(3, 40, 1.0 - low) == pytest.approx(0.1) and binom.sf(2, 40, 1.0 - high) == pytest.approx(0.1)


def test_alarms_of_unlike_walks():
    """Catches: a normal approximation, a sum that is off by one."""
    found = alarms_distribution([0.95] * 10 + [0.90] * 10 + [0.80] * 5)
    assert found.sum() == pytest.approx(1.0, abs=1e-14)
    assert found[25] == pytest.approx(0.068409, abs=1e-6) and found[23:].sum() == pytest.approx(0.535244, abs=1e-6)


@pytest.mark.parametrize(
    ("asked", "said"),
    [
        ({"pd": 1.0}, "pd 1 is not allowed: a number between 0 and 1; type for instance 0.9"),
        ({"confidence": 95}, "confidence 95 is not allowed: a number between 0 and 1; type for instance 0.9"),
        ({"misses": -1}, "misses -1 is not allowed: a whole number from 0 to 20; type for instance 2"),
        ({"misses": 1.5}, "misses 1.5 is not allowed: a whole number from 0 to 20; type for instance 2"),
        ({"true": [1.2]}, "true 1.2 is not allowed: a number from 0 to 1; type for instance 0.95"),
        ({"pd": 0.9999}, "pd 0.9999 at 0.95 needs more than 20,000 walks: no test on a site shows it; ask for less"),
        ({"pd": float("nan")}, "pd nan is not allowed: a number between 0 and 1; type for instance 0.9"),
    ],
)
def test_what_no_claim_can_be_made_of_is_refused(asked, said):
    with pytest.raises(UsageError) as refused:
        fc.walk_chance(**asked)
    assert str(refused.value) == said


def test_one_plan_without_misses_has_no_ladder():
    """Catches: a ladder of one rung beside the same fixed plan."""
    assert [plan.kind for plan in fc.walk_chance(misses=0).plans] == ["fixed"]
