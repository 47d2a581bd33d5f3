"""Crossings as somebody walks them on purpose, at a place, in a gait and a direction that a card names: their steps.

The same draws and the same looks as any crossing (`render_crossing`), at a plan that is narrowed for each walk. What is fixed
on a finished site is not drawn: no mounting errors, no spread of NETD or of the decision.
"""

import math
from typing import NamedTuple

import numpy as np

from fencecast.jit import borrow, compiled, compiled_alone, compiled_inline, keep_alive
from fencecast.kernels.accept import gated
from fencecast.kernels.buckets import number_buckets
from fencecast.kernels.crossing import draw_units, render_crossing
from fencecast.kernels.draw import quantile
from fencecast.kernels.integrate import PD, integrate_crossing
from fencecast.kernels.path import draw_speed, draw_track
from fencecast.kernels.state import draw_state
from fencecast.kernels.steps import camera_steps
from fencecast.kernels.types import (
    AIR_TEMPERATURE_K,
    DISTRIBUTION_WIDTH,
    FIXED,
    GROUND_MINUS_AIR_K,
    VISIBILITY_M,
    WEATHER_QUANTITIES,
    Intruder,
    Plan,
    Weather,
)
from fencecast.kernels.work import make_work
from fencecast.sampling.sobol import combine_keys
from fencecast.sampling.variables import DIMENSION

_D_AIR = DIMENSION["air_temperature"]
_D_HOUR = DIMENSION["hour"]
_D_DIRECTION = DIMENSION["direction"]

# Delays of alarms are counted in bins of half a second up to 15 s; the first holds those before the line and at it.
DELAY_STEP_S = 0.5
DELAY_BINS = 31
# Columns of what `lay_walks` writes.
START_X, START_Y, POINT_X, POINT_Y, FINISH_X, FINISH_Y, PATH_M, PATH_S = range(8)
LINE_WIDTH = 8


class Walks(NamedTuple):
    """One row per walk; place and key are those of the row of `Cells`, whose weather is 0 (the walk's own is here)."""

    weather: np.ndarray  # (walks,) class
    quantity: np.ndarray  # (walks, INTRUDER_QUANTITIES, DISTRIBUTION_WIDTH) who walks, and how
    gait_cumulative: np.ndarray  # (walks, 5) all in the one gait
    outside_m: np.ndarray  # (walks,) lengths of the two legs
    inside_m: np.ndarray
    inward: np.ndarray  # (walks,) 1 or 0
    condition: np.ndarray  # (walks, WEATHER_QUANTITIES) what was noted instead of the class's distribution, NaN: nothing
    ground_k: np.ndarray  # (walks,) ground temperature as noted, NaN: the class's difference from the air


@compiled_inline
def _note_weather(weather, walks, walk, units, rows, visibility_given):
    """Rows (1, WEATHER_QUANTITIES, DISTRIBUTION_WIDTH) of the state that a walk's draw finds, with what was noted; the state."""
    state = draw_state(weather, walks.weather[walk], units[_D_HOUR])
    visibility_given[0] = weather.visibility_given[state]
    for q in range(WEATHER_QUANTITIES):
        for k in range(DISTRIBUTION_WIDTH):
            rows[0, q, k] = weather.quantity[state, q, k]
        if not math.isnan(walks.condition[walk, q]):
            rows[0, q, 0], rows[0, q, 1] = FIXED, walks.condition[walk, q]
            if q == VISIBILITY_M:
                visibility_given[0] = 1
    if not math.isnan(walks.ground_k[walk]):
        air_k = quantile(rows[0, AIR_TEMPERATURE_K], weather.choice, units[_D_AIR])
        rows[0, GROUND_MINUS_AIR_K, 0], rows[0, GROUND_MINUS_AIR_K, 1] = FIXED, walks.ground_k[walk] - air_k
    return state


@compiled_inline
def _count_delays(work, cameras, looks, decision, row):
    """Add the alarm probability of a crossing that was integrated to the bins of its delays, row (DELAY_BINS,)."""
    buckets = number_buckets(work, cameras, 0, looks - 1)
    for k in range(decision.node_z.size):
        alive = 1.0
        for b in range(buckets):
            now = work.survive[b, k]
            at = min(int(math.ceil(work.bucket_delay[b] / DELAY_STEP_S - 1.0e-9)), DELAY_BINS - 1)
            row[at] += decision.node_weight[k] * (alive - now)
            alive = now


