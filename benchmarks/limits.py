"""What this processor can do with float32 in registers, and what the kernel's pixel loop does: the limits of `against.py`.

MULTIPLY_ADDS counts the formulas of `kernels.render.two_columns` and `physics.detector.half_erf32` for one pixel, by
hand: a fused multiply-add is one, and so is an add or a multiply that stands alone. Not counted, though they take the same
pipes: the clamps (3), one absolute value, one comparison, two selections, and what the compiler makes of the square root (an
estimate and a Newton step where the processor has one). The division of Phi goes to the divider.
"""

from __future__ import annotations

import time
from functools import partial

import numpy as np

from fencecast.jit import compiled
from fencecast.kernels.render import IN_VIEW_SHARE, column_of, render_look, rows_of, two_columns
from fencecast.kernels.work import aligned_pixels
from fencecast.lanes import LANES, first, in_all

MULTIPLY_ADDS = {
    "contrast, four parts": 4,
    "covered share, four parts": 4,
    "noise: g, g^2, g^4, n^2 g^4 + clutter^2": 4,
    "|C| / sigma - k": 1,
    "Phi: square, 6 + 4 of the polynomials, times t, 1/2 added": 13,
    "sums: passed, perfect, in view": 3,
    "chances of none, one and two of a pair, 6 for two pixels": 3,
    "times the polynomial of the lane, 6 for two pixels": 3,
}
PER_PIXEL = sum(MULTIPLY_ADDS.values())
CHAIN = 16
SIZES = (256, 512, 1024, 2048)  # numbers in flight: all fit the first cache
COLUMNS_OF_BODY = 12


@compiled
def fused(x, a, b, times):
    """Chains of 16 multiply-adds, one chain a number: as many independent ones as the registers take."""
    for _ in range(times):
        for j in range(x.size):
            y = x[j]
            y = (y * a + b) * b + a
            y = (y * a + b) * b + a
            y = (y * a + b) * b + a
            y = (y * a + b) * b + a
            y = (y * a + b) * b + a
            y = (y * a + b) * b + a
            y = (y * a + b) * b + a
            x[j] = (y * a + b) * b + a


@compiled
def divided(x, a, b, times):
    """One division a number."""
    for _ in range(times):
        for j in range(x.size):
            x[j] = a / (x[j] + b)


@compiled
def rooted(x, a, b, times):
    """One number over a square root, which is how the pixel loop uses it."""
    for _ in range(times):
        for j in range(x.size):
            x[j] = a / np.sqrt(x[j] + b)


@compiled
def pixel_loop(scratch, columns, n2, clutter2, threshold, times):
    """The pixel loop alone on one block of 16 rows, shares filled beforehand; sums begin anew each time, as in a look.

    Returns a number that takes all sums together, so that none is left out.
    """
    nothing, one = np.float32(0.0), np.float32(1.0)
    thresholds, g = in_all(threshold), in_all(one)
    contrast = np.float32(2.0), one, np.float32(0.8), nothing
    together = nothing
    for _ in range(times):
        shares, contrasts = rows_of(scratch, 0, contrast)
        sums = in_all(nothing), in_all(nothing), in_all(nothing), in_all(one), in_all(nothing), in_all(nothing)
        for i in range(0, columns, 2):
            x, z = column_of(scratch, i), column_of(scratch, i + 1)
            sums = two_columns(x, z, shares, contrasts, g, g, n2, clutter2, thresholds, IN_VIEW_SHARE, sums)
        together += first(sums[0] + sums[1] + sums[2] + sums[3] + sums[4] + sums[5])
    return together


def fastest(work, seconds: float) -> float:
    """The best rate [1/s] of repeats inside work(times), each a millisecond or more, tried for `seconds`."""
    times, best, start = 1, 0.0, time.perf_counter()
    while not best or time.perf_counter() - start < seconds:
        before = time.perf_counter()
        work(times)
        taken = time.perf_counter() - before
        if taken < 1e-3:
            times *= 2
        else:
            best = max(best, times / taken)
    return best


def best_rate(function, work_per_number: float, seconds: float) -> float:
    """The best rate [1/s] over sizes and repeats: a limit is what the machine can do, not what it does on average."""
    best = 0.0
    for size in SIZES:
        x, a, b = np.full(size, 0.5, dtype=np.float32), np.float32(0.5), np.float32(0.25)
        function(x, a, b, 1)
        calls = fastest(partial(function, x, a, b), seconds / len(SIZES))
        best = max(best, size * work_per_number * calls)
    return best


def pixel_rate(seconds: float) -> float:
    """Pixels a second of the pixel loop alone, the best over repeats: 16 rows by 12 columns, a body of a typical size."""
    scratch = aligned_pixels()
    u, v = 40.0, 40.0  # a walking body that with its blur fills 16 rows and 12 columns
    edges = np.array([[u + 4, u + 8, v + 3, v + 5], [u + 3, u + 9, v + 5, v + 9], [u + 4, u + 8, v + 9, v + 13], [0, 0, 0, 0]])
    edges = np.vstack([edges, [u + 3, u + 9, v + 3, v + 13]])
    contrast, n2, clutter2 = np.array([2.0, 1.0, 0.8, 0.0]), 0.02, 0.001
    frame = (160, 120, 80.0, 60.0)
    render_look(scratch, edges, contrast, 0.75, 0.75, frame, 353.0, 0, 0, n2, clutter2, 5.0, 3)
    arguments = np.float32(2.0 * n2), np.float32(2.0 * clutter2), np.float32(5.0 * np.sqrt(0.5))
    pixel_loop(scratch, COLUMNS_OF_BODY, *arguments, 1)
    calls = fastest(partial(pixel_loop, scratch, COLUMNS_OF_BODY, *arguments), seconds)
    return LANES * COLUMNS_OF_BODY * calls


def limits(seconds: float) -> dict:
    """Peak multiply-adds, divisions and roots a second, and pixels a second of the pixel loop alone."""
    return {
        "multiply_adds": best_rate(fused, CHAIN, seconds),
        "divisions": best_rate(divided, 1.0, seconds),
        "roots": best_rate(rooted, 1.0, seconds),
        "pixels": pixel_rate(seconds),
    }
