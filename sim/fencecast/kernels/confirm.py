"""From the looks of one camera to the probability that a rule is confirmed: m hits in the last n looks, exactly."""

import numpy as np

from fencecast.jit import compiled, compiled_inline

# An alarm probability above this counts as 1: the rest of the chain cannot change it.
CERTAIN = 1.0 - 1.0e-12

# Number of hits in each history of up to seven outcomes.
HITS = np.array([bin(history).count("1") for history in range(128)], dtype=np.int64)


@compiled_inline
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
            hits = HITS[new]
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


@compiled_inline
def chain_3_of_5(passes, active, needed, armed, bucket_of, first, last, alarm):
    """The whole chain for 3 hits in 5 looks, the default, as straight-line code over its 16 histories (five times faster).

    Looks that are not `needed` are a gap that empties the history. The alarm probability that each look adds goes into
    alarm[bucket_of[look]]; returns the total. While armed only the 11 histories of at most two hits survive. Test: equal to
    the general chain and to enumeration.
    """
    s0 = 1.0
    s1 = s2 = s3 = s4 = s5 = s6 = s7 = s8 = s9 = s10 = s11 = s12 = s13 = s14 = s15 = 0.0
    total = 0.0
    for look in range(first, last + 1):
        if not needed[look]:
            s0 = 1.0 - total
            s1 = s2 = s3 = s4 = s5 = s6 = s7 = s8 = s9 = s10 = s11 = s12 = s13 = s14 = s15 = 0.0
        else:
            p = passes[look] if active[look] else 0.0
            miss = 1.0 - p
            if armed[look]:
                gain = p * (s9 + s10 + s3 + s11 + s12 + s5 + s13 + s6 + s14 + s7 + s15) + miss * (s11 + s13 + s14 + s7 + s15)
                total += gain
                alarm[bucket_of[look]] += gain
                n0 = miss * (s0 + s8)
                n1 = p * (s0 + s8)
                n2 = miss * (s1 + s9)
                n3 = p * s1
                n4 = miss * (s2 + s10)
                n5 = p * s2
                n6 = miss * s3
                n7 = 0.0
                n8 = miss * (s4 + s12)
                n9 = p * s4
                n10 = miss * s5
                n11 = 0.0
                n12 = miss * s6
                n13 = 0.0
                n14 = 0.0
                n15 = 0.0
            else:
                n0 = miss * (s0 + s8)
                n1 = p * (s0 + s8)
                n2 = miss * (s1 + s9)
                n3 = p * (s1 + s9)
                n4 = miss * (s2 + s10)
                n5 = p * (s2 + s10)
                n6 = miss * (s3 + s11)
                n7 = p * (s3 + s11)
                n8 = miss * (s4 + s12)
                n9 = p * (s4 + s12)
                n10 = miss * (s5 + s13)
                n11 = p * (s5 + s13)
                n12 = miss * (s6 + s14)
                n13 = p * (s6 + s14)
                n14 = miss * (s7 + s15)
                n15 = p * (s7 + s15)
            s0, s1, s2, s3, s4, s5, s6, s7, s8, s9, s10, s11, s12, s13, s14, s15 = (
                n0,
                n1,
                n2,
                n3,
                n4,
                n5,
                n6,
                n7,
                n8,
                n9,
                n10,
                n11,
                n12,
                n13,
                n14,
                n15,
            )
        if total >= CERTAIN:
            break
    return total


@compiled_inline
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


@compiled_inline
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
