"""Alarms from sensor noise alone, without a compiled function: a review starts at once.

Tests: tests/review/test_cover.py compares it with `physics.discrimination.noise_alarms_per_day`.
"""

from __future__ import annotations

import math


def noise_alarms_a_day(pixels: int, looks_per_s: float, min_pixels: int, threshold_sigma: float, m: int, n: int) -> float:
    """Alarms a day of one camera: windows of 64 pixels, binomial tails, m of n looks; as `noise_alarms_per_day`."""
    q = 0.5 * math.erfc(threshold_sigma / math.sqrt(2.0))
    if q <= 0.0:
        return 0.0
    window = math.fsum(
        math.exp(_log_choose(64, j) + j * math.log(q) + (64 - j) * math.log1p(-q)) for j in range(min_pixels, 64 + 1)
    )
    p = min(window, 1.0)
    return pixels / 64.0 * looks_per_s * 86400.0 * math.comb(n - 1, m - 1) * p**m * (1.0 - p) ** (n - m + 1)


def _log_choose(n: int, k: int) -> float:
    return math.lgamma(n + 1.0) - math.lgamma(k + 1.0) - math.lgamma(n - k + 1.0)
