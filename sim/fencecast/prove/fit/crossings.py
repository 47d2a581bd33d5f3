"""What the fit asks of simulated walks: likelihoods, Pd of a camera and patterns, at any N50 and correlation, of each group.

`Simulated` asks the compiled steps of crossings (`prove.walks.kinds`, `prove.walks.patterns`). Whatever answers the same
questions can stand in its place: tests use one camera with one step, for which everything is known in closed form.
Tests: tests/prove/fit/test_simulated.py.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from fencecast.estimate.options import Progress
from fencecast.prove.fit.grid import Array
from fencecast.prove.fit.groups import Group
from fencecast.site import Site

CROSSINGS = 128
SEED = 20_000_001  # of the crossings: the same steps whatever seed the plan had


class Crossings(Protocol):
    """Crossings of groups of walks, numbered as the groups are; cameras in the order of `seen`."""

    def log_likelihood(
        self, group: int, seen: NDArray[np.int8], cycles_50: Array, correlation: Array, chance_alarm: Array | None
    ) -> Array:
        """ln P of each row of `seen`: (rows, N50, correlations). chance_alarm: per camera, of an alarm that nobody caused."""
        ...

    def camera_pd(self, group: int, cycles_50: Array) -> Array:
        """Pd of each camera alone: (N50, cameras)."""
        ...

    def pattern_table(self, group: int, cameras: Sequence[int], cycles_50: float, correlation: float) -> Array:
        """P of each set of these cameras that alarm (2**cameras,): bit i is cameras[i]."""
        ...

    def at_contrast(self, factor: float) -> Crossings:
        """The same crossings with the contrast threshold so many times as high."""
        ...


class Simulated:
    """Steps of crossings as walked, simulated once for each group; N50 and correlation are arithmetic on them."""

    def __init__(
        self,
        site: Site,
        groups: Sequence[Group],
        marks: Sequence[str],
        from_fence: bool = True,
        crossings: int = CROSSINGS,
        seed: int = SEED,
        threads: int | None = None,
        progress: Progress | None = None,
    ):
        from fencecast.prove.walks.kinds import Crossed, simulate_walks

        self._again = (site, tuple(groups), tuple(marks), from_fence, crossings, seed, threads, progress)
        walks = [Crossed(each.section, each.chainage_m, each.gait, each.direction, each.stature_m, each.clo) for each in groups]
        self._steps = simulate_walks(
            site, walks, [each.weather for each in groups], crossings=crossings, seed=seed, from_fence=from_fence,
            conditions=[dict(each.conditions) for each in groups], threads=threads,
            progress=None if progress is None else lambda done, expected: progress("crossings", done, expected),
        )  # fmt: skip
        order = {mark: k for k, mark in enumerate(self._steps.marks)}
        self._columns = np.array([order[mark] for mark in marks])

    def _in_file_order(self, seen: NDArray[np.int8]) -> NDArray[np.int8]:
        """Columns as the steps have them; a camera of the site that the plan has not is unknown."""
        turned = np.full((len(seen), len(self._steps.marks)), -1, dtype=np.int8)
        turned[:, self._columns] = seen
        return turned

    def log_likelihood(
        self, group: int, seen: NDArray[np.int8], cycles_50: Array, correlation: Array, chance_alarm: Array | None
    ) -> Array:
        """See `Crossings`."""
        from fencecast.prove.walks.patterns import log_likelihood

        by_chance = None
        if chance_alarm is not None:
            by_chance = np.zeros(len(self._steps.marks))
            by_chance[self._columns] = chance_alarm
        found: Array = log_likelihood(self._steps, group, self._in_file_order(seen), cycles_50, correlation, by_chance)
        return found

    def camera_pd(self, group: int, cycles_50: Array) -> Array:
        """See `Crossings`."""
        from fencecast.prove.walks.patterns import camera_pd

        # Pd of one camera does not know the correlation.
        found: Array = camera_pd(self._steps, group, np.asarray(cycles_50), 0.0)[:, self._columns]
        return found

    def pattern_table(self, group: int, cameras: Sequence[int], cycles_50: float, correlation: float) -> Array:
        """See `Crossings`."""
        from fencecast.prove.walks.patterns import pattern_table

        found: Array = pattern_table(
            self._steps, group, [int(self._columns[k]) for k in cameras], cycles_50, correlation
        )  # fmt: skip
        return found

    def at_contrast(self, factor: float) -> Simulated:
        """See `Crossings`."""
        site, *others = self._again
        keys = {name: getattr(site.decision, name) for name in site.decision.model_fields_set}
        changed = {**keys, "threshold_sigma": site.decision.threshold_sigma.middle() * factor}
        return Simulated(site.replace(decision=changed, variant=()), *others)
