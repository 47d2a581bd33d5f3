"""The scrambled Sobol points against scipy's: the same net, the same variance, and nothing that remembers its neighbours."""

from __future__ import annotations

import numpy as np
import pytest
from make_sobol_directions import directions
from scipy.stats import chi2, qmc

from fencecast.sampling.sobol import (
    combine_keys,
    direction_numbers,
    hashed_unit,
    mix64,
    owen_scramble,
    reverse_bits32,
    sobol_table,
    to_unit,
)
from fencecast.sampling.variables import SITE_VARIABLES, camera_keys, key64, stratum_key, variable_keys


def key(*parts):
    return np.uint64(key64("test", *parts))


def scrambled(points, dimensions, *parts):
    """The first points of some dimensions, each scrambled by a key of its own."""
    table = sobol_table(points, max(dimensions) + 1)
    return np.array([[to_unit(np.uint64(owen_scramble(row[d], key(d, *parts)))) for d in dimensions] for row in table])


def test_direction_table_is_remade():
    """Catches a table that was edited or cut. Source: scipy's Sobol sequence (Joe & Kuo), through the script that made the file;
    and every variable has a dimension."""
    found = direction_numbers()
    assert np.array_equal(found[:, :14], directions(bits=14)[:, :14])
    assert found.shape == (40, 24)
    assert found.shape[0] >= len(SITE_VARIABLES)


@pytest.mark.parametrize("points", [1, 2, 64, 1024])
def test_unscrambled_table_is_the_same_set_as_scipys(points):
    """Catches a wrong order of direction numbers. The first 2^k points are the same set in natural and Gray order."""
    ours = sobol_table(points, 24) / 2.0**32
    theirs = qmc.Sobol(24, scramble=False, bits=32).random(points)
    assert np.array_equal(ours[np.lexsort(ours.T)], theirs[np.lexsort(theirs.T)])


def test_table_grows_without_changing():
    """Catches points that depend on how many are asked for. Metamorphic."""
    assert np.array_equal(sobol_table(1024, 24)[:64], sobol_table(64, 24))
    assert np.array_equal(sobol_table(64, 24)[:, :5], sobol_table(64, 5))


@pytest.mark.parametrize("exponent", [4, 8])
def test_each_interval_is_hit_once(exponent):
    """Catches a scramble that is not nested: any dyadic interval of size 2^-k must hold exactly one of 2^k points, in every
    dimension and for every key; also any later block of 2^k points. Definition of a (0, k, 1)-net."""
    count = 1 << exponent
    for start in (0, 3 * count):
        for seed in range(6):
            table = sobol_table(4 * count, 24)[start : start + count]
            for d in range(24):
                u = np.array([to_unit(np.uint64(owen_scramble(x, key(d, seed)))) for x in table[:, d]])
                assert np.array_equal(np.sort(np.floor(u * count)), np.arange(count))


def test_elementary_boxes_are_hit_once():
    """Catches keys or bits that break the net in two dimensions. The first two dimensions of Sobol are a (0, 2)-sequence: each
    of the boxes 2^-a x 2^-b with a + b = k holds exactly one of 2^k points, whatever the shape."""
    for seed in range(5):
        points = scrambled(256, (0, 1), seed)
        for a in range(9):
            box = np.floor(points * (2**a, 2 ** (8 - a)))
            assert len(np.unique(box, axis=0)) == 256, a


def test_bit_reversal():
    """Catches a mask that is off. Source: the binary text turned round."""
    random = np.random.default_rng(1)
    for x in [0, 1, 2**31, 2**32 - 1, *random.integers(0, 2**32, 200)]:
        assert reverse_bits32(np.uint64(x)) == int(f"{int(x):032b}"[::-1], 2)


def test_scramble_is_a_permutation_and_keeps_order_of_bits():
    """Catches a hash that loses points, or lets a low bit decide a high one. Definition of Owen's scramble: two numbers that
    share their first j bits and differ in the next do so after it too; the flips below depend on what stands above."""
    random = np.random.default_rng(2)
    for seed in range(20):
        k = key("order", seed)
        for _ in range(200):
            a = int(random.integers(0, 2**32))
            j = int(random.integers(0, 32))
            b = a ^ (1 << (31 - j)) ^ int(random.integers(0, 1 << (31 - j)) if j < 31 else 0)
            x, y = int(owen_scramble(np.uint32(a), k)), int(owen_scramble(np.uint32(b), k))
            assert (x ^ y) >> (31 - j) == 1


def test_each_bit_is_flipped_half_of_the_time_and_by_what_is_above():
    """Catches bits that the key never flips, and flips that ignore the bits above. Over 4,000 keys each of the 24 leading bits
    of a fixed number is flipped about half of the time, and the flip of bit j + 1 differs between the two values of bit j
    about half of the time: 5 binomial sd (0.04), false alarm one in 30,000 for all of them."""
    keys = [key("flip", s) for s in range(4000)]
    number = 0x5A3C96E1
    out = np.array([int(owen_scramble(np.uint32(number), k)) for k in keys])
    for j in range(24):
        bit = 31 - j
        flips = ((out ^ number) >> bit) & 1
        assert abs(flips.mean() - 0.5) < 0.04, j
        if j < 23:
            other = np.array([int(owen_scramble(np.uint32(number ^ (1 << bit)), k)) for k in keys])
            differs = ((out ^ other) >> (bit - 1)) & 1
            assert abs(differs.mean() - 0.5) < 0.04, j


