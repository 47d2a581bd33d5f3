"""What is not known of an installation's analytics, drawn: N50, correlation, threshold, and a factor on clutter.

`decide` draws them for a crossing (the mean over crossings is then the mean over installations); `fixed_decision` makes the
Decision of one installation. Draws are hashed by names of their own, so that no other draw knows of them.
"""

import numpy as np

from fencecast.jit import compiled_inline
from fencecast.kernels.draw import quantile
from fencecast.kernels.types import CLUTTER_FACTOR, CORRELATION, CYCLES_50, FIXED, THRESHOLD, Decision
from fencecast.sampling.sobol import combine_keys, hashed_unit
from fencecast.sampling.variables import DECISION_VARIABLES, decision_keys

MOST_CORRELATION = 0.9  # what is drawn above it is cut to it: the quadrature in z is tested up to here
_KEYS = decision_keys()
_CYCLES_50, _CORRELATION, _THRESHOLD, _CLUTTER = (np.uint64(key) for key in _KEYS)
assert DECISION_VARIABLES == ("cycles_50", "encounter_correlation", "threshold_sigma", "clutter_factor")


@compiled_inline
def decide(decision, decision_key, clutter_key, point):
    """The Decision of one crossing and its factor on clutter; without spreads the medians as they are and 1.

    decision_key, clutter_key: uint64, what this crossing's draws are keyed by with `point`; two, so that sensitivities can
    exchange clutter alone.
    """
    threshold, cycles, correlation, clutter = decision.threshold, decision.cycles_50, decision.correlation, 1.0
    if decision.drawn:
        rows, choice = decision.spread, decision.choice
        draw = np.uint64(combine_keys(decision_key, np.uint64(point)))
        if rows[CYCLES_50, 0] != FIXED:
            cycles *= quantile(rows[CYCLES_50], choice, hashed_unit(_CYCLES_50, draw))
        if rows[CORRELATION, 0] != FIXED:
            drawn = quantile(rows[CORRELATION], choice, hashed_unit(_CORRELATION, draw))
            correlation = min(max(drawn, 0.0), MOST_CORRELATION)
        if rows[THRESHOLD, 0] != FIXED:
            threshold *= quantile(rows[THRESHOLD], choice, hashed_unit(_THRESHOLD, draw))
        if rows[CLUTTER_FACTOR, 0] != FIXED:
            draw = np.uint64(combine_keys(clutter_key, np.uint64(point)))
            clutter = quantile(rows[CLUTTER_FACTOR], choice, hashed_unit(_CLUTTER, draw))
    return (
        Decision(
            threshold,
            decision.min_pixels,
            cycles,
            correlation,
            decision.looks_per_s,
            decision.confirm_m,
            decision.confirm_n,
            decision.node_z,
            decision.node_weight,
            decision.size_gate,
            decision.size_spread,
            decision.drawn,
            decision.spread,
            decision.choice,
        ),
        clutter,
    )


def fixed_decision(decision: Decision, units: np.ndarray) -> Decision:
    """The Decision of one installation: units (4,) in (0, 1), in the order of DECISION_VARIABLES.

    Its factor on clutter belongs to the weather: `clutter_of`.
    """
    rows, choice = decision.spread, decision.choice
    value = [float(quantile(rows[k], choice, units[k])) if rows[k, 0] != FIXED else float("nan") for k in range(len(rows))]
    spread = np.zeros_like(rows)
    spread[:, 0] = FIXED
    changes: dict[str, object] = {"spread": spread, "drawn": 0}
    if rows[CYCLES_50, 0] != FIXED:
        changes["cycles_50"] = decision.cycles_50 * value[CYCLES_50]
    if rows[CORRELATION, 0] != FIXED:
        changes["correlation"] = min(max(value[CORRELATION], 0.0), MOST_CORRELATION)
    if rows[THRESHOLD, 0] != FIXED:
        changes["threshold"] = decision.threshold * value[THRESHOLD]
    return decision._replace(**changes)


def clutter_of(decision: Decision, units: np.ndarray) -> float:
    """One installation's factor on every clutter: 1 without a spread."""
    row = decision.spread[CLUTTER_FACTOR]
    return 1.0 if row[0] == FIXED else float(quantile(row, decision.choice, units[CLUTTER_FACTOR]))
