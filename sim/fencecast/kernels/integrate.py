"""The alarm of one crossing as a number: N_th integrated, not drawn.

Given z, each camera's alarm probability is a step function of its threshold N_th: with the looks sorted by N, the i largest are
active. So P_c(z) = sum_i (A_i - A_(i-1)) F(N_i | z), A_i the chain with i looks active, F(N | z) the chance that N_th <= N:
Phi((Phi^-1(F(N)) - sqrt(r) z) / sqrt(1 - r)). z is a small fixed quadrature; the marginal F gives `pd_camera`.
"""

import math

import numpy as np

from fencecast.jit import compiled_inline
from fencecast.kernels.buckets import number_buckets
from fencecast.kernels.confirm import CERTAIN, chain_3_of_5, chain_step, confirmed_cycles, reset_chain
from fencecast.physics.detector import normal_cdf32
from fencecast.physics.discrimination import discrimination_probability, log_odds, score_of_log_odds
from fencecast.physics.exponential import exponential

# With more looks than MAX_STEPS (long stays in a area) neighbours in N whose F differs by at most GROUP_SPAN become one step,
# at their mean F; the largest SINGLE_STEPS stay single, because with sure looks the alarm jumps from 0 to 1 among them. With 14
# looks a crossing, as for a line, nothing is joined.
MAX_STEPS = 48
SINGLE_STEPS = 24
GROUP_SPAN = 1.0 / 64.0
# Below this chance to pass, a look cannot matter.
LEAST_PASS = 1.0e-9

# A look that is classified less often than one time in 1e9, or missed as seldom, is so whatever z is.
_SURE_LOG_ODDS = math.log(1.0e9)

# Rows of the per-crossing result; ARMED (a rule is armed at some look) and ANY_VIEW (in view of any camera) are `cross_once`'s.
# UNGATED: the Pd if everything that is resolved were accepted as a person.
PD, IN_VIEW, RESOLVED, CONFIRMED, DEPTH, DELAY, ARMED, ANY_VIEW, UNGATED = range(9)
RESULTS = 9


@compiled_inline
def fill_conditional(row, cycles, decision):
    """F(N | z) at the quadrature nodes into row (nodes,); returns the marginal F(N)."""
    ratio = cycles / decision.cycles_50
    if ratio <= 0.0:
        for k in range(decision.node_z.size):
            row[k] = 0.0
        return 0.0
    w = log_odds(ratio)
    marginal = 1.0 / (1.0 + exponential(-w))
    r = decision.correlation
    if r <= 0.0 or abs(w) >= _SURE_LOG_ODDS:
        for k in range(decision.node_z.size):
            row[k] = marginal
        return marginal
    score = score_of_log_odds(w)
    scale = 1.0 / math.sqrt(1.0 - r)
    shift = math.sqrt(r)
    for k in range(decision.node_z.size):
        row[k] = normal_cdf32(np.float32((score - shift * decision.node_z[k]) * scale))
    return marginal


@compiled_inline
def _sort_by_cycles(order, count, cycles):
    """Insertion sort of look indices, most cycles first; stable, and quick on the nearly sorted looks of a path."""
    for i in range(1, count):
        index = order[i]
        value = cycles[index]
        j = i - 1
        while j >= 0 and cycles[order[j]] < value:
            order[j + 1] = order[j]
            j -= 1
        order[j + 1] = index


@compiled_inline
def _run_sure(work, camera, first, last, decision):
    """As `_run_chain` when every active look passes for certain: the first armed look with m hits in the last n, or none."""
    m, n = decision.confirm_m, decision.confirm_n
    hits = 0
    for look in range(first, last + 1):
        hits += work.active[look]
        if look - n >= first:
            hits -= work.active[look - n]
        if hits >= m and work.armed[camera, look]:
            work.alarm_now[work.bucket_of[camera, look]] += 1.0
            return 1.0
    return 0.0


