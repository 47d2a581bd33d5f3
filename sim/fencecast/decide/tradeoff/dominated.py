"""Which settings lose on both sides: more alarms and no metre more, or fewer metres and no alarm less.

What counts as better: metres, when they differ by more than their paired error and by half a metre or more; alarms, when they
differ by more than their paired error, by 1 % or more and by one alarm in 200 nights or more. What counts as not worse: as
estimated, less than half a metre fewer metres or less than 1 % or one alarm in 200 nights more alarms (they print alike); and
the whole paired interval inside a margin, the larger of 2 m and 2 % of the fence that rules watch, or 5 % of the alarms
(judgement, no source). An estimate alone would call a setting not worse that loses metres, two times in five when its standard
error is twice the loss; with the margin, at 95 %, one that loses as much as the margin is called not worse once in 40 times at
most. Losses within the margin are no matter, and not told apart from none. A setting is dominated when another is better on one
side and not worse on the other. So ties dominate nothing, and no two settings dominate each other.
"""

from __future__ import annotations

import numpy as np

LEAST_M = 0.5
LEAST_SHARE = 0.01
LEAST_ALARMS = 0.005  # a night
MARGIN_M, MARGIN_SHARE = 2.0, 0.02
ALARM_MARGIN = 0.05


def margin_m(fence_m: float) -> float:
    """Metres that are no matter, of a fence of which rules watch fence_m [m]: the larger of 2 m and 2 % of it."""
    return max(MARGIN_M, MARGIN_SHARE * fence_m)


def dominated_by(
    metres: np.ndarray, metres_half: np.ndarray, alarms: np.ndarray, fewer: np.ndarray, no_more: np.ndarray, margin: float
) -> np.ndarray:
    """For every setting the number of the one that dominates it, or -1, (settings,) int.

    metres, alarms (settings,): metres at the requirement [m], alarms a night [1/night]; the first setting is the base.
    metres_half (settings, settings): half width of the interval of metres[t] - metres[s]; fewer (settings, settings) bool:
    [s, t], t surely has fewer alarms than s; no_more, alike: t surely has no more than s by ALARM_MARGIN; margin: see `margin_m`.
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
    no_more_alarms = no_more & ((saved > -LEAST_SHARE) | (apart > -LEAST_ALARMS))
    no_fewer_metres = (gain > -LEAST_M) & (gain - metres_half > -margin)
    beats = (more_metres & no_more_alarms) | (fewer_alarms & no_fewer_metres)
    for s in range(count):
        better = np.flatnonzero(beats[s])
        if len(better):
            found[s] = 0 if beats[s, 0] else min(better, key=lambda t: (-round(metres[t], 1), alarms[t], t))
    return found
