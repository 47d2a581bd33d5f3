"""Logs of invented plans, read back, and a world in which one number of each camera's curve is all there is."""

from __future__ import annotations

import numpy as np
from scipy.special import ndtr, ndtri

from fencecast.prove.log.read import read_log
from prove.walk_logs import log_rows, write_log


def log_of(plan, tmp_path, seed=1, patterns=lambda kind: kind.patterns, **ways):
    return read_log(write_log(tmp_path / f"log{seed}.csv", log_rows(plan, seed, patterns, **ways)), plan)


# N* of camera W by place and gait for `curve_plan`: steep at the far end, flat at the near one; E mirrors it. Invented.
STEP_CYCLES = {"walk": (6.0, 4.8, 3.9, 3.1, 2.6, 2.2), "crouch": (4.4, 3.5, 2.8, 2.3, 1.9, 1.6)}


def curve(cycles, cycles_50):
    """The law of resolution: P = x^E / (1 + x^E), E = 2.7 + 0.7 x, x = N / N50."""
    x = cycles / cycles_50
    power = x ** (2.7 + 0.7 * x)
    return power / (1.0 + power)


def pair_patterns(cycles, cycles_50, correlation):
    """Patterns of W and E whose verdicts share a standard normal cause, by the trapezoid rule over it."""
    z = np.linspace(-6.0, 6.0, 241)
    weight = np.exp(-0.5 * z**2)
    weight /= weight.sum()
    west, east = (ndtr((ndtri(curve(n, cycles_50)) - np.sqrt(correlation) * z) / np.sqrt(1.0 - correlation)) for n in cycles)
    both = float((weight * west * east).sum())
    only_w, only_e = float((weight * west).sum()) - both, float((weight * east).sum()) - both
    return {"": 1.0 - only_w - only_e - both, "W": only_w, "E": only_e, "W+E": both}


def cycles_of(plan, kind):
    places = [place.place for place in plan.places]
    at = places.index(kind.place)
    return STEP_CYCLES[kind.gait][at], STEP_CYCLES[kind.gait][len(places) - 1 - at]


def world(plan, cycles_50, correlation):
    """Patterns by kind, as a log is drawn with them."""
    return lambda kind: pair_patterns(cycles_of(plan, kind), cycles_50, correlation)


def curve_plan(plan, cycles_50=2.0, correlation=0.5):
    """The plan with patterns from the curve at this N50 and correlation."""
    kinds = []
    for kind in plan.kinds:
        patterns = world(plan, cycles_50, correlation)(kind)
        west, east = patterns["W"] + patterns["W+E"], patterns["E"] + patterns["W+E"]
        kinds.append(
            kind.model_copy(update={"patterns": patterns, "pd": 1.0 - patterns[""], "pd_camera": {"W": west, "E": east}})
        )
    return plan.model_copy(update={"kinds": tuple(kinds)})
