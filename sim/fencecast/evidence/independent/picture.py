"""Blurred rectangles on pixels, and the chance that enough pixels pass."""

import numpy as np
from scipy.special import ndtr


def _g(x):
    """Integral of the normal distribution function: x Phi(x) + phi(x)."""
    return x * ndtr(x) + np.exp(-0.5 * x * x) / np.sqrt(2.0 * np.pi)


def covered(edge_a, edge_b, blur, first, count):
    """Share of each of `count` pixels from `first` (n,) that the interval between two edges (n, p) covers after a
    Gaussian blur (n,): (n, p, count)."""
    a, b = np.minimum(edge_a, edge_b)[:, :, None], np.maximum(edge_a, edge_b)[:, :, None]
    sides = (first[:, None] + np.arange(count + 1))[:, None, :]
    s = blur[:, None, None]
    total = s * (_g((sides - a) / s) - _g((sides - b) / s))
    return np.maximum(np.diff(total, axis=2), 0.0)


def edge_blur(geo):
    """Left, right, top, bottom of the rectangle with four blurs around it."""
    return (
        np.minimum(geo["u_lead"], geo["u_rear"]) - 4.0 * geo["blur_x"],
        np.maximum(geo["u_lead"], geo["u_rear"]) + 4.0 * geo["blur_x"],
        np.minimum(geo["v_top"], geo["v_low"]) - 4.0 * geo["blur_y"],
        np.maximum(geo["v_top"], geo["v_low"]) + 4.0 * geo["blur_y"],
    )


def at_least(passing, wanted):
    """Probability that at least `wanted` of independent pixels (n, pixels) pass: (n,). Exact Poisson-binomial.

    The distribution up to wanted - 1 passes is built by joining pixels two by two, all terms positive."""
    if wanted <= 0:
        return np.ones(len(passing))
    out = np.ones(len(passing))
    unsure = np.flatnonzero(np.sum(passing > 1.0 - 1e-13, axis=1) < wanted)
    if len(unsure) == 0:
        return out
    some = passing[unsure]
    poly = np.zeros((len(unsure), some.shape[1], wanted))
    poly[:, :, 0] = 1.0 - some
    if wanted > 1:
        poly[:, :, 1] = some
    while poly.shape[1] > 1:
        if poly.shape[1] % 2:
            none = np.zeros((len(unsure), 1, wanted))
            none[:, :, 0] = 1.0
            poly = np.concatenate([poly, none], axis=1)
        a, b = poly[:, 0::2], poly[:, 1::2]
        poly = np.zeros_like(a)
        for i in range(wanted):
            for j in range(wanted - i):
                poly[:, :, i + j] += a[:, :, i] * b[:, :, j]
    out[unsure] = np.clip(1.0 - np.sum(poly[:, 0, :], axis=1), 0.0, 1.0)
    return out
