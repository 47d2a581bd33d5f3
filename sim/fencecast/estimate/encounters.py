"""How often an encounter with a body that is no intruder raises an alarm: for every stimulus, weather class and segment.

Cells of (stimulus, class, segment), each with some scramblings of Sobol points, spread over threads as crossings are; the same
bits whatever the threads. Importing this compiles nothing; the first call of `simulate_encounters` does.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from fencecast.estimate.intervals import half_width, standard_error
from fencecast.estimate.simulate import REPLICATES, in_blocks, in_rounds
from fencecast.kernels.encounter import (
    ENCOUNTER_ACTIVE,
    ENCOUNTER_ALARM,
    ENCOUNTER_BELIEVED,
    ENCOUNTER_CAMERA,
    ENCOUNTER_IN_VIEW,
    ENCOUNTER_LOOKS,
    run_encounters,
)
from fencecast.kernels.pack import pack_plan
from fencecast.kernels.pack_stimuli import pack_encounter_cells, pack_stimuli
from fencecast.kernels.work import look_capacity
from fencecast.meteorology.load import classes_of
from fencecast.sampling.sobol import sobol_table
from fencecast.sampling.variables import ENCOUNTER_VARIABLES, variable_keys

if TYPE_CHECKING:
    from fencecast.site.stimuli import BodyStimulus

FIRST_POINTS, MOST_POINTS = 4, 16
# Cells whose half width is above this go on to twice as many points. Alarms a night are sums over many segments, whose errors
# average out, so it is wider than that of Pd.
PRECISION = 0.15


@dataclass(frozen=True)
class Encounters:
    """Mean over the encounters of each cell, in a weather class as it is drawn: out of `active` an encounter counts 0.

    names: of the stimuli. p, p_se, in_view, believed (stimulus, weather, segment): alarm probability and its standard error over
    the scramblings; shares of encounters in view of a camera, and of those that some camera takes for a crossing of an armed line
    or a stay in an armed area. p_camera (stimulus, weather, segment, camera): each camera alone. active_share (stimulus,
    weather): activity. crossings (stimulus, weather, segment): encounters simulated, 0 (and p 0) on a perimeter where the
    stimulus does not come. looks: drawn in all. p_scrambling (stimulus, weather, segment, scrambling): `p` in each of the
    independent sets of encounters.
    """

    names: tuple[str, ...]
    p: np.ndarray
    p_se: np.ndarray
    p_camera: np.ndarray
    in_view: np.ndarray
    believed: np.ndarray
    active_share: np.ndarray
    crossings: np.ndarray
    looks: int
    replicates: int = REPLICATES
    p_scrambling: np.ndarray | None = None

    def half_width(self, confidence: float) -> np.ndarray:
        """Half width of the interval of `p`, (stimulus, weather, segment); 0 where the stimulus does not come."""
        with np.errstate(invalid="ignore"):
            half = half_width(self.p_se, np.maximum(self.crossings, 1), self.replicates, confidence, self.p)
        return np.where(self.crossings > 0, half, 0.0)


def simulate_encounters(
    site,
    stimuli: Sequence[BodyStimulus],
    seed: int,
    weather=None,
    plan=None,
    points: int = FIRST_POINTS,
    most_points: int = MOST_POINTS,
    precision: float = PRECISION,
    threads: int = 1,
    progress: Callable[[int, int], None] | None = None,
    packed=None,
) -> Encounters:
    """Encounters with every stimulus in every weather class and segment.

    stimuli: resolved ones; weather: classes (the site's); plan: the site's packed plan of these classes when the caller has it,
    or another of the same cameras, rules and classes (a setting that is tried). points: of each of the 8 scramblings at first;
    most_points: where the half width at the site's confidence is above `precision`. progress(done, expected) in encounters.
    packed: `pack_stimuli(site, stimuli)`, or the same with a number changed.
    """
    classes = classes_of(site) if weather is None else weather
    plan = pack_plan(site, classes) if plan is None else plan
    cells, cell_stimulus = pack_encounter_cells(site, stimuli, seed, classes)
    cameras = plan.cameras.bearing_rad.size
    shape = (len(stimuli), len(classes), -1)
    if not len(cells.weather):
        shape = (len(stimuli), len(classes), 0)
    packed = pack_stimuli(site, stimuli) if packed is None and len(stimuli) else packed
    sums = np.zeros((len(cells.weather), REPLICATES, ENCOUNTER_CAMERA + cameras))
    done = np.zeros(len(cells.weather), dtype=np.int64)
    comes = np.array([[not body.perimeters or s.name in body.perimeters for s in site.perimeter] for body in stimuli], dtype=bool)
    which = np.flatnonzero(comes[cell_stimulus, cells.section]) if len(cell_stimulus) else np.zeros(0, dtype=np.int64)
    keys, capacity = variable_keys(ENCOUNTER_VARIABLES), look_capacity(plan)
    expected, told = len(which) * points * REPLICATES, 0

    def on_block(encounters: int) -> None:
        nonlocal told
        told += encounters
        if progress:
            progress(told, max(expected, told))

    def upto(which: np.ndarray, last_point: int) -> None:
        table = sobol_table(1 << max(last_point - 1, 1).bit_length(), len(ENCOUNTER_VARIABLES))
        cell = np.repeat(which, REPLICATES)
        replicate = np.tile(np.arange(REPLICATES, dtype=np.int64), len(which))
        first, last = np.repeat(done[which], REPLICATES), np.full(len(cell), last_point, dtype=np.int64)
        rows = sums[cell, replicate]

        def run_block(a: int, b: int) -> int:
            jobs = (cell[a:b], replicate[a:b], first[a:b], last[a:b])
            run_encounters(plan, packed, cells, cell_stimulus, keys, table, *jobs, capacity, rows[a:b])
            return int((last[a:b] - first[a:b]).sum())

        in_blocks(len(cell), last_point - int(first.min(initial=0)), threads, run_block, on_block)
        sums[cell, replicate] = rows
        done[which] = last_point

    def still_open(which: np.ndarray, _growth: float) -> np.ndarray:
        nonlocal expected
        means = sums[which, :, ENCOUNTER_ALARM] / done[which, None]
        half = half_width(standard_error(means), done[which] * REPLICATES, REPLICATES, site.requirement.confidence, means.mean(1))
        expected = told + int((half > precision).sum()) * int(done[which].max(initial=0)) * REPLICATES
        return half > precision

    if len(which):
        in_rounds(which, most_points, upto, still_open, first=points)
    crossings = done * REPLICATES
    with np.errstate(invalid="ignore", divide="ignore"):
        mean = np.where(crossings[:, None] > 0, sums.sum(axis=1) / crossings[:, None], 0.0)
        error = np.where(done > 0, standard_error(sums[:, :, ENCOUNTER_ALARM] / done[:, None]), 0.0)
    active = mean[:, ENCOUNTER_ACTIVE].reshape(shape)
    weight = crossings.reshape(shape)
    return Encounters(
        names=tuple(body.name for body in stimuli),
        p=mean[:, ENCOUNTER_ALARM].reshape(shape),
        p_se=error.reshape(shape),
        p_camera=mean[:, ENCOUNTER_CAMERA:].reshape(*active.shape, cameras),
        in_view=mean[:, ENCOUNTER_IN_VIEW].reshape(shape),
        believed=mean[:, ENCOUNTER_BELIEVED].reshape(shape),
        active_share=(active * weight).sum(axis=2) / np.maximum(weight.sum(axis=2), 1),
        crossings=weight,
        looks=int(sums[:, :, ENCOUNTER_LOOKS].sum()),
        p_scrambling=(sums[:, :, ENCOUNTER_ALARM] / np.maximum(done, 1)[:, None]).reshape(*active.shape, REPLICATES),
    )
