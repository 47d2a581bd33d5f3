"""The Sobol sequence and its scrambling.

One unscrambled table is shared by every stratum. A nested uniform (Owen 1995) scramble is applied on the fly by a hash, as in
Burley 2020 (Practical hash-based Owen scrambling), with a 32-bit key per variable, stratum and replicate: nothing is stored
per stratum, point i never depends on how many points are asked for, and every promise about reproducible draws follows.
The direction numbers (Joe & Kuo 2008) are in `sobol_directions.csv`, made from scipy's sequence by
`tests/statistical/make_sobol_directions.py`.
"""

from __future__ import annotations

from functools import cache
from pathlib import Path

import numpy as np

from fencecast.jit import compiled

_MASK32 = np.uint64(0xFFFFFFFF)
_TWO_POW_MINUS_32 = 2.0**-32


@cache
def direction_numbers() -> np.ndarray:
    """Direction numbers, shape (dimensions, 24), uint32: enough for 2^24 points a replicate."""
    path = Path(__file__).with_name("sobol_directions.csv")
    return np.loadtxt(path, delimiter=",", dtype=np.uint32, ndmin=2)


@cache
def sobol_table(points: int, dimensions: int) -> np.ndarray:
    """The first `points` (a power of two) unscrambled Sobol points as 32-bit fractions, shape (points, dimensions).

    Natural (not Gray code) order; the first 2^k points are the same set in both.
    """
    directions = direction_numbers()[:dimensions]
    table = np.zeros((points, dimensions), dtype=np.uint32)
    for bit in range(max(points - 1, 0).bit_length()):
        step = 1 << bit
        table[step : 2 * step] = table[:step] ^ directions[:, bit]
    return table


@compiled
def mix64(x):
    """A bijective 64-bit mixer (two multiply-xorshift rounds, the splitmix64 finaliser of Steele et al. 2014)."""
    x = (x ^ (x >> np.uint64(30))) * np.uint64(0xBF58476D1CE4E5B9)
    x = (x ^ (x >> np.uint64(27))) * np.uint64(0x94D049BB133111EB)
    return x ^ (x >> np.uint64(31))


@compiled
def combine_keys(a, b):
    """One key from two, order mattering."""
    return mix64(mix64(a + np.uint64(0x9E3779B97F4A7C15)) ^ b)


@compiled
def reverse_bits32(x):
    """The 32 bits of x in reverse order (x is a uint64 holding 32 bits; numba widens uint32 products, hence the masks)."""
    x = ((x >> np.uint64(1)) & np.uint64(0x55555555)) | ((x & np.uint64(0x55555555)) << np.uint64(1))
    x = ((x >> np.uint64(2)) & np.uint64(0x33333333)) | ((x & np.uint64(0x33333333)) << np.uint64(2))
    x = ((x >> np.uint64(4)) & np.uint64(0x0F0F0F0F)) | ((x & np.uint64(0x0F0F0F0F)) << np.uint64(4))
    x = ((x >> np.uint64(8)) & np.uint64(0x00FF00FF)) | ((x & np.uint64(0x00FF00FF)) << np.uint64(8))
    return ((x >> np.uint64(16)) | (x << np.uint64(16))) & _MASK32


@compiled
def owen_scramble(fraction, key):
    """Nested uniform scramble of one 32-bit fraction.

    On the bit-reversed number each step maps bit i by bits at or below it only (adding, or xor with an even multiple), so that
    on the fraction bit i is flipped by a hash of the more significant bits: the definition of an Owen scramble.
    """
    x = reverse_bits32(np.uint64(fraction))
    low = key & _MASK32
    high = key >> np.uint64(32)
    x = (x + low) & _MASK32
    x = x ^ ((x * np.uint64(0x6C50B47C)) & _MASK32)
    x = (x * (high | np.uint64(1))) & _MASK32
    x = x ^ ((x * np.uint64(0xB82F1E52)) & _MASK32)
    x = (x + high) & _MASK32
    x = x ^ ((x * np.uint64(0xC7AFE638)) & _MASK32)
    x = x ^ ((x * np.uint64(0x8D22F6E6)) & _MASK32)
    return reverse_bits32(x)


@compiled
def to_unit(fraction):
    """A 32-bit fraction as a number strictly inside (0, 1): the middle of its cell."""
    return (np.float64(fraction) + 0.5) * _TWO_POW_MINUS_32


@compiled
def hashed_unit(key, index):
    """An independent uniform draw in (0, 1) for one key and crossing index (hash, 53 bits)."""
    bits = mix64(key ^ mix64(np.uint64(index) + np.uint64(0x9E3779B97F4A7C15)))
    return (np.float64(bits >> np.uint64(11)) + 0.5) * 2.0**-53
