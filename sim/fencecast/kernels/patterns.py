"""From the steps of a walk to probabilities: of an alarm, and of every pattern of cameras that alarm and cameras that do not.

For any N50 and any correlation r, without a look rendered again. Given the crossing x and its z, cameras of different posts are
independent and those of one post comonotone (the weaker one never alarms alone), so that a product over posts stands inside the
mean over crossings and z, and the union of all patterns is the site's Pd.
"""

import math

import numpy as np

from fencecast.jit import compiled, compiled_inline
from fencecast.physics.discrimination import log_odds, score_of_log_odds

# Quadrature in z: equal steps. The integrand is a step sqrt((1 - r) / r) wide: error below 1e-7 up to r = 0.9.
NODES = 31
REACH = 5.5
# Past these log-odds the fit of the normal score ends; a look is classified less often than one time in 3e9.
_MOST_LOG_ODDS = 22.0

# Phi(-t), t from 0 to _MOST_T in cells of 1 / _CELLS, a cubic of four coefficients each (value and slope at both ends): relative
# error below 1e-6 to the far tail, so that an alarm nobody expected keeps a probability, and below 1e-9 absolute.
_CELLS = 64
_MOST_T = 10.0


def _tail_cubics() -> np.ndarray:
    t = np.arange(int(_MOST_T) * _CELLS + 1) / _CELLS
    value = np.array([0.5 * math.erfc(x * math.sqrt(0.5)) for x in t])
    slope = -np.exp(-0.5 * t * t) / math.sqrt(2.0 * math.pi) / _CELLS
    a, b, c, d = value[:-1], slope[:-1], value[1:], slope[1:]
    return np.ascontiguousarray(np.stack([a, b, 3.0 * (c - a) - 2.0 * b - d, 2.0 * (a - c) + b + d], axis=1))


_TAIL = _tail_cubics()


@compiled_inline
def lower_tail(t):
    """Phi(-t) for t >= 0; see `_TAIL` for its error. Check: test_pattern_kernels.py::test_tail_*."""
    place = min(t, _MOST_T - 1.0e-9) * _CELLS
    cell = int(place)
    f = place - cell
    row = _TAIL[cell]
    return row[0] + f * (row[1] + f * (row[2] + f * row[3]))


@compiled_inline
def _fill_chances(cycles, gain, cycles_50, correlation, z, alarm, silent):
    """P and 1 - P of one camera in one crossing at every node, from its steps (16,), into alarm and silent (nodes,).

    Both are added up by themselves, because the smaller one would drown in 1 minus the larger. True when there was a step.
    """
    nodes = z.size
    if gain[0] <= 0.0:
        return False
    left = 1.0
    for i in range(gain.size):
        left -= gain[i]
    left = max(left, 0.0)
    for k in range(nodes):
        alarm[k] = 0.0
        silent[k] = left
    scale = 1.0 / math.sqrt(1.0 - correlation)
    shift = math.sqrt(correlation) * scale
    for i in range(gain.size):
        g = gain[i]
        if g <= 0.0:
            break
        w = min(max(log_odds(cycles[i] / cycles_50), -_MOST_LOG_ODDS), _MOST_LOG_ODDS)
        score = score_of_log_odds(w) * scale
        for k in range(nodes):
            x = score - shift * z[k]
            small = g * lower_tail(abs(x))
            large = g - small
            alarm[k] += large if x > 0.0 else small
            silent[k] += small if x > 0.0 else large
    return True


@compiled_inline
def _chance_of(seen, head, eps, alarm, silent, has_steps, k):
    """Probability of one row `seen` (cameras,) of 1, 0, -1 at node k: product over posts of what its cameras do together.

    head (cameras,): first camera of each one's post; eps (cameras,): chance of an alarm that the walk did not cause.
    """
    chance = 1.0
    for c in range(head.size):
        if head[c] != c:
            continue
        hit, miss, quiet = 2.0, -1.0, 1.0
        for d in range(c, head.size):
            if head[d] != c or seen[d] < 0:
                continue
            p = alarm[d, k] if has_steps[d] else 0.0
            q = silent[d, k] if has_steps[d] else 1.0
            p, q = p + eps[d] * q, q * (1.0 - eps[d])
            if seen[d] > 0:
                hit = min(hit, p)
            else:
                miss, quiet = max(miss, p), min(quiet, q)
        if hit > 1.5:
            chance *= quiet
        elif miss < 0.0:
            chance *= hit
        else:
            chance *= max(hit - miss, 0.0)
    return chance


