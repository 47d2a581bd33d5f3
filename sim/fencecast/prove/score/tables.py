"""The walks that a prediction speaks of, as tables of pattern probabilities: which cameras alarmed, and what was predicted.

A camera that was off is summed out. A camera that the kind does not name (Pd below 0.001) is no part of the prediction.

Tests: tests/prove/score/test_scoreprediction.py.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from fencecast.prove.log.walked import Walked
from fencecast.prove.walks.planfile import Kind, WalkPlan

# A pattern that a plan of finitely many crossings never saw is not impossible.
LEAST_PROBABILITY = 1e-6


@dataclass(frozen=True)
class Predicted:
    """One walk. marks: cameras that were on and are named, in file order; share (2 ** cameras,), bit i of the index marks[i].

    seen: index of the observed pattern.
    """

    walk: Walked
    marks: tuple[str, ...]
    share: np.ndarray
    seen: int

    @property
    def pd(self) -> float:
        """Predicted probability that any of the cameras alarms."""
        return float(1.0 - self.share[0])

    @property
    def alarm(self) -> bool:
        """One of the cameras alarmed."""
        return self.seen > 0

    def camera_pd(self) -> np.ndarray:
        """Predicted probability of an alarm, by camera of `marks`."""
        return np.array([self.share[_has(len(self.share), bit)].sum() for bit in range(len(self.marks))])


def predicted_walks(plan: WalkPlan, walks: Sequence[Walked]) -> list[Predicted]:
    """Walks that count, in the plan's weather, with a kind of the plan and a camera that was on; in order of their crossing."""
    known = (walk for walk in walks if walk.counts and walk.kind and walk.weather == plan.weather)
    ordered = sorted(known, key=lambda walk: (walk.crossed, walk.trial))
    kinds = {kind.kind: kind for kind in plan.kinds}
    found = []
    for walk in ordered:
        kind = kinds[walk.kind or ""]
        marks = tuple(mark for mark in kind.pd_camera if walk.heard.get(mark) != "off")
        if marks:
            seen = sum(1 << bit for bit, alarm in enumerate(walk.pattern(marks)) if alarm == 1)
            found.append(Predicted(walk, marks, shares_of(kind, marks), seen))
    return found


def shares_of(kind: Kind, marks: Sequence[str], patterns: Mapping[str, float] | None = None) -> np.ndarray:
    """Pattern probabilities over `marks`, (2 ** cameras,), the kind's other cameras summed out; none below the least."""
    share = np.zeros(2 ** len(marks))
    probabilities = kind.patterns if patterns is None else patterns
    named = tuple(kind.pd_camera)
    for alarmed in range(2 ** len(named)):
        # Names are made, not split: a mark may hold a plus sign.
        names = [mark for bit, mark in enumerate(named) if alarmed >> bit & 1]
        share[sum(1 << bit for bit, mark in enumerate(marks) if mark in names)] += probabilities.get("+".join(names), 0.0)
    share = np.maximum(share, LEAST_PROBABILITY)
    return share / share.sum()


def unforeseen(plan: WalkPlan, walks: Sequence[Walked]) -> dict[str, int]:
    """How often a camera alarmed where the plan gives it a Pd below 0.001, by mark."""
    kinds = {kind.kind: kind for kind in plan.kinds}
    counts: dict[str, int] = {}
    for walk in walks:
        if walk.counts and walk.kind:
            for mark in walk.heard:
                if mark not in kinds[walk.kind].pd_camera and walk.heard[mark] not in ("no", "off"):
                    counts[mark] = counts.get(mark, 0) + 1
    return counts


def _has(size: int, bit: int) -> np.ndarray:
    return (np.arange(size) >> bit) & 1 == 1