@compiled_inline
def _run_chain(work, camera, first, last, decision):
    """Alarm probability that falls into each bucket with the marked looks active, into work.alarm_now; returns the total."""
    if decision.confirm_m == 3 and decision.confirm_n == 5:
        return chain_3_of_5(
            work.passes[camera], work.active, work.needed[camera], work.armed[camera], work.bucket_of[camera], first, last,
            work.alarm_now,
        )  # fmt: skip
    history = decision.confirm_n - 1
    state, spare = work.state, work.spare
    for k in range(1 << history):
        state[k] = 0.0
    state[0] = 1.0
    total = 0.0
    gap = 0
    for look in range(first, last + 1):
        if not work.needed[camera, look]:
            gap += 1
            continue
        if gap > 0:
            reset_chain(state, history)
            gap = 0
        p = work.passes[camera, look] if work.active[look] else 0.0
        armed = work.armed[camera, look] != 0
        gain = chain_step(state, spare, p, decision.confirm_m, history, armed)
        if armed:
            total += gain
            work.alarm_now[work.bucket_of[camera, look]] += gain
        if total >= CERTAIN:
            break
    return total


@compiled_inline
def _end_of_group(work, camera, first, count, decision):
    """One past the last of the sorted looks from `first` on whose F is within GROUP_SPAN of the first's."""
    top = discrimination_probability(work.cycles[camera, work.order[first]] / decision.cycles_50)
    until = first + 1
    while until < count:
        if top - discrimination_probability(work.cycles[camera, work.order[until]] / decision.cycles_50) > GROUP_SPAN:
            break
        until += 1
    return until


@compiled_inline
def camera_alarm(work, camera, first, last, buckets, decision):
    """One camera's alarm: P_c(bucket | z) into work.given_z (buckets, nodes); returns its marginal probability."""
    nodes = decision.node_z.size
    for b in range(buckets):
        work.alarm_before[b] = 0.0
        for k in range(nodes):
            work.given_z[b, k] = 0.0
    count = 0
    for look in range(first, last + 1):
        work.active[look] = 0
        if work.needed[camera, look] and work.passes[camera, look] > LEAST_PASS and work.cycles[camera, look] > 0.0:
            work.order[count] = look
            count += 1
    if count == 0:
        return 0.0
    _sort_by_cycles(work.order, count, work.cycles[camera])
    marginal = 0.0
    done = 0
    unsure = 0
    while done < count:
        until = done + 1
        if count > MAX_STEPS and done >= SINGLE_STEPS:
            until = _end_of_group(work, camera, done, count, decision)
        for k in range(nodes):
            work.group[k] = 0.0
        group_marginal = 0.0
        for i in range(done, until):
            look = work.order[i]
            work.active[look] = 1
            unsure += work.passes[camera, look] < CERTAIN
            group_marginal += fill_conditional(work.row, work.cycles[camera, look], decision)
            for k in range(nodes):
                work.group[k] += work.row[k]
        share = 1.0 / (until - done)
        done = until
        if done < decision.confirm_m:  # too few active looks to confirm anything
            continue
        for b in range(buckets):
            work.alarm_now[b] = 0.0
        if unsure == 0:
            total = _run_sure(work, camera, first, last, decision)
        else:
            total = _run_chain(work, camera, first, last, decision)
        for b in range(1, buckets):  # from what falls into each bucket to what has come by its time
            work.alarm_now[b] += work.alarm_now[b - 1]
        for b in range(buckets):
            gain = work.alarm_now[b] - work.alarm_before[b]
            work.alarm_before[b] = work.alarm_now[b]
            if gain > 0.0:
                gain *= share
                for k in range(nodes):
                    work.given_z[b, k] += gain * work.group[k]
                if b == buckets - 1:
                    marginal += gain * group_marginal
        if total >= CERTAIN and work.alarm_now[0] >= CERTAIN:
            break
    return marginal


@compiled_inline
def _accept(work, camera, buckets, nodes, camera_pd):
    """Multiply what one camera raises by the chance that it is accepted; what it would raise without goes to its post."""
    accepted = work.accept[camera]
    for k in range(nodes):
        work.post_ungated[k] = max(work.post_ungated[k], work.given_z[buckets - 1, k])
        for b in range(buckets):
            work.given_z[b, k] *= accepted
    camera_pd[camera] *= accepted