@compiled_alone
def walk_jobs(plan, cells, walks, variable_keys, sobol, first_walk, last_walk, max_looks, cycles, gain, delay, pd):
    """Walk the walks first_walk to last_walk - 1, once for each row of `sobol` (crossings, variables) that `cycles` has room for.

    cycles, gain (walks, crossings, cameras, MOST_STEPS): steps of every camera. delay (walks, DELAY_BINS): alarm probability by
    the delay from the crossing of the line, at the plan's own N50 and correlation, summed over crossings. pd (walks,
    crossings): of the site, at those. A walk's rows depend on that walk alone. Returns the looks rendered.
    """
    plan, cells, walks = borrow(plan), borrow(cells), borrow(walks)
    scene, cameras, weather, who, decision = plan.scene, plan.cameras, plan.weather, plan.intruder, plan.decision
    camera_count = cameras.bearing_rad.size
    variables = variable_keys.size
    owned = make_work(
        camera_count, plan.bands.low_um.size, decision.node_z.size, decision.confirm_n - 1, variables, max_looks
    )  # fmt: skip
    own_state = (
        np.array([0, 1]),
        np.ones(1),
        np.zeros((1, WEATHER_QUANTITIES, DISTRIBUTION_WIDTH)),
        np.zeros(1, dtype=np.int64),
    )
    work, (one_class, all_of_it, rows, visibility_given) = borrow(owned), borrow(own_state)
    judged = gated(decision)
    rendered = 0
    for walk in range(first_walk, last_walk):
        key = np.uint64(combine_keys(cells.key[walk], np.uint64(0)))
        for v in range(variables):
            work.keys[v] = combine_keys(key, variable_keys[v])
        walker = Intruder(
            walks.quantity[walk], who.choice, walks.gait_cumulative[walk], who.speed, who.depth_share, walks.outside_m[walk],
            walks.inside_m[walk],
        )  # fmt: skip
        for point in range(cycles.shape[1]):
            draw_units(work, sobol[point], variables)
            work.units[_D_DIRECTION] = 0.25 if walks.inward[walk] else 0.75
            s = _note_weather(weather, walks, walk, work.units, rows, visibility_given)
            air = Weather(
                one_class, all_of_it, rows, weather.choice, weather.fog_kind[s : s + 1], weather.convention[s : s + 1],
                visibility_given, weather.low_sky_below_air_k[s : s + 1], weather.window[s : s + 1],
            )  # fmt: skip
            narrowed = Plan(scene, cameras, plan.bands, air, walker, decision)
            _, first, last, looks, _ = render_crossing(narrowed, cells, walk, point, (key, key, key), 1.0, False, work)
            rendered += looks
            if first < 0:
                continue
            for camera in range(camera_count):
                if work.in_view[camera]:
                    accepted = work.accept[camera] if judged else 1.0
                    camera_steps(
                        work, camera, 0, last - first, decision, accepted, cycles[walk, point, camera], gain[walk, point, camera]
                    )
            integrate_crossing(
                work, camera_count, cameras.post, np.int64(0), last - first, decision, judged, work.result, work.camera_pd
            )
            pd[walk, point] = work.result[PD]
            if pd[walk, point] > 0.0:
                _count_delays(work, camera_count, last - first + 1, decision, delay[walk])
    keep_alive(owned)
    keep_alive(own_state)
    return rendered


@compiled
def lay_walks(scene, who, cells, walks, lines):
    """The way of every walk at the middle of all its draws, into lines (walks, LINE_WIDTH): start, point on the fence, finish,
    length [m] and time [s]."""
    for walk in range(lines.shape[0]):
        walker = Intruder(
            walks.quantity[walk], who.choice, walks.gait_cumulative[walk], who.speed, who.depth_share, walks.outside_m[walk],
            walks.inside_m[walk],
        )  # fmt: skip
        gait = 0
        while walks.gait_cumulative[walk, gait] < 0.5:
            gait += 1
        track = draw_track(
            scene, walker, cells.section[walk], cells.start_m[walk], cells.end_m[walk], gait,
            draw_speed(who.speed[gait], who.choice, 0.5), 0.5, 0.5, 0.5, 0.5, 0.5, 0.25 if walks.inward[walk] else 0.75,
        )  # fmt: skip
        row = lines[walk]
        row[START_X], row[START_Y] = track.x - track.in_length_m * track.in_x, track.y - track.in_length_m * track.in_y
        row[POINT_X], row[POINT_Y] = track.x, track.y
        row[FINISH_X], row[FINISH_Y] = track.x + track.out_length_m * track.out_x, track.y + track.out_length_m * track.out_y
        row[PATH_M], row[PATH_S] = track.in_length_m + track.out_length_m, track.end_s
