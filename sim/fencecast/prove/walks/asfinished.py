"""A site and its walks as rows of numbers: what a finished site has fixed is not drawn, what a card says is not either.

Tests: tests/prove/walks/test_kinds.py.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from fencecast.errors import UsageError
from fencecast.kernels.pack import pack_plan
from fencecast.kernels.pack_inputs import z_quadrature
from fencecast.kernels.types import (
    AIR_TEMPERATURE_K,
    APPROACH_RAD,
    CLIMB_S,
    CLO,
    FIXED,
    INTRUDER_QUANTITIES,
    PAUSE_S,
    RAIN_MM_H,
    RELATIVE_HUMIDITY,
    STATURE_M,
    TURN_RAD,
    UNIFORM,
    VISIBILITY_M,
    WEATHER_QUANTITIES,
    WIND_M_S,
    Cells,
    Plan,
)
from fencecast.kernels.walked import Walks
from fencecast.meteorology.load import classes_of
from fencecast.sampling.variables import key64
from fencecast.site.geometry import in_gate, section_length_m
from fencecast.site.schema import GAITS
from fencecast.units import ZERO_CELSIUS_K

# How well somebody keeps to a mark on the ground and to a heading (judgement, no source).
PLACE_WITHIN_M = 0.3
ANGLE_WITHIN_DEG = 5.0
# A walk from the fence starts this far outside it: nothing is seen before, and it still passes the line of the fence.
_FOOT_M = 1.0e-3
BEYOND_LINE_M = 1.0  # so that feet and a heading some degrees off pass the line (judgement, no source)
_CONDITIONS = {
    "air_c": (AIR_TEMPERATURE_K, ZERO_CELSIUS_K),
    "humidity": (RELATIVE_HUMIDITY, 0.0),
    "wind_m_s": (WIND_M_S, 0.0),
    "visibility_m": (VISIBILITY_M, 0.0),
    "rain_mm_h": (RAIN_MM_H, 0.0),
}
_GROUND = "ground_c"


@dataclass(frozen=True)
class Crossed:
    """What is walked: chainage [m] along the section, gait (of `site.schema.GAITS`), `in` or `out`.

    stature_m, clo: of the walker where known, else drawn as the site says.
    """

    section: str
    chainage_m: float
    gait: str
    direction: str = "in"
    stature_m: float | None = None
    clo: float | None = None


def pack_walks(
    site,
    walks: Sequence[Crossed],
    weather: str | Sequence[str],
    seed: int,
    from_fence: bool,
    conditions: Sequence[Mapping[str, float]] | None,
) -> tuple[Plan, Cells, Walks]:
    """The site as a finished one, and a row per walk; errors as in `simulate_walks`."""
    names = [weather] * len(walks) if isinstance(weather, str) else list(weather)
    noted = [{}] * len(walks) if conditions is None else [dict(each) for each in conditions]
    if not len(walks) == len(names) == len(noted):
        raise UsageError(f"{len(walks)} walks, {len(names)} weathers and {len(noted)} conditions: one of each for every walk")
    classes = [each for each in classes_of(site) if each.name in names]
    _check(site, walks, names, noted)
    plan = _as_finished(pack_plan(site, classes))
    sections = [section.name for section in site.perimeter]
    who, count = plan.intruder, len(walks)
    quantity = np.broadcast_to(who.quantity, (count, INTRUDER_QUANTITIES, who.quantity.shape[1])).copy()
    for row in (TURN_RAD, PAUSE_S, CLIMB_S):
        quantity[:, row] = 0.0
        quantity[:, row, 0] = FIXED
    within = math.radians(ANGLE_WITHIN_DEG)
    quantity[:, APPROACH_RAD] = 0.0
    quantity[:, APPROACH_RAD, :3] = UNIFORM, -within, within
    gaits = np.zeros((count, len(GAITS)))
    condition, ground_k = np.full((count, WEATHER_QUANTITIES), np.nan), np.full(count, np.nan)
    for k, (walk, given) in enumerate(zip(walks, noted)):
        for row, value in ((STATURE_M, walk.stature_m), (CLO, walk.clo)):
            if value is not None:
                quantity[k, row] = 0.0
                quantity[k, row, :2] = FIXED, value
        gaits[k, GAITS.index(walk.gait) :] = 1.0
        for key, value in given.items():
            if key == _GROUND:
                ground_k[k] = value + ZERO_CELSIUS_K
            else:
                row, shift = _CONDITIONS[key]
                condition[k, row] = value + shift
    inward = np.array([walk.direction == "in" for walk in walks], dtype=np.int64)
    path_m = float(site.intruder.path_m)
    outside_m = np.full(count, path_m)
    if from_fence:
        outside_m = np.array([_from_fence_m(site, walk) for walk in walks], dtype=float)
    chainage = np.array([walk.chainage_m for walk in walks], dtype=float)
    length = np.array([section_length_m(site.perimeter[sections.index(walk.section)]) for walk in walks], dtype=float)
    strata = [
        key64("walk", seed, walk.section, f"{walk.chainage_m:.3f}", walk.gait, walk.direction, name)
        for walk, name in zip(walks, names)
    ]
    cells = Cells(
        weather=np.zeros(count, dtype=np.int64),
        section=np.array([sections.index(walk.section) for walk in walks], dtype=np.int64),
        start_m=np.maximum(chainage - PLACE_WITHIN_M, 0.0),
        end_m=np.minimum(chainage + PLACE_WITHIN_M, length),
        key=np.array(strata, dtype=np.uint64),
    )
    order = [each.name for each in classes]
    packed = Walks(
        weather=np.array([order.index(name) for name in names], dtype=np.int64),
        quantity=quantity,
        gait_cumulative=gaits,
        outside_m=outside_m,
        inside_m=np.full(count, path_m),
        inward=inward,
        condition=condition,
        ground_k=ground_k,
    )
    return plan, cells, packed


def _from_fence_m(site, walk: Crossed) -> float:
    """How far outside the fence a walk from it starts or ends [m]: beyond the farthest line out there where no barrier stands."""
    section = next(each for each in site.perimeter if each.name == walk.section)
    out = [-rule.offset_m for rule in site.rule if rule.kind == "line" and rule.perimeter == walk.section]
    farthest = max(out, default=0.0)
    if farthest > 0.0 and (section.barrier == "none" or bool(in_gate(section, walk.chainage_m))):
        return farthest + BEYOND_LINE_M
    return _FOOT_M if walk.direction == "in" else 0.0


def _as_finished(plan: Plan) -> Plan:
    """The plan without what a finished site has fixed, and with each walk's own way instead of the rules'."""
    decision = plan.decision
    z, weight = z_quadrature(decision.correlation)
    spread = np.zeros_like(decision.spread)
    spread[:, 0] = FIXED
    decision = decision._replace(drawn=0, spread=spread, node_z=z, node_weight=weight)
    cameras = plan.cameras._replace(
        netd_spread=np.zeros_like(plan.cameras.netd_spread), tolerance=np.zeros_like(plan.cameras.tolerance)
    )  # fmt: skip
    return plan._replace(decision=decision, cameras=cameras, scene=plan.scene._replace(travel=0))


def _check(site, walks, names, noted) -> None:
    """UsageError with every walk that cannot be walked."""
    sections = {section.name: section_length_m(section) for section in site.perimeter}
    known = [each.name for each in classes_of(site)]
    problems = []
    for walk, name, given in zip(walks, names, noted):
        if walk.section not in sections:
            problems.append(f'no section "{walk.section}": {", ".join(sections)}')
        elif not 0.0 <= walk.chainage_m <= sections[walk.section]:
            problems.append(f"{walk.section} has no {walk.chainage_m:g} m: it is {sections[walk.section]:g} m long")
        if walk.gait not in GAITS:
            problems.append(f'no gait "{walk.gait}": {", ".join(GAITS)}')
        if walk.direction not in ("in", "out"):
            problems.append(f'no direction "{walk.direction}": in, out')
        if name not in known:
            problems.append(f'no weather class "{name}": {", ".join(known)}')
        unknown = sorted(set(given) - {*_CONDITIONS, _GROUND})
        if unknown:
            problems.append(f"no condition {', '.join(unknown)}: {', '.join([*_CONDITIONS, _GROUND])}")
    if problems:
        raise UsageError("; ".join(dict.fromkeys(problems)))
