"""From pixels to a look, from looks to an alarm: enumeration, published counts, and the published resolution law."""

from __future__ import annotations

import itertools
import math

import numpy as np

from fencecast.evidence.check import Check, absolute, outside, relative, with_version
from fencecast.kernels import confirm, render
from fencecast.kernels.work import make_work
from fencecast.physics import discrimination
from fencecast.sampling.variables import SITE_VARIABLES

# Number of binary strings of length 1, 2, 3 ... with at least m ones among n neighbours: fair coins, so that a count over 2^N
# is the probability of an m-of-n alarm within N looks of p = 1/2. The On-Line Encyclopedia of Integer Sequences.
OEIS = {
    (3, 5): (  # A131283
        0, 0, 1, 5, 16, 38, 85, 185, 396, 838, 1748, 3609, 7400, 15097, 30681, 62154, 125588, 253246, 509850, 1025153,
    ),
    (4, 5): (  # A130902
        0, 0, 0, 1, 6, 16, 39, 91, 207, 463, 1014, 2188, 4671, 9888, 20786, 43435, 90302, 186934, 385547, 792642,
    ),
    (3, 4): (  # A118646
        0, 0, 1, 5, 13, 31, 71, 159, 346, 739, 1559, 3258, 6756, 13922, 28547, 58300, 118668, 240880, 487835, 986085,
    ),
}  # fmt: skip
# Runs of m in N = 10 tosses, m = 1 to 8: A050227, after Feller, An Introduction to Probability Theory and Its Applications.
FELLER_10 = (1023, 880, 520, 251, 112, 48, 20, 8)

# Worked examples with their numbers (the first a published value, not checked against the original, the others as quoted on
# public pages): m, n, looks of p = 1/2, probability, unit of its last digit. Runs of three within ten are de Moivre's (The
# Doctrine of Chances), of five within 20 Uspensky's (Introduction to Mathematical Probability, 1937), of seven within 100
# Merkel's (Probabilities of Consecutive Events in Coin Flipping, University of Cincinnati, 2011).
WORKED_RUNS = ((3, 3, 10, 65 / 128, 1e-7), (5, 5, 20, 0.2498703, 1e-7), (7, 7, 100, 0.3175204, 1e-7))
# Binary integration of radar looks: 2 of 4 raises the chance of a single look down to a chance of "approximately 0.23"
# (Richards, Fundamentals of Radar Signal Processing, 2nd ed. 2014, section 6.4).
WORKED_2_OF_4 = 0.23

# Multiples of N50 and probabilities of the night vision laboratory's static performance model (Ratches et al. 1975; published
# values, not checked against the originals).
TRANSFER_TABLE = {3.0: 1.00, 2.0: 0.95, 1.5: 0.80, 1.0: 0.50, 0.75: 0.30, 0.5: 0.10, 0.25: 0.02}


def _share(pixels, low, high, blur, ndtr):
    """Share of each pixel that a blurred interval covers, by scipy's normal distribution."""

    def ramp(x):
        return x * ndtr(x) + np.exp(-0.5 * x * x) / math.sqrt(2.0 * math.pi)

    a, b = (pixels - low) / blur, (pixels - high) / blur
    return blur * (ramp(a + 1.0 / blur) - ramp(a) - ramp(b + 1.0 / blur) + ramp(b))


def pixels_of_many() -> Check:
    """Catches a polynomial cut a degree too low, lanes folded wrongly, padding that counts."""
    ndtr = outside("scipy.special").ndtr
    random = np.random.default_rng(5)
    outcomes = np.array(list(itertools.product((0, 1), repeat=12)))
    scratch = make_work(1, 1, 1, 4, len(SITE_VARIABLES), 8).pixels
    worst = 0.0
    for case in range(100):
        wanted = 1 + case % 5
        u0, v0 = random.uniform(-0.5, 1.0, 2)
        edges = np.zeros((5, 4))
        edges[0] = edges[4] = u0, u0 + random.uniform(0.5, 2.5), v0, v0 + random.uniform(0.5, 3.5)
        contrast, blur, sigma, k = random.uniform(0.1, 0.4), random.uniform(0.4, 0.9), 0.05, random.uniform(2.0, 5.0)
        found = render.render_look(
            scratch, edges, np.array([contrast, 0.0, 0.0, 0.0]), blur, blur, (3, 4, 1.5, 2.0), 0.0, 0, 0, sigma**2, 0.0, k, wanted
        )
        across = _share(np.arange(3.0), *edges[0, :2], blur, ndtr)
        upright = _share(np.arange(4.0), *edges[0, 2:], blur, ndtr)
        near = np.outer(np.arange(4) < math.ceil(edges[0, 3] + 4.0 * blur), np.arange(3) < math.ceil(edges[0, 1] + 4.0 * blur))
        p = np.where(near, ndtr(contrast * np.outer(upright, across) / sigma - k), 0.0).ravel()
        weight = np.prod(np.where(outcomes, p, 1.0 - p), axis=1)
        worst = max(worst, abs(found[3] - weight[outcomes.sum(axis=1) >= wanted].sum()))
    return Check(
        "pixels_of_many",
        "At least 1-5 of 12 unequal pixels pass",
        worst,
        "of 1",
        2e-5,
        "32-bit pixels: 3e-7 in each chance, four times as much near the threshold",
        f"enumeration of all 4,096 outcomes ({with_version('scipy')})",
        100,
    )


