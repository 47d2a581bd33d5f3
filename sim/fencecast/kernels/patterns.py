"""From the steps of a walk to probabilities: of an alarm, and of every pattern of cameras that alarm and cameras that do not.

For any N50 and any correlation r, without a look rendered again. Given the crossing x and its z, cameras of different posts are
independent and those of one post comonotone (the weaker one never alarms alone), so that a product over posts stands inside the
mean over crossings and z, and the union of all patterns is the site's Pd.
"""

import math
from typing import NamedTuple

import numpy as np

from fencecast.jit import compiled, compiled_inline
from fencecast.physics.detector import normal_cdf
from fencecast.physics.discrimination import log_odds, score_of_log_odds

# Quadrature in z: equal steps over -REACH to REACH, twice as fine above FINE_ABOVE, where F(N | z) is a steep step. Error of the
# patterns of two cameras below 1e-8 up to r = 0.8, of seven below 1e-6 up to 0.9.
REACH, NODES, FINE_NODES, FINE_ABOVE = 5.5, 31, 63, 0.65
# Past these log-odds the fit of the normal score ends; a look is classified less often than one time in 3e9.
_MOST_LOG_ODDS = 22.0
_MOST_SCORE = 6.5
# Rows of a table per unit of the argument of Phi: cubics between values and slopes are right within 1e-8, the smaller of P and
# 1 - P within 1e-4 of itself to the far tail, so that an alarm nobody expected keeps a probability.
_ROWS_A_UNIT = 24.0
# Columns of a row: P(N_th <= N | z), its complement, its slope times the distance of two rows.
_ALARM, _SILENT, _SLOPE = range(3)


class Transfer(NamedTuple):
    """F(N | z) for one correlation, as a table in the score s = Phi^-1(P(N / N50)); made by `transfer`."""

    table: np.ndarray  # (rows, 3, nodes)
    weight: np.ndarray  # (nodes,) of the quadrature in z, adding up to 1
    rows_a_score: float


@compiled
def _fill_table(table, z, correlation, rows_a_score):
    """Rows (rows, 3, nodes) of `Transfer`, from s = -_MOST_SCORE on."""
    scale, shift = 1.0 / math.sqrt(1.0 - correlation), math.sqrt(correlation)
    for row in range(table.shape[0]):
        s = row / rows_a_score - _MOST_SCORE
        for k in range(z.size):
            x = (s - shift * z[k]) * scale
            table[row, _ALARM, k] = normal_cdf(x)
            table[row, _SILENT, k] = normal_cdf(-x)
            table[row, _SLOPE, k] = math.exp(-0.5 * x * x) / math.sqrt(2.0 * math.pi) * scale / rows_a_score


def transfer(correlation: float) -> Transfer:
    """The table of one correlation, 0 <= r < 1: F(N | z) = Phi((s - sqrt(r) z) / sqrt(1 - r)) at the nodes in z.

    Check: test_patterns.py::test_table_*.
    """
    if correlation <= 0.0:
        z, weight = np.zeros(1), np.ones(1)
    else:
        z = np.linspace(-REACH, REACH, NODES if correlation <= FINE_ABOVE else FINE_NODES)
        weight = np.exp(-0.5 * z * z)
        weight /= weight.sum()
    rows_a_score = _ROWS_A_UNIT / math.sqrt(1.0 - correlation)
    table = np.zeros((int(2.0 * _MOST_SCORE * rows_a_score) + 3, 3, z.size))
    _fill_table(table, z, float(correlation), rows_a_score)
    return Transfer(table, weight, rows_a_score)


@compiled_inline
def _place_in(cycles_ratio, rows_a_score):
    """Row of a table below N / N50, and how far it is to the next one (0-1)."""
    w = min(max(log_odds(cycles_ratio), -_MOST_LOG_ODDS), _MOST_LOG_ODDS)
    place = (score_of_log_odds(w) + _MOST_SCORE) * rows_a_score
    row = int(place)
    return row, place - row


