"""Layout strategies: functions from a site, a kit and a requirement to cameras.

    strategy(site, kit, requirement, **options) -> tuple[Camera, ...]

Heights, depressions and spacing follow from where each lens holds the requirement (`reach`). Options that all of them take:
sensor, lens, height_m (keep to these), weather ("worst", "year" or a class, see `reach.reaches`), stretch (how much wider than
the reach allows masts stand; more than 1 saves cameras and leaves gaps), seed, threads.
"""

from __future__ import annotations

import importlib
import math
import os
import sys
from collections.abc import Callable

import numpy as np
import shapely
import shapely.ops

from fencecast.decide.layout import free_marks
from fencecast.decide.place.kit import INSIDE_M, Kit, buildings, mounting_shape, mountings_of
from fencecast.decide.place.reach import Reach, best_reach, fitting, reaches
from fencecast.decide.place.views import Run, bearings_deg, clear, held_from, hiders, straight_runs, targets_of
from fencecast.errors import FencecastError, UsageError, did_you_mean, name_list
from fencecast.site.geometry import bearing_of
from fencecast.site.schema import Camera

# Masts nearer to each other than this are one (judgement).
SAME_MAST_M = 1.5
# On a building a camera hangs this far off the face, and places are tried this far apart (judgement).
_BRACKET_M, _FACE_STEP_M = 0.1, 6.0
# Outward from buildings: no more cameras when the next would add less than this share of what the first held (judgement).
_LEAST_SHARE = 0.1


class _Masts:
    """Collects cameras; those at one place share a mast, which is what they depend on."""

    def __init__(self, site, kit: Kit):
        self.site, self.kit = site, kit
        self.mountings = [(mounting, mounting_shape(mounting)) for mounting in mountings_of(site)]
        self.solid = buildings(site)
        self.rows: list[tuple[tuple[float, float], float, Reach, float]] = []
        self.places: list[tuple[float, float, float]] = []

    def mast(self, run: Run, chainage_m: float, height_m: float) -> tuple[float, float, float]:
        """The allowed place nearest to a place beside the fence, and what a camera costs more there."""
        # As far from the run's end as from the fence: at a right corner both runs then share a mast.
        margin = min(INSIDE_M, 0.5 * run.length_m)
        chainage_m = min(max(chainage_m, margin), run.length_m - margin)
        wanted = shapely.Point(run.point(chainage_m) + INSIDE_M * run.inward)
        best = None
        for mounting, shape in self.mountings:
            if height_m in mounting.heights_m:
                point = shapely.ops.nearest_points(shape, wanted)[0]
                if not any(height_m < roof and solid.contains(point) for solid, roof in self.solid):
                    found = (wanted.distance(point), point.x, point.y, float(mounting.price))
                    best = min(best or found, found)
        if best is None:  # the nearest place lies in a building: one of the places that do not
            best = min(
                (math.dist((wanted.x, wanted.y), (m.x_m, m.y_m)), m.x_m, m.y_m, m.price)
                for m in self.kit.mounts
                if height_m in m.heights_m
            )
        near = [place for place in self.places if math.dist(place[:2], best[1:3]) <= SAME_MAST_M]
        if near:
            return near[0]
        self.places.append(best[1:])
        return best[1:]

    def look(self, reach: Reach, place: tuple[float, float, float], toward) -> None:
        """One camera at a place, aimed in plan at a point."""
        x, y, extra = place
        bearing = float(bearing_of(np.asarray(toward, dtype=float) - [x, y]))
        self.rows.append(((x, y), bearing, reach, extra))

    def cameras(self) -> tuple[Camera, ...]:
        """The cameras collected, marked and with their prices."""
        masts: dict[tuple[float, float], str] = {}
        made = []
        for mark, ((x, y), bearing, reach, extra) in zip(free_marks(self.site, len(self.rows)), self.rows):
            place = (round(x, 3), round(y, 3))
            mast = masts.setdefault(place, f"mast {len(masts) + 1}")
            price = {"price": round(self.kit.camera_cost(reach.choice, extra), 2)} if self.kit.priced else {}
            made.append(
                Camera(
                    mark=mark,
                    position_m=place,
                    height_m=reach.height_m,
                    bearing_deg=round(bearing, 2),
                    depression_deg=round(reach.depression_deg, 2),
                    sensor=reach.choice.sensor,
                    lens=reach.choice.lens,
                    depends_on=mast,
                    **price,
                )
            )
        return tuple(made)