def _enumerated(p, m: int, n: int, armed, outcomes) -> float:
    """P(an armed look is confirmed), by listing all outcomes of all looks."""
    weight = np.prod(np.where(outcomes, p, 1.0 - p), axis=1)
    total = np.cumsum(np.hstack([np.zeros((len(outcomes), n)), outcomes]), axis=1)
    confirmed = ((total[:, n:] - total[:, :-n] >= m) & armed).any(axis=1)
    return float(weight[confirmed].sum())


def hits_of_looks() -> Check:
    """Catches an oldest outcome kept or lost, a confirming look that must itself be a hit, earlier hits forgotten."""
    random = np.random.default_rng(6)
    outcomes = np.array(list(itertools.product((0, 1), repeat=10)))
    ours, theirs = [], []
    for n in range(1, 9):
        for m in range(1, n + 1):
            for share in (1.0, 0.4):
                p = random.random(10) ** random.choice([0.3, 1.0, 3.0])
                armed = random.random(10) < share
                ours.append(confirm.confirm_probability(p, m, n, armed))
                theirs.append(_enumerated(p, m, n, armed, outcomes))
    return Check(
        "hits_of_looks",
        "Sliding m of n, all m <= n <= 8, ten unequal looks",
        absolute(ours, theirs),
        "of 1",
        1e-13,
        "rounding",
        "enumeration of all 1,024 outcomes",
        len(ours),
    )


def published_counts() -> Check:
    """Catches a chain that agrees with an enumeration by the same hand: published tables of binary integration."""
    ours, theirs = [], []
    for (m, n), counts in OEIS.items():
        for looks, count in enumerate(counts, start=1):
            half, every = np.full(looks, 0.5), np.ones(looks, np.bool_)
            ours.append(confirm.confirm_probability(half, m, n, every) * 2.0**looks)
            theirs.append(float(count))
    for run, count in enumerate(FELLER_10, start=1):
        ours.append(confirm.confirm_probability(np.full(10, 0.5), run, run, np.ones(10, np.bool_)) * 2.0**10)
        theirs.append(float(count))
    twenty = confirm.confirm_probability(np.full(20, 0.5), 3, 5, np.ones(20, np.bool_))
    return Check(
        "published_counts",
        "3 of 5, 4 of 5, 3 of 4 in up to 20 looks, runs in 10",
        absolute(ours, theirs),
        "strings",
        1e-6,
        "whole numbers up to a million, rounding",
        "OEIS A131283, A130902, A118646, A050227 (Feller's runs)",
        len(ours),
        note=f"3 of 5 within 20 looks of p = 1/2: {twenty:.5f}",
    )


def published_examples() -> Check:
    """Catches a window or a sequence one look too short, where counts of a few looks may still agree."""
    off = []
    for m, n, looks, printed, digit in WORKED_RUNS:
        found = confirm.confirm_probability(np.full(looks, 0.5), m, n, np.ones(looks, np.bool_))
        off.append(abs(found - printed) / digit)
    every = np.ones(4, np.bool_)
    pays = outside("scipy.optimize").brentq(lambda p: confirm.confirm_probability(np.full(4, p), 2, 4, every) - p, 0.05, 0.95)
    off.append(abs(pays - WORKED_2_OF_4) / 0.01)
    return Check(
        "published_examples",
        "Runs within 10, 20, 100 looks; from where on 2 of 4 pays",
        max(off),
        "last digits",
        0.5,
        "half a unit of the last digit printed",
        "de Moivre; Uspensky 1937; Merkel 2011; binary integration of radar looks, Richards 2014, 6.4",
        len(off),
        note=f"2 of 4 pays from {pays:.4f} on",
    )


def transfer_table() -> Check:
    """Catches a wrong exponent, N50 on the wrong side of the ratio."""
    ours = [discrimination.discrimination_probability(x) for x in TRANSFER_TABLE]
    return Check(
        "transfer_table",
        "Discrimination at 0.25-3 times N50",
        absolute(ours, list(TRANSFER_TABLE.values())),
        "of 1",
        0.025,
        "half a step of the table (0.05), to which the curve was fitted",
        "transfer function of the static performance model, Ratches et al. 1975 "
        "(published values, not checked against the originals)",
        len(ours),
        note=f"at N50 {ours[3]:.3f}, at twice N50 {ours[1]:.3f}",
    )


def transfer_inverse() -> Check:
    """Catches an inverse that stops early: N_th is drawn through it."""
    brentq = outside("scipy.optimize").brentq
    shares = (1e-4, 0.02, 0.108, 0.5, 0.9, 0.945, 0.999)

    def theirs(share):
        return brentq(lambda x: x ** (2.7 + 0.7 * x) / (1.0 + x ** (2.7 + 0.7 * x)) - share, 1e-6, 20.0, xtol=1e-13, rtol=1e-13)

    return Check(
        "transfer_inverse",
        "Its inverse, 1e-4 to 0.999",
        relative([discrimination.discrimination_ratio(s) for s in shares], [theirs(s) for s in shares]),
        "relative",
        1e-9,
        "bisection to 1e-12 in the logarithm",
        f"root of x^E/(1 + x^E) = P, E = 2.7 + 0.7 x ({with_version('scipy')})",
        len(shares),
    )


CHECKS = (pixels_of_many, hits_of_looks, published_counts, published_examples, transfer_table, transfer_inverse)
