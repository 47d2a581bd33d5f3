"""Pd of every segment in each representative state of a year, with crossings where the answer depends on them.

Every state sees the same crossings (common random numbers: the stratum's key has the segment but not the state). What differs
between two hours is then their weather and not their draws, carpets are smooth, and neither the number of states nor their order
changes what one of them gets. The price: the states' errors go the same way and do not average out over the year. Intervals of
hours know that (`weakhours`).
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from fencecast.estimate.options import RunOptions
from fencecast.estimate.simulate import REPLICATES, advance, in_rounds, new_tally
from fencecast.hours.representatives import (
    DEFAULT_STATES,
    ROUNDS,
    Choice,
    Representatives,
    distinct_states,
    represent,
    state_classes,
)
from fencecast.kernels.crossing import SUM_PD
from fencecast.kernels.pack import pack_cells
from fencecast.kernels.pack_weather import pack_weather
from fencecast.kernels.types import Cells
from fencecast.meteorology.year import Year

FIRST_POINTS = 8
# A cell on one side of the requirement may be this much coarser than the asked precision: no verdict depends on it.
COARSE = 3.0
DEFAULT_MOST_CROSSINGS = 512
# Cells simulated at a time, so that memory does not grow with states and segments: their sums are dropped for means.
_CHUNK_CELLS = 4096


# Of how many segments, evenly along the fence, is it asked where the answer is open: what one metre needs its neighbour needs.
_ASKED_SEGMENTS = 32


@dataclass
class StatePd:
    """means (states, segments, replicates) float32: mean Pd of each scrambling, NaN where nothing watches; crossings (states,
    segments); looks rendered in all."""

    means: np.ndarray
    crossings: np.ndarray
    looks: int

    @property
    def replicates(self) -> int:
        return self.means.shape[2]


def state_cells(site, seed: int, states: int, purpose: str = "hours") -> Cells:
    """One row per cell, state by state; the key knows the segment alone."""
    one = pack_cells(site, seed, (EveryHour,), purpose)
    return Cells(
        weather=np.repeat(np.arange(states, dtype=np.int64), len(one.weather)),
        section=np.tile(one.section, states),
        start_m=np.tile(one.start_m, states),
        end_m=np.tile(one.end_m, states),
        key=np.tile(one.key, states),
    )


class EveryHour:
    """Stands for a weather class where only a name is asked for."""

    name = "every hour"


def simulate_states(
    site,
    plan,
    classes,
    seed: int,
    active: np.ndarray,
    precision: float,
    most_crossings: int = DEFAULT_MOST_CROSSINGS,
    threads: int = 1,
    progress: Callable[[int, int], None] | None = None,
    purpose: str = "hours",
) -> StatePd:
    """Simulate each of `classes` (one state each) in the `active` segments (bool, (segments,)).

    Rounds of 8, 16, 32 ... points a scrambling. A cell goes on while its interval lies across the requirement and is wider than
    `precision`, or is wider than COARSE times that, until it has `most_crossings`.
    """
    plan = plan._replace(weather=pack_weather(site, classes))
    cells = state_cells(site, seed, len(classes), purpose)
    segments = len(active)
    watched = np.flatnonzero(active)
    means = np.full((len(classes), segments, REPLICATES), np.nan, dtype=np.float32)
    crossings = np.zeros((len(classes), segments), dtype=np.int32)
    per_chunk = max(1, _CHUNK_CELLS // segments)
    need, confidence = site.requirement.pd, site.requirement.confidence
    most = max(2, most_crossings // REPLICATES)
    looks = 0
    forecast = _Forecast(len(classes) * len(watched), most * REPLICATES, progress)
    for first in range(0, len(classes), per_chunk):
        count = min(per_chunk, len(classes) - first)
        part = Cells(*[column[first * segments : (first + count) * segments] for column in cells])
        tally = new_tally(count * segments, plan.cameras.bearing_rad.size)
        which = (np.arange(count)[:, None] * segments + watched).ravel()

        def upto(which, points, part=part, tally=tally):
            advance(plan, part, tally, which, points, threads, forecast)

        def still_open(which, growth, tally=tally):
            mean, half = tally.mean(SUM_PD)[which], tally.half_width(confidence)[which]
            across = (mean - half < need) & (mean + half > need)
            return (half > COARSE * precision) | (across & (half > precision))

        in_rounds(which, most, upto, still_open, FIRST_POINTS)
        with np.errstate(invalid="ignore", divide="ignore"):
            each = tally.sums[:, :, SUM_PD] / tally.points[:, None]
        means[first : first + count] = each.reshape(count, segments, REPLICATES)
        crossings[first : first + count] = tally.crossings.reshape(count, segments)
        looks += tally.looks
        forecast.finished((first + count) * len(watched))
    return StatePd(means, crossings, looks)


class _Forecast:
    """Tells progress in crossings; the cells to come are expected to need what those before them needed."""

    def __init__(self, cells: int, most: int, progress: Callable[[int, int], None] | None):
        self.cells, self.progress, self.done = cells, progress, 0
        self.each = min(3.0 * FIRST_POINTS * REPLICATES, float(most))

    def __call__(self, crossings: int) -> None:
        self.done += crossings
        if self.progress:
            self.progress(self.done, max(int(self.each * self.cells), self.done))

    def finished(self, cells: int) -> None:
        if cells:
            self.each = self.done / cells


def simulate_year(
    site, year: Year, plan, active: np.ndarray, options: RunOptions, most_crossings: int, count: int = DEFAULT_STATES
) -> tuple[Representatives, list, StatePd]:
    """Choose the representatives and simulate them: half without any Pd, the rest in rounds, each where the answer is still open.

    Returns them with their classes and Pd, all in the representatives' order.
    """
    distinct = distinct_states(site, year)
    choice = Choice(distinct, count, options.seed)
    watched = np.flatnonzero(active)
    asked = watched[np.unique(np.linspace(0, len(watched) - 1, min(len(watched), _ASKED_SEGMENTS)).round().astype(int))]
    parts, new = [], choice.first()
    while len(new):
        before = len(choice.rows) - len(new)
        heard = _forecast(
            options.heard("hours"), sum(int(part.crossings.sum()) for part in parts), before, len(new), choice.count
        )
        new_classes = state_classes(distinct, new)
        parts.append(
            simulate_states(
                site, plan, new_classes, options.seed, active, options.precision, most_crossings, options.threads, heard
            )
        )
        left = choice.count - len(choice.rows)
        if not left or not len(asked):
            break
        rounds = max(ROUNDS - len(parts) + 1, 1)
        means = np.concatenate([part.means[:, asked].mean(axis=2, dtype=float) for part in parts])
        new = choice.further(means, site.requirement.pd, -(-left // rounds))
    chosen, order = represent(distinct, choice.rows)
    pd = StatePd(
        np.concatenate([part.means for part in parts])[order],
        np.concatenate([part.crossings for part in parts])[order],
        sum(part.looks for part in parts),
    )
    return chosen, state_classes(distinct, choice.rows[order]), pd


def _forecast(progress, done_before: int, states_before: int, states_now: int, states_in_all: int):
    """Progress of one round, reported for all rounds together: the states to come are expected to need what these need."""
    if progress is None:
        return None
    factor = (states_in_all - states_before) / max(states_now, 1)
    return lambda done, expected: progress(done_before + done, max(done_before + int(expected * factor), done_before + done))
