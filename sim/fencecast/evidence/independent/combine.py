"""From what each camera makes of one crossing to its alarm, its causes, and the depth and delay of the alarm."""

import numpy as np

from fencecast.evidence.independent.chain import best_confirmed, first_confirmed
from fencecast.evidence.independent.discrimination import discriminate, encounter_nodes, threshold_below


def alarm_steps(site, seen):
    """(levels, first): N_th levels (k,) in rising order, and for N_th just at each level the chance that the first
    confirmed look is look j (k, looks)."""
    counting = (seen.p_look > 0.0) & (seen.cycles > 0.0)
    levels = np.unique(seen.cycles[counting])
    hit = np.where(seen.cycles[None, :] >= levels[:, None], seen.p_look[None, :], 0.0)
    return levels, first_confirmed(hit, seen.armed, site.confirm)


def crossing_outcome(site, views, decided):
    """Pd, camera Pds and ladder of one crossing with N_th integrated.

    views: {mark: Seen or None}; decided: drawn decision values. Given z a post is worth its best camera, and posts are
    independent. Returns dict with pd, camera {mark: pd}, V, R, B, depth and delay (both times the alarm's probability)."""
    z, weight = encounter_nodes(decided["encounter_correlation"])
    cycles_50, correlation = decided["cycles_50"], decided["encounter_correlation"]
    missed, not_recognised, not_brief = np.ones(len(z)), np.ones(len(z)), np.ones(len(z))
    camera, by_post, viewed = dict.fromkeys(views, 0.0), [], 0.0
    for post in site.posts:
        best = {rung: np.zeros(len(z)) for rung in ("alarm", "recognised", "confirmed")}
        masses = []
        for mark in post:
            seen = views[mark]
            if seen is None:
                continue
            levels, first = alarm_steps(site, seen)
            if len(levels):
                marginal = np.diff(discriminate(levels / cycles_50), prepend=0.0)
                camera[mark] = float(marginal @ first.sum(axis=1))
                share = np.diff(threshold_below(levels, cycles_50, correlation, z), axis=1, prepend=0.0)
                by_look = share @ first
                best["alarm"] = np.maximum(best["alarm"], np.minimum(by_look.sum(axis=1), 1.0))
                masses.append((seen, by_look))
            enough = seen.in_view >= site.min_pixels
            viewed = max(viewed, float(np.any(enough)))
            perfect = np.where(enough, seen.cycles_perfect, 0.0)
            limits = np.array([np.max(perfect), best_confirmed(perfect, seen.armed, site.confirm)])
            reach = threshold_below(limits, cycles_50, correlation, z)
            best["recognised"] = np.maximum(best["recognised"], reach[:, 0])
            best["confirmed"] = np.maximum(best["confirmed"], reach[:, 1])
        missed *= 1.0 - best["alarm"]
        not_recognised *= 1.0 - best["recognised"]
        not_brief *= 1.0 - best["confirmed"]
        by_post.append(masses)
    depth, delay = alarm_moments(by_post, weight)
    return {
        "pd": float(weight @ (1.0 - missed)),
        "camera": camera,
        "V": viewed,
        "R": float(weight @ (1.0 - not_recognised)),
        "B": float(weight @ (1.0 - not_brief)),
        "depth": depth,
        "delay": delay,
    }


def alarm_moments(by_post, weight):
    """Sums of depth and delay over alarm times, weighted by the chance that the earliest alarm comes then.

    by_post: for each post the list of (Seen, chance of the first confirmed look (nodes, looks)) of its cameras. A post is
    still silent after a look with the smallest of its cameras' chances."""
    moments = {}
    for seen in (seen for masses in by_post for seen, _ in masses):
        for at, depth, delay in zip(seen.alarm_s[seen.armed], seen.depth_m[seen.armed], seen.delay_s[seen.armed]):
            moments.setdefault(float(at), (depth, delay))
    if not moments:
        return 0.0, 0.0
    times = np.array(sorted(moments))
    silent = np.ones((len(weight), len(times)))
    for masses in by_post:
        of_post = np.ones((len(weight), len(times)))
        for seen, by_look in masses:
            slot = np.searchsorted(times, seen.alarm_s[seen.armed])
            added = np.zeros((len(weight), len(times)))
            np.add.at(added, (slice(None), slot), by_look[:, seen.armed])
            of_post = np.minimum(of_post, 1.0 - np.minimum(np.cumsum(added, axis=1), 1.0))
        silent *= of_post
    here = -np.diff(silent, axis=1, prepend=1.0)
    chance = weight @ here
    depths, delays = np.array([moments[t] for t in times]).T
    return float(chance @ depths), float(chance @ delays)
