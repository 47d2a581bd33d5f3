"""What one camera's alarm in one crossing asks of the threshold of cycles, as a few steps (N_i, g_i).

P(alarm | N_th) = sum of g_i [N_th <= N_i]: with the looks sorted by N, g_i is what the i-th largest adds to the chain. Steps hold
geometry, air, noise, confirmation and acceptance, and know neither N50 nor the correlation: for any of them
P(alarm) = sum of g_i F(N_i / N50), without a look rendered again. In clear air there is one step, the third-best of five looks.
"""

import math

from fencecast.jit import compiled_inline
from fencecast.kernels.confirm import CERTAIN
from fencecast.kernels.integrate import LEAST_PASS, MAX_STEPS, SINGLE_STEPS, _run_chain, _run_sure, _sort_by_cycles

# Steps that are kept of a camera in a crossing, and what a look must add to be one.
MOST_STEPS = 16
LEAST_GAIN = 1.0e-7
# Of more than MAX_STEPS looks those past SINGLE_STEPS whose ln N differ by at most SPAN_LN become one step, at their mean ln N,
# unless together they add more than JOINED_GAIN: then it matters which one does. Never by F(N / N50), as the integration joins
# them: a step must hold whatever N50 is asked for.
SPAN_LN = 0.01
JOINED_GAIN = 0.01


@compiled_inline
def _add_step(ln_cycles, gain, count, where, more):
    """Append a step (ln N, gain), the smallest N so far; returns how many there are.

    Where there is no room, two neighbours first become one, at their weighted mean ln N: those that lose least, by
    g h / (g + h) (difference of ln N)^2, the spread within the pair.
    """
    if count < MOST_STEPS:
        ln_cycles[count], gain[count] = where, more
        return count + 1
    best, least = 0, math.inf
    for i in range(MOST_STEPS):
        next_ln = ln_cycles[i + 1] if i + 1 < MOST_STEPS else where
        next_gain = gain[i + 1] if i + 1 < MOST_STEPS else more
        lost = gain[i] * next_gain / (gain[i] + next_gain) * (ln_cycles[i] - next_ln) ** 2
        if lost < least:
            best, least = i, lost
    next_ln = ln_cycles[best + 1] if best + 1 < MOST_STEPS else where
    next_gain = gain[best + 1] if best + 1 < MOST_STEPS else more
    both = gain[best] + next_gain
    ln_cycles[best] = (gain[best] * ln_cycles[best] + next_gain * next_ln) / both
    gain[best] = both
    for i in range(best + 1, MOST_STEPS - 1):
        ln_cycles[i], gain[i] = ln_cycles[i + 1], gain[i + 1]
    if best + 1 < MOST_STEPS:
        ln_cycles[MOST_STEPS - 1], gain[MOST_STEPS - 1] = where, more
    return count


@compiled_inline
def camera_steps(work, camera, first, last, decision, accepted, cycles, gain):
    """The steps of one camera whose looks `render_crossing` left in work, into cycles and gain (MOST_STEPS,); returns how many.

    accepted: chance that the size gate lets it pass; it multiplies every gain. Steps stand from the largest N down, 0 after the
    last. What is left of 1 - sum of gains alarms at no N_th. More than MOST_STEPS steps are joined as in `_add_step`.
    """
    for i in range(MOST_STEPS):
        cycles[i] = 0.0
        gain[i] = 0.0
    count = 0
    for look in range(first, last + 1):
        work.active[look] = 0
        if work.needed[camera, look] and work.passes[camera, look] > LEAST_PASS and work.cycles[camera, look] > 0.0:
            work.order[count] = look
            count += 1
    _sort_by_cycles(work.order, count, work.cycles[camera])
    found, before, done, unsure, single = 0, 0.0, 0, 0, SINGLE_STEPS
    while done < count:
        until = done + 1
        if count > MAX_STEPS and done >= single:
            least = work.cycles[camera, work.order[done]] * math.exp(-SPAN_LN)
            while until < count and work.cycles[camera, work.order[until]] >= least:
                until += 1
        where = 0.0
        for i in range(done, until):
            look = work.order[i]
            work.active[look] = 1
            unsure += work.passes[camera, look] < CERTAIN
            where += math.log(work.cycles[camera, look])
        if until < decision.confirm_m:
            done = until
            continue
        if unsure == 0:
            total = _run_sure(work, camera, first, last, decision)
        else:
            total = _run_chain(work, camera, first, last, decision)
        if until > done + 1 and total - before > JOINED_GAIN:
            for i in range(done, until):
                look = work.order[i]
                work.active[look] = 0
                unsure -= work.passes[camera, look] < CERTAIN
            single = until
            continue
        if total - before > LEAST_GAIN:
            found = _add_step(cycles, gain, found, where / (until - done), total - before)
            before = total
        done = until
        if total >= CERTAIN:
            break
    for i in range(found):
        cycles[i] = math.exp(cycles[i])
        gain[i] *= accepted
    return found