@compiled
def pattern_probabilities(cycles, gain, head, seen, cycles_50, correlation, eps, z, weight, out):
    """Probability of each pattern, into out (m, n, r).

    cycles, gain (crossings, cameras, steps): of one walk. seen (m, cameras) int8: 1 alarm, 0 none, -1 not asked. cycles_50 (n,)
    > 0; correlation (r,) from 0 to 0.9; eps (cameras,) from 0 to 1; z, weight (nodes,): adding up to 1.
    """
    crossings, cameras = cycles.shape[0], cycles.shape[1]
    alarm, silent = np.zeros((cameras, z.size)), np.zeros((cameras, z.size))
    has_steps = np.zeros(cameras, dtype=np.uint8)
    middle = np.zeros(1)
    certain = np.ones(1)
    for i in range(cycles_50.size):
        for j in range(correlation.size):
            r = correlation[j]
            nodes, share = (z, weight) if r > 0.0 else (middle, certain)
            for pattern in range(seen.shape[0]):
                out[pattern, i, j] = 0.0
            for x in range(crossings):
                for c in range(cameras):
                    has_steps[c] = _fill_chances(cycles[x, c], gain[x, c], cycles_50[i], r, nodes, alarm[c], silent[c])
                for pattern in range(seen.shape[0]):
                    total = 0.0
                    for k in range(nodes.size):
                        total += share[k] * _chance_of(seen[pattern], head, eps, alarm, silent, has_steps, k)
                    out[pattern, i, j] += total / crossings


@compiled
def silence(cycles, gain, head, cycles_50, correlation, z, weight, out):
    """Probability that no camera alarms, into out (n, r): the one pattern of `pattern_probabilities` that is asked most often."""
    crossings, cameras = cycles.shape[0], cycles.shape[1]
    alarm, silent = np.zeros(z.size), np.zeros(z.size)
    post, all_silent = np.zeros((cameras, z.size)), np.zeros(z.size)
    has_post = np.zeros(cameras, dtype=np.uint8)
    middle = np.zeros(1)
    certain = np.ones(1)
    for i in range(cycles_50.size):
        for j in range(correlation.size):
            r = correlation[j]
            nodes, share = (z, weight) if r > 0.0 else (middle, certain)
            out[i, j] = 0.0
            for x in range(crossings):
                has_post[:] = 0
                for c in range(cameras):
                    if _fill_chances(cycles[x, c], gain[x, c], cycles_50[i], r, nodes, alarm, silent):
                        h = head[c]
                        for k in range(nodes.size):
                            post[h, k] = min(post[h, k], silent[k]) if has_post[h] else silent[k]
                        has_post[h] = 1
                for k in range(nodes.size):
                    all_silent[k] = share[k]
                for c in range(cameras):
                    if has_post[c]:
                        for k in range(nodes.size):
                            all_silent[k] *= post[c, k]
                total = 0.0
                for k in range(nodes.size):
                    total += all_silent[k]
                out[i, j] += total / crossings


@compiled
def marginal_probabilities(cycles, gain, cycles_50, out):
    """P(alarm) of each camera by itself, whatever the correlation, into out (n, cameras): mean of sum of g F(N / N50)."""
    crossings, cameras, steps = cycles.shape
    for i in range(cycles_50.size):
        for c in range(cameras):
            total = 0.0
            for x in range(crossings):
                for s in range(steps):
                    if gain[x, c, s] <= 0.0:
                        break
                    total += gain[x, c, s] / (1.0 + math.exp(-log_odds(cycles[x, c, s] / cycles_50[i])))
            out[i, c] = total / crossings