def _chosen(site, kit, requirement, sensor, lens, height_m, weather, seed, threads) -> Reach:
    found, _ = reaches(site, kit, requirement, weather=weather, seed=seed, threads=threads)
    return best_reach(found, kit, sensor=sensor, lens=lens, height_m=height_m)


def chain(
    site, kit, requirement, *, sensor=None, lens=None, height_m=None, weather="worst", stretch=1.0, seed=None, threads=1
) -> tuple[Camera, ...]:
    """Along the fence: masts in a row, each camera looks past the next one and over its blind ground.

    A camera holds near to far, so masts stand at most far - near apart. The first metres of a run lie before every camera: one
    more, on the first mast that stands far enough, looks back at them.
    """
    reach = _chosen(site, kit, requirement, sensor, lens, height_m, weather, seed, threads)
    near, far = reach.near_m, reach.near_m + reach.length_m * stretch
    masts = _Masts(site, kit)
    for run in straight_runs(site):
        count = max(1, math.ceil((run.length_m - near) / (far - near) - 1e-9))
        step = max(run.length_m - near, 0.0) / count
        places = [k * step for k in range(count)]
        for place in places:
            ahead = min(place + near + step, run.length_m)
            masts.look(reach, masts.mast(run, place, reach.height_m), run.point(max(ahead, place + 1.0)))
        back = next((place for place in places if 1.9 * near <= place <= far), min(max(2.0 * near, step), far, run.length_m))
        masts.look(reach, masts.mast(run, back, reach.height_m), run.point(0.0))
    return masts.cameras()


def corner_pairs(
    site, kit, requirement, *, sensor=None, lens=None, height_m=None, weather="worst", stretch=1.0, seed=None, threads=1
) -> tuple[Camera, ...]:
    """Masts at the corners, two cameras on each: every run is watched from both ends, each end over the other's blind ground.

    A run longer than far gets masts in between, so that from each end of a part the other end's foot is held.
    """
    reach = _chosen(site, kit, requirement, sensor, lens, height_m, weather, seed, threads)
    masts = _Masts(site, kit)
    for run in straight_runs(site):
        parts = max(1, math.ceil(run.length_m / (reach.near_m + reach.length_m * stretch) - 1e-9))
        ends = np.linspace(0.0, run.length_m, parts + 1)
        for a, b in zip(ends[:-1], ends[1:]):
            masts.look(reach, masts.mast(run, a, reach.height_m), run.point(b))
            masts.look(reach, masts.mast(run, b, reach.height_m), run.point(a))
    return masts.cameras()


def back_to_back(
    site, kit, requirement, *, sensor=None, lens=None, height_m=None, weather="worst", stretch=1.0, seed=None, threads=1
) -> tuple[Camera, ...]:
    """Masts along the fence with two cameras each, looking away from each other; a neighbour looks over each mast's foot.

    Masts stand at most far - near apart, the outer ones at most far from the ends; at least two, so that each foot is seen.
    """
    reach = _chosen(site, kit, requirement, sensor, lens, height_m, weather, seed, threads)
    near, far = reach.near_m, reach.near_m + reach.length_m * stretch
    masts = _Masts(site, kit)
    for run in straight_runs(site):
        count = max(2, math.ceil((run.length_m - 2.0 * far) / (far - near) - 1e-9) + 1)
        share = run.length_m / (2.0 * far + (count - 1) * (far - near))
        step = min(max(share * (far - near), 2.0 * near), run.length_m / (count - 1))
        first = 0.5 * (run.length_m - (count - 1) * step)
        for k in range(count):
            place = masts.mast(run, first + k * step, reach.height_m)
            masts.look(reach, place, run.point(-1.0))
            masts.look(reach, place, run.point(run.length_m + 1.0))
    return masts.cameras()


