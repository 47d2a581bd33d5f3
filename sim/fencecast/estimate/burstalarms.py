"""Alarms a night of events without a body: rate times the chance that one lasts, stands out and is taken for a person.

Tests: tests/estimate/test_nuisance.py.
"""

from __future__ import annotations

import numpy as np

from fencecast.estimate.exposure import Exposure
from fencecast.kernels.pack_inputs import pack_cameras
from fencecast.physics.bursts import accepted_share, event_noise_k_array, lasting_share, passing_share_array
from fencecast.site.quantity import Quantity
from fencecast.site.stimuli import BurstStimulus


def event_alarm(site, burst: BurstStimulus) -> float:
    """Chance that one event of full contrast on an armed line, in its sense, raises an alarm: it lasts, and it is taken for a
    person by shape and size. Of quantities of `[decision]` that vary, the medians."""
    decision = site.decision
    low, high = decision.size_gate
    lasts = lasting_share(decision.confirm[0], decision.looks_per_s, *_lognormal(burst.duration_s))
    return lasts * accepted_share(
        *_lognormal(burst.cycles),
        decision.cycles_50.middle(),
        burst.shape_cycles,
        burst.confused,
        *_lognormal(burst.relative_size),
        low,
        high,
        decision.size_spread,
    )


def burst_alarms(site, exposure: Exposure, stimulus: int) -> list[np.ndarray]:
    """Alarms a night of one burst by camera in each draw of each class, as if the whole night were of it: a list by class of
    (cameras, draws)."""
    burst, decision = exposure.stimuli[stimulus], site.decision
    cameras, _ = pack_cameras(site, site.camera)
    full = burst.per_night.middle() * burst.on_line_share * event_alarm(site, burst) * exposure.heard[stimulus]
    contrast = _lognormal(burst.contrast_k)
    found = []
    for draws, activity in zip(exposure.draws, exposure.activity[stimulus]):
        noise = event_noise_k_array(cameras.netd_k[:, None], cameras.fixed_pattern[:, None], draws.values["clutter_k"])
        passes = passing_share_array(*contrast, decision.threshold_sigma.middle(), noise)
        found.append(full[:, None] * activity * passes)
    return found


def _lognormal(quantity: Quantity) -> tuple[float, float]:
    """Median and sigma of the logarithm; a fixed number has none."""
    return quantity.middle(), quantity.sigma_ln or 0.0
