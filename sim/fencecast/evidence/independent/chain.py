"""From the hits of successive looks to a confirmed alarm: m hits in the last n looks, exactly."""

import numpy as np


def first_confirmed(hit, armed, confirm):
    """Chance that the first armed and confirmed look is look j.

    hit: (k, looks) hit probabilities of k independent cases; armed (looks,) bool; confirm (m, n). Returns (k, looks).
    States are the outcomes of the last n - 1 looks; before the first look there are no hits."""
    m, n = confirm
    states = 2 ** (n - 1)
    number = np.arange(states)
    ones = np.array([bin(s).count("1") for s in number])
    by_hit, by_miss = np.zeros((states, states)), np.zeros((states, states))
    by_hit[number, ((number << 1) | 1) & (states - 1)] = 1.0
    by_miss[number, (number << 1) & (states - 1)] = 1.0
    share = np.zeros((len(hit), states))
    share[:, 0] = 1.0
    first = np.zeros(hit.shape)
    for j in range(hit.shape[1]):
        with_hit, without = share * hit[:, j, None], share * (1.0 - hit[:, j, None])
        if armed[j]:
            done_hit, done_miss = ones + 1 >= m, ones >= m
            first[:, j] = with_hit[:, done_hit].sum(axis=1) + without[:, done_miss].sum(axis=1)
            with_hit[:, done_hit] = 0.0
            without[:, done_miss] = 0.0
        share = with_hit @ by_hit + without @ by_miss
    return first


def best_confirmed(strength, armed, confirm):
    """The highest threshold at which looks of this strength (looks,), each a sure hit at or above it, are confirmed."""
    m, n = confirm
    best = 0.0
    for j in np.flatnonzero(armed):
        recent = np.sort(strength[max(0, j - n + 1) : j + 1])[::-1]
        if len(recent) >= m:
            best = max(best, recent[m - 1])
    return best