def from_buildings(
    site, kit, requirement, *, sensor=None, lens=None, height_m=None, weather="worst", stretch=1.0, seed=None, threads=1
) -> tuple[Camera, ...]:
    """Outward from buildings: cameras on faces of obstacles, one after the other where the next holds the most new metres.

    Heights are those of the kit's places that the building reaches. UsageError when no building carries a camera.
    """
    found, _ = reaches(site, kit, requirement, weather=weather, seed=seed, threads=threads)
    fits = [r for r in fitting(found, sensor=sensor, lens=lens, height_m=height_m) if r.length_m > 0.0]
    targets, blocks = targets_of(site), hiders(site)
    options = []
    for x, y, roof in _faces(site):
        for height in sorted({reach.height_m for reach in fits if reach.height_m <= roof}):
            in_sight = clear(blocks, x, y, height, targets.points)
            for reach in (r for r in fits if r.height_m == height):
                for bearing in bearings_deg(reach, x, y, targets.points[in_sight]):
                    held = held_from(reach, x, y, bearing, targets.points, in_sight, stretch)
                    if held.any():
                        options.append(((x, y), bearing, reach, held))
    if not options:
        raise UsageError("no obstacle of this site carries a camera that holds any fence; choose another strategy")
    held = np.array([option[3] for option in options])
    cost = np.array([kit.camera_cost(option[2].choice) for option in options])
    longer = 1e-6 * np.array([option[2].length_m for option in options])  # of equals the depression that holds farther
    left, first = np.ones(len(targets.points), dtype=bool), 0.0
    masts = _Masts(site, kit)
    while True:
        metres = held[:, left] @ targets.lengths[left]
        best = int(np.argmax((metres + longer) / np.maximum(cost, 1e-9)))
        first = first or metres[best]
        if metres[best] <= 0.0 or metres[best] < _LEAST_SHARE * first:
            return masts.cameras()
        place, bearing, reach, _ = options[best]
        masts.rows.append((place, bearing, reach, 0.0))
        left &= ~held[best]


def _faces(site) -> list[tuple[float, float, float]]:
    """Places on the faces of obstacles: corners and points between them (x, y), and the roof's height [m]."""
    places = []
    for obstacle in site.obstacle:
        ring = shapely.Polygon(obstacle.footprint_m).buffer(_BRACKET_M, join_style="mitre").exterior
        corners = shapely.get_coordinates(shapely.segmentize(ring, _FACE_STEP_M))[:-1]
        places += [(float(x), float(y), float(obstacle.height_m)) for x, y in corners]
    return places


STRATEGIES: dict[str, Callable] = {
    "chain": chain,
    "corner pairs": corner_pairs,
    "back to back": back_to_back,
    "from buildings": from_buildings,
}


def strategy_of(name: str | Callable) -> Callable:
    """A strategy by its name in `STRATEGIES`, as "module:function" (also from the folder where you stand), or a function."""
    if callable(name):
        return _checked(name, getattr(name, "__name__", "your function"))
    if name in STRATEGIES:
        return STRATEGIES[name]
    module, colon, function = str(name).partition(":")
    if not colon:
        known = f"{name_list(STRATEGIES)}, or your own as module:function"
        raise UsageError(f'no strategy "{name}"; there are {known}' + did_you_mean(name, STRATEGIES))
    sys.path.insert(0, os.getcwd())
    try:
        found = getattr(importlib.import_module(module), function)
    except (ImportError, AttributeError) as error:
        raise UsageError(f"strategy {name} cannot be loaded: {error}") from None
    finally:
        sys.path.pop(0)
    return _checked(found, str(name))


def _checked(function: Callable, name: str) -> Callable:
    """A user's function, its answer checked: cameras, or tables with the keys of [[camera]]."""

    def strategy(site, kit, requirement, **options) -> tuple[Camera, ...]:
        answer = function(site, kit, requirement, **options)
        try:
            cameras = tuple(each if isinstance(each, Camera) else Camera(**each) for each in answer)
        except FencecastError:
            raise
        except Exception as error:
            raise UsageError(f"strategy {name} must return cameras, or tables with the keys of [[camera]]: {error}") from None
        if not cameras:
            raise UsageError(f"strategy {name} returned no camera")
        return cameras

    return strategy
