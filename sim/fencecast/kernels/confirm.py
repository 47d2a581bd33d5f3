"""From the looks of one camera to the probability that a rule is confirmed: m hits in the last n looks, exactly."""

import numpy as np

from fencecast.jit import compiled


@compiled
def popcount(x):
    """Number of set bits of a small non-negative integer."""
    count = 0
    while x:
        count += x & 1
        x >>= 1
    return count


@compiled
def chain_step(state, spare, p, m, history, armed):
    """One look of the Markov chain over the last n-1 outcomes; returns the probability confirmed by this look.

    state (2^(n-1),): probability of each history (newest outcome in bit 0) with no alarm so far; it is updated in place with
    `spare` as workspace. When `armed`, histories that reach m hits in n looks leave the chain. A look is confirmed when it
    and the n-1 before it hold at least m hits, whether it is a hit itself or not.
    """
    states = 1 << history
    top = 1 << (history - 1) if history > 0 else 0
    miss = 1.0 - p
    gone = 0.0
    if history == 0:
        if armed and m <= 1:
            gone = state[0] * p
            state[0] *= miss
        return gone
    for new in range(states):
        outcome = new & 1
        weight = p if outcome else miss
        older = new >> 1
        a = state[older]
        b = state[older | top]
        if armed:
            hits = popcount(new)
            if hits >= m:
                gone += weight * a
                a = 0.0
            if hits + 1 >= m:
                gone += weight * b
                b = 0.0
        spare[new] = weight * (a + b)
    for new in range(states):
        state[new] = spare[new]
    return gone


@compiled
def reset_chain(state, history):
    """Forget the outcomes (a gap of n-1 unwatched looks or the start of the path) but keep the probability of no alarm yet."""
    total = 0.0
    for k in range(1 << history):
        total += state[k]
        state[k] = 0.0
    state[0] = total


@compiled
def confirm_probability(p, m, n, armed):
    """P(at least one armed look is confirmed) for hit probabilities p (looks,), armed (looks,) booleans; a plain-loop form.

    Used by `explain`, tests and evidence; the simulation runs the same `chain_step` inside its integration over N_th.
    """
    state = np.zeros(1 << (n - 1))
    spare = np.zeros(1 << (n - 1))
    state[0] = 1.0
    total = 0.0
    for look in range(p.size):
        total += chain_step(state, spare, p[look], m, n - 1, armed[look])
    return total


@compiled
def confirmed_cycles(cycles, m, n, first, last, armed):
    """Largest N_th at which deterministic looks are confirmed: max over armed looks of the m-th largest of the last n.

    cycles (looks,): N of looks that pass for certain, 0 for those that do not; looks before `first` do not exist.
    """
    best = 0.0
    for look in range(first, last + 1):
        if not armed[look]:
            continue
        # m-th largest of at most eight numbers: for each candidate count those at least as large
        for candidate in range(max(first, look - n + 1), look + 1):
            value = cycles[candidate]
            if value <= best:
                continue
            count = 0
            for other in range(max(first, look - n + 1), look + 1):
                if cycles[other] >= value:
                    count += 1
            if count >= m:
                best = value
    return best
