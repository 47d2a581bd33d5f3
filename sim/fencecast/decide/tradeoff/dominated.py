"""Which settings lose on both sides: more alarms and no metre more, or fewer metres and no alarm less.

What counts as a difference: metres, when they differ by more than their paired error and by half a metre or more; alarms, when
they differ by more than their paired error, by 1 % or more and by one alarm in 200 nights or more. What counts as equal: metres
less than half a metre apart, alarms less than 1 % or less than one in 200 nights apart (they print alike). A setting is dominated
when another is better on one side beyond the error, and not worse, as estimated, on the other. So ties dominate nothing, and no
two settings dominate each other.
"""

from __future__ import annotations

import numpy as np

LEAST_M = 0.5
LEAST_SHARE = 0.01
LEAST_ALARMS = 0.005  # a night


def dominated_by(metres: np.ndarray, metres_half: np.ndarray, alarms: np.ndarray, fewer: np.ndarray) -> np.ndarray:
    """For every setting the number of the one that dominates it, or -1, (settings,) int.

    metres, alarms (settings,): metres at the requirement [m], alarms a night [1/night]; the first setting is the base.
    metres_half (settings, settings): half width of the interval of metres[t] - metres[s]; fewer (settings, settings) bool:
    [s, t], t surely has fewer alarms than s.
    Of several that dominate, the base is named, else the one with the most metres, else the fewest alarms, else the first.
    Without alarms (NaN) nothing is dominated.
    """
    metres, alarms = np.asarray(metres, dtype=float), np.asarray(alarms, dtype=float)
    count = len(metres)
    found = np.full(count, -1)
    if np.isnan(alarms).any():
        return found
    gain = metres[None, :] - metres[:, None]  # [s, t]: what t has more than s
    with np.errstate(divide="ignore", invalid="ignore"):
        saved = np.nan_to_num(np.log(alarms[:, None]) - np.log(alarms[None, :]), nan=0.0)  # [s, t]: how much fewer alarms t has
    more_metres = (gain > metres_half) & (gain >= LEAST_M)
    apart = alarms[:, None] - alarms[None, :]
    fewer_alarms = fewer & (saved >= LEAST_SHARE) & (apart >= LEAST_ALARMS)
    no_more_alarms = (saved > -LEAST_SHARE) | (apart > -LEAST_ALARMS)
    beats = (more_metres & no_more_alarms) | (fewer_alarms & (gain > -LEAST_M))
    for s in range(count):
        better = np.flatnonzero(beats[s])
        if len(better):
            found[s] = 0 if beats[s, 0] else min(better, key=lambda t: (-round(metres[t], 1), alarms[t], t))
    return found
