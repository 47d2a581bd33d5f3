"""Alarms outside walks, by camera and hour: how often one falls into a walk's window by chance.

Tests: tests/prove/score/test_scoredelay.py.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from fencecast.prove.log.read import APART_S
from fencecast.prove.log.walked import WalkLog
from fencecast.prove.walks.planfile import WalkPlan

WARN_ABOVE = 0.02


@dataclass(frozen=True)
class OutsideScore:
    """alarms, per_hour, chance: by camera. chance: that one lies in the 20 s window of a walk. hours: of the watch."""

    hours: float
    alarms: dict[str, int]
    per_hour: dict[str, float]
    chance: dict[str, float]

    @property
    def loud(self) -> tuple[str, ...]:
        """Cameras whose chance is above 2 %."""
        return tuple(mark for mark, chance in self.chance.items() if chance > WARN_ABOVE)


def score_outside(plan: WalkPlan, log: WalkLog) -> OutsideScore:
    """Rates of every camera of the plan; a watch of no length has none (`per_hour` and `chance` are empty)."""
    alarms = {mark: sum(each.mark == mark for each in log.outside) for mark in plan.marks}
    if log.watch_h <= 0.0:
        return OutsideScore(0.0, alarms, {}, {})
    rates = {mark: count / log.watch_h for mark, count in alarms.items()}
    return OutsideScore(log.watch_h, alarms, rates, {mark: chance_alarm(rate) for mark, rate in rates.items()})


def chance_alarm(per_hour: float) -> float:
    """Chance that at least one alarm of a Poisson stream falls into the window of a walk (20 s). 20 an hour: 0.105."""
    return -math.expm1(-per_hour * APART_S / 3600.0)
