"""What a walk of each kind of the plan is expected to say of N50 and the correlation, at values that are known by now.

Fisher information of one walk on theta = (ln N50, correlation): J = sum over patterns of cameras of dP dP^T / P.
Tests: tests/prove/fit/test_next.py.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from fencecast.prove.fit.crossings import Crossings
from fencecast.prove.fit.grid import Array
from fencecast.prove.fit.groups import Group
from fencecast.prove.fit.likelihood import LEAST_PROBABILITY, seeing
from fencecast.prove.walks.planfile import Kind, WalkPlan

_STEP_LN, _STEP_R = 0.01, 0.02
_MOST_R = 0.9


def kinds_to_walk(plan: WalkPlan) -> tuple[Kind, ...]:
    """Kinds that count: those of controls are walked against the rule and say nothing."""
    controls = {trial.kind for trial in plan.trials if trial.control}
    others = {trial.kind for trial in plan.trials if not trial.control}
    return tuple(kind for kind in plan.kinds if kind.kind not in controls - others)


def groups_of_kinds(plan: WalkPlan, kinds: Sequence[Kind], stature_m: float | None = None) -> tuple[Group, ...]:
    """Groups without a walk, in the weather of the plan, so that crossings of kinds are simulated as those of walks are."""
    places = {place.place: place for place in plan.places}
    nobody = np.zeros((0, len(plan.marks)), dtype=np.int8)
    return tuple(
        Group(
            kind.place, places[kind.place].section, places[kind.place].chainage_m, kind.gait, kind.direction, "", stature_m, None,
            plan.weather, (), kind.kind, nobody,
        )
        for kind in kinds
    )  # fmt: skip


def information(crossings: Crossings, group: int, cycles_50: float, correlation: float, only: int | None = None) -> Array:
    """J (2, 2) of one walk on (ln N50, correlation), all cameras on; only: of one camera alone, by its index."""
    cameras: Sequence[int] = seeing(crossings, group, cycles_50)
    if only is not None:
        cameras = [only] if only in cameras else []
    if not cameras:
        return np.zeros((2, 2))

    def table(ln: float, r: float) -> Array:
        return crossings.pattern_table(group, cameras, float(np.exp(ln)), r)

    ln, low, high = np.log(cycles_50), max(correlation - _STEP_R, 0.0), min(correlation + _STEP_R, _MOST_R)
    slopes = np.array(
        [
            (table(ln + _STEP_LN, correlation) - table(ln - _STEP_LN, correlation)) / (2.0 * _STEP_LN),
            (table(ln, high) - table(ln, low)) / (high - low),
        ]
    )
    found: Array = (slopes / np.maximum(table(ln, correlation), LEAST_PROBABILITY)) @ slopes.T
    return found