@pytest.mark.parametrize("points", [16, 256])
def test_variance_is_scipys(points):
    """Catches a scramble that is a net but not random enough, whose error does not shrink. Variance of the mean over 300
    scramblings of three integrands in six dimensions (smooth, with a kink, with a step), against scipy's scrambled Sobol. The
    ratio of two variances over 300 lies within 0.70 and 1.43 for all six with one false alarm in 50."""
    dimensions = (0, 1, 2, 3, 4, 5)
    random = np.random.default_rng(3)
    integrands = (
        lambda u: np.prod(1.0 + (u - 0.5) / np.arange(1, 7), axis=1),
        lambda u: np.abs(u.sum(axis=1) - 3.0),
        lambda u: (u[:, 0] + 0.5 * u[:, 1] + 0.25 * u[:, 2] > 0.9).astype(float),
    )
    table = sobol_table(points, 6)
    ours, theirs = [], []
    for s in range(300):
        u = np.array([[to_unit(np.uint64(owen_scramble(x, key(d, "variance", s)))) for x in table[:, d]] for d in dimensions]).T
        ours.append([f(u).mean() for f in integrands])
        v = qmc.Sobol(6, scramble=True, rng=random).random(points)
        theirs.append([f(v).mean() for f in integrands])
    ratio = np.var(ours, axis=0) / np.var(theirs, axis=0)
    assert np.all((ratio > 0.70) & (ratio < 1.43)), ratio
    assert np.abs(np.mean(ours, axis=0) - np.mean(theirs, axis=0)).max() < 5.0 * np.std(theirs, axis=0).max() / np.sqrt(150)


def test_unit_is_strictly_inside():
    """Catches 0 and 1, where a normal quantile is infinite. The ends of the 32-bit and 53-bit ranges."""
    assert to_unit(np.uint64(0)) == 0.5 * 2.0**-32
    assert to_unit(np.uint64(2**32 - 1)) == 1.0 - 0.5 * 2.0**-32
    random = np.random.default_rng(4)
    draws = [hashed_unit(np.uint64(k), np.uint64(i)) for k, i in random.integers(0, 2**63, (2000, 2))]
    assert min(draws) > 0.0
    assert max(draws) < 1.0


def test_hashed_draws_are_uniform_and_unrelated():
    """Catches a hash that remembers its index or key: neighbouring crossings, neighbouring keys. Chi-squared over 64 cells of
    20,000 draws, and correlation of draws with neighbouring index and with another camera's; false alarm 1e-4 each
    (correlation 4 sd)."""
    keys = camera_keys(("C1", "C2"))
    index = np.arange(20_000, dtype=np.uint64)
    one = np.array([hashed_unit(keys[0, 0], i) for i in index])
    two = np.array([hashed_unit(keys[1, 0], i) for i in index])
    other = np.array([hashed_unit(keys[0, 1], i) for i in index])
    for draws in (one, two, other):
        counts = np.bincount((draws * 64).astype(int), minlength=64)
        assert ((counts - 312.5) ** 2 / 312.5).sum() < chi2.ppf(1.0 - 1e-4, 63)
    for a, b in ((one, two), (one, other), (one[1:], one[:-1]), (one[64:], one[:-64])):
        assert abs(np.corrcoef(a, b)[0, 1]) < 4.0 / np.sqrt(len(a))


def test_mixer_is_splitmix64():
    """Catches a constant mistyped. Source: the published generator (Steele, Lea, Flood 2014), first outputs for seed 0 (from
    memory, and remade here in Python's unbounded integers)."""
    mask, state, wanted = (1 << 64) - 1, 0, []
    for _ in range(5):
        state = (state + 0x9E3779B97F4A7C15) & mask
        z = state
        z = ((z ^ (z >> 30)) * 0xBF58476D1CE4E5B9) & mask
        z = ((z ^ (z >> 27)) * 0x94D049BB133111EB) & mask
        wanted.append(z ^ (z >> 31))
    assert wanted[0] == 0xE220A8397B1DCDAF
    states = [(k * 0x9E3779B97F4A7C15) & mask for k in range(1, 6)]
    assert [int(mix64(np.uint64(s))) & mask for s in states] == wanted


def test_keys_depend_on_names_only():
    """Catches keys that move with the place in the file, or that two different things share."""
    names = [
        (seed, section, segment, weather, purpose)
        for seed in (1, 2)
        for section in ("north", "south")
        for segment in range(4)
        for weather in ("clear", "fog")
        for purpose in ("main", "fresh")
    ]
    strata = [int(stratum_key(*name)) for name in names]
    assert len(set(strata)) == len(strata)
    assert len(set(variable_keys())) == len(SITE_VARIABLES)
    assert np.array_equal(camera_keys(("C1", "C2"))[1], camera_keys(("C9", "C2"))[1])
    a, b = np.uint64(strata[0]), np.uint64(strata[1])
    assert combine_keys(a, b) != combine_keys(b, a)


def test_names_keep_their_dimensions():
    """Catches a variable that was moved: every draw of every seed would change. The list as it was published; add at the end
    only."""
    published = (
        "position approach_angle gait speed visibility drop_radius look_phase stature clo ground_minus_air air_temperature wind "
        "clothing_emissivity rain clutter wetness relative_humidity snow bare_head_share turn pause climb direction depth_ratio"
    )
    assert SITE_VARIABLES[:24] == tuple(published.split())
