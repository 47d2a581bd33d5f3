"""Packing bodies that are no intruders: from stimuli with every number filled in (`site.stimuli.resolve`) to rows of numbers."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np

from fencecast.kernels.pack_quantity import Choices, pack_quantity
from fencecast.kernels.pack_weather import QUANTITY_ROWS
from fencecast.kernels.types import (
    ALONG,
    CLOTHED,
    COACHWORK,
    COATED,
    CROSS,
    DISTRIBUTION_WIDTH,
    OVER,
    STIMULUS_QUANTITIES,
    WEATHER_QUANTITIES,
    Cells,
    Stimuli,
)
from fencecast.meteorology.load import classes_of
from fencecast.physics.body import FLYING, FOUR_LEGGED, VEHICLE, WALK
from fencecast.physics.coat import FUR_EMISSIVITY, VEHICLE_EMISSIVITY
from fencecast.sampling.variables import stratum_key
from fencecast.site.geometry import cut_segments
from fencecast.site.quantity import Quantity
from fencecast.site.stimuluskinds import HEAVY_RAIN_MM_H, WINTER_COAT_BELOW_C
from fencecast.units import ZERO_CELSIUS_K

if TYPE_CHECKING:
    from fencecast.site.stimuli import BodyStimulus

POSTURES = {"person": WALK, "four-legged": FOUR_LEGGED, "flying": FLYING, "vehicle": VEHICLE}
_WAYS = {"cross": CROSS, "along": ALONG, "over": OVER}
# A way to or over the fence: up to so much off the square [rad], from and to so far off [m]. Judgement, no source.
WAY_ANGLE_RAD = 1.0
WAY_REACH_M = (8.0, 12.0)
_NOTHING = Quantity.fixed(0.0)


def _rows(site, body: BodyStimulus, choices: Choices) -> np.ndarray:
    """The quantities of one stimulus, in the order of `types`."""
    winter, summer = body.coat_m2k_w or (_NOTHING, _NOTHING)
    if body.silhouette == "person":
        emissivity = _NOTHING  # its clothing's
    else:
        emissivity = Quantity.fixed(VEHICLE_EMISSIVITY) if body.over_air_k else Quantity.uniform(*FUR_EMISSIVITY)
    quantities = (
        body.speed_m_s or site.intruder.speed_m_s["walk"],
        Quantity.lognormal(1.0, body.size_sigma_ln),
        winter,
        summer,
        emissivity,
        Quantity.uniform(-WAY_ANGLE_RAD, WAY_ANGLE_RAD),
        Quantity.uniform(*WAY_REACH_M),
        body.offset_m,
        body.base_m,
        body.pause_s,
    )
    assert len(quantities) == STIMULUS_QUANTITIES
    return np.array([pack_quantity(each, choices) for each in quantities])


def _limits(body: BodyStimulus) -> np.ndarray:
    """Where each quantity of the weather must be, in SI."""
    limits = np.tile([-math.inf, math.inf], (WEATHER_QUANTITIES, 1))
    for row, shift, name in QUANTITY_ROWS:
        if name in body.active:
            limits[row] = [end + shift for end in body.active[name]]
    return limits


def _cover(body: BodyStimulus) -> int:
    if body.silhouette == "person":
        return CLOTHED
    return COACHWORK if body.over_air_k else COATED


def pack_stimuli(site, bodies: Sequence[BodyStimulus]) -> Stimuli:
    """One row per stimulus; at least one."""
    choices = Choices()
    roads = [np.array(body.at.points_m if body.at else [], dtype=float).reshape(-1, 2) for body in bodies]
    pieces = [np.hstack([points[:-1], points[1:]]) for points in roads]
    shape_cycles = [site.decision.shape_cycles if body.shape_cycles is None else body.shape_cycles for body in bodies]
    return Stimuli(
        posture=np.array([POSTURES[body.silhouette] for body in bodies], dtype=np.int64),
        cover=np.array([_cover(body) for body in bodies], dtype=np.int64),
        size_m=np.array([body.size_m or (0.0, 0.0, 0.0) for body in bodies], dtype=float),
        way=np.array([_WAYS[body.way] for body in bodies], dtype=np.int64),
        through=np.array([[body.through[section.barrier] for section in site.perimeter] for body in bodies], dtype=float),
        base_of_barrier=np.array([body.base_of_barrier for body in bodies], dtype=np.int64),
        quantity=np.array([_rows(site, body, choices) for body in bodies]).reshape(-1, STIMULUS_QUANTITIES, DISTRIBUTION_WIDTH),
        choice=choices.table(),
        leg_m2k_w=np.array([body.leg_m2k_w or 0.0 for body in bodies], dtype=float),
        over_air_k=np.array([body.over_air_k or (0.0, 0.0) for body in bodies], dtype=float),
        confused=np.array([body.confused for body in bodies], dtype=float),
        shape_cycles=np.array(shape_cycles, dtype=float),
        active=np.array([_limits(body) for body in bodies]),
        rain_share=np.array([body.rain_share for body in bodies], dtype=float),
        road=np.vstack([*pieces, np.zeros((0, 4))]),
        road_first=np.cumsum([0] + [len(each) for each in pieces]).astype(np.int64),
        heavy_rain_mm_h=float(HEAVY_RAIN_MM_H.value),
        winter_coat_below_k=float(WINTER_COAT_BELOW_C.value) + ZERO_CELSIUS_K,
        foot_point_px=float(site.decision.foot_point_px),
    )


def pack_encounter_cells(site, bodies: Sequence[BodyStimulus], seed: int, weather=None) -> tuple[Cells, np.ndarray]:
    """One row per stimulus, weather class and segment, in that order, and the stimulus of each row.

    Strata are keyed by the stimulus's name, so that one more leaves the others' draws alone.
    """
    classes = classes_of(site) if weather is None else weather
    cuts = [cut_segments(section, site.site.segment_length_m) for section in site.perimeter]
    places = [
        (s, section.name, k, cut.start_m[k], cut.end_m[k])
        for s, (section, cut) in enumerate(zip(site.perimeter, cuts))
        for k in range(len(cut))
    ]
    rows = [
        (stimulus, w, s, start, end, stratum_key(seed, name, k, each.name, f"nuisance:{body.name}"))
        for stimulus, body in enumerate(bodies)
        for w, each in enumerate(classes)
        for s, name, k, start, end in places
    ]
    stimulus, w, section, start, end, key = zip(*rows) if rows else ([],) * 6
    cells = Cells(
        weather=np.array(w, dtype=np.int64),
        section=np.array(section, dtype=np.int64),
        start_m=np.array(start, dtype=float),
        end_m=np.array(end, dtype=float),
        key=np.array(key, dtype=np.uint64),
    )
    return cells, np.array(stimulus, dtype=np.int64)