@compiled_inline
def integrate_crossing(work, cameras, posts, first, last, decision, judged, result, camera_pd):
    """All cameras of a crossing: Pd, the ladder in view >= resolved >= confirmed >= ungated >= Pd, depth and delay: `result`.

    camera_pd (cameras,): each camera alone. Depth and delay are sums weighted by probability (divide by Pd for the mean given
    an alarm). Given z the best camera of a post counts, and posts combine: 1 - product of (1 - P | z); V, R and B likewise.
    posts (cameras,): the first camera of each one's post. judged: work.accept (cameras,) multiplies each camera's alarm given z;
    else it is not read.
    """
    nodes = decision.node_z.size
    buckets = number_buckets(work, cameras, first, last)
    for b in range(buckets):
        for k in range(nodes):
            work.survive[b, k] = 1.0
    for k in range(nodes):
        work.survive_resolved[k] = 1.0
        work.survive_confirmed[k] = 1.0
        work.survive_ungated[k] = 1.0
    unseen = 1.0
    for camera in range(cameras):
        camera_pd[camera] = 0.0
    for post in range(cameras):
        if posts[post] != post:
            continue
        for b in range(buckets):
            for k in range(nodes):
                work.post_z[b, k] = 0.0
        for k in range(nodes):
            work.post_resolved[k] = 0.0
            work.post_confirmed[k] = 0.0
            work.post_ungated[k] = 0.0
        for camera in range(post, cameras):
            if posts[camera] != post or not work.in_view[camera]:
                continue
            unseen = 0.0
            camera_pd[camera] = camera_alarm(work, camera, first, last, buckets, decision)
            if judged:
                _accept(work, camera, buckets, nodes, camera_pd)
            if camera_pd[camera] > 0.0:
                for b in range(buckets):
                    for k in range(nodes):
                        work.post_z[b, k] = max(work.post_z[b, k], work.given_z[b, k])
            best = 0.0
            for look in range(first, last + 1):
                if work.needed[camera, look]:
                    best = max(best, work.perfect[camera, look])
            if best <= 0.0:
                continue
            fill_conditional(work.row, best, decision)
            for k in range(nodes):
                work.post_resolved[k] = max(work.post_resolved[k], work.row[k])
            best = confirmed_cycles(work.perfect[camera], decision.confirm_m, decision.confirm_n, first, last, work.armed[camera])
            if best > 0.0:
                fill_conditional(work.row, best, decision)
                for k in range(nodes):
                    work.post_confirmed[k] = max(work.post_confirmed[k], work.row[k])
        for b in range(buckets):
            for k in range(nodes):
                work.survive[b, k] *= 1.0 - work.post_z[b, k]
        for k in range(nodes):
            work.survive_resolved[k] *= 1.0 - work.post_resolved[k]
            work.survive_confirmed[k] *= 1.0 - work.post_confirmed[k]
            work.survive_ungated[k] *= 1.0 - work.post_ungated[k]
    depth, delay, pd, resolved, confirmed, ungated = 0.0, 0.0, 0.0, 0.0, 0.0, 0.0
    for k in range(nodes):
        weight = decision.node_weight[k]
        alive = 1.0
        for b in range(buckets):
            now = work.survive[b, k]
            depth += weight * (alive - now) * work.bucket_depth[b]
            delay += weight * (alive - now) * work.bucket_delay[b]
            alive = now
        pd += weight * (1.0 - alive)
        resolved += weight * (1.0 - work.survive_resolved[k])
        confirmed += weight * (1.0 - work.survive_confirmed[k])
        ungated += weight * (1.0 - work.survive_ungated[k])
    pd, resolved, confirmed = min(pd, 1.0), min(resolved, 1.0), min(confirmed, 1.0)  # weights add up to 1 within rounding
    # The ladder adds up by construction; a pixel under the 1 % rule can still pass, which moves these by less than 1e-4.
    ungated = max(min(ungated, 1.0), pd) if judged else pd
    confirmed = max(confirmed, ungated)
    resolved = max(resolved, confirmed)
    result[PD] = pd
    result[UNGATED] = ungated
    result[CONFIRMED] = confirmed
    result[RESOLVED] = resolved
    result[IN_VIEW] = max(1.0 - unseen, resolved)
    result[DEPTH] = depth
    result[DELAY] = delay