@compiled_inline
def _fill_chances(cycles, gain, cycles_50, law, alarm, silent):
    """P and 1 - P of one camera in one crossing at every node, from its steps (16,), into alarm and silent (nodes,).

    Both are added up by themselves, because the smaller one would drown in 1 minus the larger.
    """
    left = 1.0
    for i in range(gain.size):
        left -= gain[i]
    left = max(left, 0.0)
    for k in range(law.weight.size):
        alarm[k] = 0.0
        silent[k] = left
    for i in range(gain.size):
        g = gain[i]
        if g <= 0.0:
            break
        row, f = _place_in(cycles[i] / cycles_50, law.rows_a_score)
        low, high = law.table[row], law.table[row + 1]
        end = f * f * (3.0 - 2.0 * f)
        a, b = g * (1.0 - end), g * end
        c, d = g * f * (1.0 - f) * (1.0 - f), g * f * f * (f - 1.0)
        for k in range(law.weight.size):
            bend = c * low[_SLOPE, k] + d * high[_SLOPE, k]
            alarm[k] += a * low[_ALARM, k] + b * high[_ALARM, k] + bend
            silent[k] += a * low[_SILENT, k] + b * high[_SILENT, k] - bend


@compiled_inline
def _together(seen, first, head, eps, alarm, silent, chance, hit, miss, quiet):
    """Multiply chance (nodes,) by the probability of what the cameras of one post do, `first` its first; rows as in
    `pattern_probabilities`. hit, miss, quiet: scratch (nodes,)."""
    hits, misses = 0, 0
    for d in range(first, head.size):
        if head[d] != first or seen[d] < 0:
            continue
        for k in range(chance.size):
            p, q = alarm[d, k] + eps[d] * silent[d, k], silent[d, k] * (1.0 - eps[d])
            if seen[d] > 0:
                hit[k] = min(hit[k], p) if hits > 0 else p
            else:
                miss[k] = max(miss[k], p) if misses > 0 else p
                quiet[k] = min(quiet[k], q) if misses > 0 else q
        if seen[d] > 0:
            hits += 1
        else:
            misses += 1
    for k in range(chance.size):
        if hits == 0 and misses > 0:
            chance[k] *= quiet[k]
        elif hits > 0 and misses == 0:
            chance[k] *= hit[k]
        elif hits > 0:
            chance[k] *= max(hit[k] - miss[k], 0.0)


@compiled
def pattern_probabilities(cycles, gain, head, seen, cycles_50, law, eps, out):
    """Probability of each pattern, into out (m, n).

    cycles, gain (crossings, cameras, steps): of one walk. head (cameras,): the first camera of each one's post. seen (m, cameras)
    int8: 1 alarm, 0 none, -1 not asked. cycles_50 (n,) > 0; law: Transfer; eps (cameras,): chance of an alarm that the walk did
    not cause, from 0 to 1.
    """
    crossings, cameras = cycles.shape[0], cycles.shape[1]
    nodes = law.weight.size
    alarm, silent = np.zeros((cameras, nodes)), np.ones((cameras, nodes))
    chance, hit, miss, quiet = np.zeros(nodes), np.zeros(nodes), np.zeros(nodes), np.zeros(nodes)
    for i in range(cycles_50.size):
        for pattern in range(seen.shape[0]):
            out[pattern, i] = 0.0
        for x in range(crossings):
            for c in range(cameras):
                _fill_chances(cycles[x, c], gain[x, c], cycles_50[i], law, alarm[c], silent[c])
            for pattern in range(seen.shape[0]):
                for k in range(nodes):
                    chance[k] = law.weight[k]
                for c in range(cameras):
                    if head[c] == c:
                        _together(seen[pattern], c, head, eps, alarm, silent, chance, hit, miss, quiet)
                total = 0.0
                for k in range(nodes):
                    total += chance[k]
                out[pattern, i] += total / crossings


@compiled
def silence(cycles, gain, head, cycles_50, law, out):
    """Probability that no camera alarms, into out (n,): the one pattern of `pattern_probabilities` that is asked most often."""
    crossings, cameras = cycles.shape[0], cycles.shape[1]
    nodes = law.weight.size
    alarm, silent = np.zeros(nodes), np.zeros(nodes)
    post, chance = np.zeros((cameras, nodes)), np.zeros(nodes)
    met = np.zeros(cameras, dtype=np.uint8)
    for i in range(cycles_50.size):
        out[i] = 0.0
        for x in range(crossings):
            for c in range(cameras):
                met[c] = 0
            for c in range(cameras):
                if gain[x, c, 0] <= 0.0:
                    continue
                _fill_chances(cycles[x, c], gain[x, c], cycles_50[i], law, alarm, silent)
                h = head[c]
                for k in range(nodes):
                    post[h, k] = min(post[h, k], silent[k]) if met[h] else silent[k]
                met[h] = 1
            for k in range(nodes):
                chance[k] = law.weight[k]
            for c in range(cameras):
                if met[c]:
                    for k in range(nodes):
                        chance[k] *= post[c, k]
            total = 0.0
            for k in range(nodes):
                total += chance[k]
            out[i] += total / crossings


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
