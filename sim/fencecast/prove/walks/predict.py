"""What the file's own values say of every kind of walk, as it is written into the plan.

Tests: tests/prove/walks/test_walk_plan.py.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np

from fencecast.prove.walks.asfinished import Crossed
from fencecast.prove.walks.kinds import Steps
from fencecast.prove.walks.patterns import camera_pd, every_site_pd, pattern_table, site_pd
from fencecast.prove.walks.planfile import MOST_NAMED, Kind
from fencecast.prove.walks.prior import Prior, quantiles
from fencecast.prove.walks.worth import NAMED_PD

BAND = (0.025, 0.975)
_NONE = 1e-9  # a pattern with less is not written


@dataclass
class Simulated:
    """Steps of walks by kind, from one or more simulations: `steps[i]` has the rows of walks that `add` was given with it."""

    at: dict[str, tuple[int, int]] = field(default_factory=dict)
    walks: dict[str, Crossed] = field(default_factory=dict)
    steps: list[Steps] = field(default_factory=list)

    def add(self, kinds: Mapping[str, Crossed], steps: Steps) -> None:
        """Take in a simulation of these kinds, in their order."""
        for row, (kind, walk) in enumerate(kinds.items()):
            self.at[kind], self.walks[kind] = (len(self.steps), row), walk
        self.steps.append(steps)

    def of(self, kind: str) -> tuple[Steps, int]:
        """The steps of a kind and its row there."""
        which, row = self.at[kind]
        return self.steps[which], row

    def over_prior(self, kinds: Sequence[str], prior: Prior) -> np.ndarray:
        """Pd of kinds at the nodes of the prior, (kinds, n, m)."""
        return np.array([site_pd(*self.of(kind), prior.cycles_50, prior.r) for kind in kinds])

    def predicted(self, kinds: Sequence[str], prior: Prior) -> np.ndarray:
        """Pd of kinds at the file's own values, (kinds,)."""
        n, r = np.array([prior.median]), np.array([prior.correlation])
        return np.array([site_pd(*self.of(kind), n, r)[0, 0] for kind in kinds])


def predicted_pd(steps: Steps, prior: Prior) -> np.ndarray:
    """Pd of every walk of a simulation at the file's own values, (walks,)."""
    return every_site_pd(steps, np.array([prior.median]), np.array([prior.correlation]))[:, 0, 0]


def kind_of(name: str, place: str, walk: Crossed, steps: Steps, row: int, prior: Prior, information: np.ndarray) -> Kind:
    """A kind as the plan has it; information: (2, 2) of one walk at the file's own values."""
    marks = steps.marks
    pd = float(site_pd(steps, row, np.array([prior.median]), np.array([prior.correlation]))[0, 0])
    low, high = quantiles(site_pd(steps, row, prior.cycles_50, prior.r), prior.weight, BAND)
    cameras = camera_pd(steps, row, np.array([prior.median]), prior.correlation)[0]
    named = [k for k in np.argsort(-cameras, kind="stable")[:MOST_NAMED] if cameras[k] >= NAMED_PD]
    named = sorted(int(k) for k in named)
    table = pattern_table(steps, row, named, prior.median, prior.correlation) if named else np.array([1.0])
    patterns = {
        "+".join(marks[camera] for bit, camera in enumerate(named) if number >> bit & 1): float(p)
        for number, p in enumerate(table / table.sum())
        if p >= _NONE
    }
    # Bin 0 is at the line or before it; of the others the middle.
    at = np.where(np.arange(len(steps.delay_s)) > 0, steps.delay_s - 0.5 * steps.delay_s[1], 0.0)
    delays = tuple((float(t), float(share)) for t, share in zip(at, steps.delay[row]) if share >= _NONE)
    return Kind(
        kind=name, place=place, gait=walk.gait, direction="in" if walk.direction == "in" else "out", angle_deg=0.0,
        path_s=float(steps.path_s[row]), pd=pd, pd_low=float(low), pd_high=float(high),
        pd_camera={marks[k]: float(cameras[k]) for k in named}, patterns=patterns, delay_s=delays,
        information_ln_n50=float(information[0, 0]), information_r=float(information[1, 1]),
    )  # fmt: skip
