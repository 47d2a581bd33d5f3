"""From where to where a lens meets the requirement: near and far end, found by simulation, for heights and depressions.

One camera per depression looks along a straight unfenced line at the same crossings; heights, depressions and spacing of layouts
follow from the interval of distances over which its Pd is at least the requirement.
"""

from __future__ import annotations

import hashlib
import math
import threading
from dataclasses import dataclass, fields

import numpy as np

from fencecast.decide.place.kit import Choice, Kit
from fencecast.errors import UsageError
from fencecast.estimate.simulate import advance, new_tally
from fencecast.kernels.crossing import SUM_CAMERA
from fencecast.kernels.pack import pack_plan
from fencecast.kernels.types import Cells
from fencecast.lensranges import PERSON_HEIGHT_M, PERSON_WIDTH_M
from fencecast.meteorology.load import classes_of
from fencecast.meteorology.year import HourClass
from fencecast.sampling.variables import stratum_key
from fencecast.site import Site
from fencecast.site.reading import KEYED, SINGLE
from fencecast.site.schema import Camera
from fencecast.site.without import no_stimuli

# Depressions tried, in halves of the vertical field: at 1 the upper edge of the frame lies on the horizon. Flatter looks farther,
# steeper sees nearer; outside this range either the sky or the ground below the camera fills the frame.
_DEPRESSIONS = (0.25, 0.5, 0.75, 1.0, 1.3, 1.7, 2.2)
_NEAREST_M = 1.0
_STEP = 1.12  # ratio between distances: ends are interpolated between them
_POINTS = 4  # of each of 8 scramblings: 32 crossings a cell
_BEYOND_M = 60.0
# A class in which the best lens meets the requirement over less than this share of its length in the best class sets no spacing
# (judgement).
_LEAST_SHARE = 0.25
_KEPT: dict = {}
_LOCK = threading.Lock()


@dataclass(frozen=True)
class Reach:
    """One lens at one height and depression: it meets the requirement from near_m to far_m (equal when it does nowhere)."""

    choice: Choice
    height_m: float
    depression_deg: float
    near_m: float
    far_m: float

    @property
    def length_m(self) -> float:
        return self.far_m - self.near_m


def distances_m(choice: Choice, cycles_50: float) -> np.ndarray:
    """Distances to ask: from 1 m to where a person on paper (`lensranges`) has half of cycles_50, in equal ratios."""
    farthest = max(math.sqrt(PERSON_HEIGHT_M * PERSON_WIDTH_M) * choice.image.focal_px / cycles_50, 4.0 * _NEAREST_M)
    count = int(math.ceil(math.log(farthest / _NEAREST_M) / math.log(_STEP))) + 1
    return np.geomspace(_NEAREST_M, farthest, count)


def _line_site(site, choice: Choice, heights_m, farthest_m: float) -> Site:
    """The site's people, air and decision at a straight open line, and one camera for each height and depression."""
    line = [[0.0, -_BEYOND_M], [0.0, farthest_m + _BEYOND_M]]
    cameras = [
        Camera(
            mark=f"{h:g} m {d:.6f}",
            position_m=(0.0, 0.0),
            height_m=h,
            bearing_deg=0.0,
            depression_deg=d,
            sensor=choice.sensor,
            lens=choice.lens,
        )
        for h in heights_m
        for d in depressions_deg(choice)
    ]
    time_window_s = next((rule.time_window_s for rule in site.rule if rule.kind == "line"), 1.0)
    tables = {name: getattr(site, name) for name in (*SINGLE, *KEYED) if getattr(site, name) is not None and name != "kit"}
    tables |= no_stimuli(site)
    return Site(
        title="reach",
        perimeter=[{"name": "line", "points_m": line, "inside": "left"}],
        camera=cameras,
        rule=[{"kind": "line", "perimeter": "line", "time_window_s": time_window_s}],
        weather=site.weather,
        **tables,
    )


def depressions_deg(choice: Choice) -> tuple[float, ...]:
    """Depressions to try [degrees], below straight down."""
    return tuple(min(math.degrees(share * 0.5 * choice.image.vertical_field_rad), 80.0) for share in _DEPRESSIONS)


def pd_by_distance(site, choice: Choice, heights_m, classes, seed: int, threads: int = 1):
    """Pd of one camera: distances (d,), pd (heights, depressions, classes, d). Kept for the next call with the same arguments."""
    distances = distances_m(choice, site.decision.cycles_50.middle())
    line = _line_site(site, choice, heights_m, float(distances[-1]))
    key = (line.text, tuple((w.name, w.hours_per_year, _hours_digest(w)) for w in classes), seed)
    with _LOCK:
        if key in _KEPT:
            return _KEPT[key]
    count = len(distances)
    keys = [stratum_key(seed, choice.lens, k, w.name, "reach") for w in classes for k in range(count)]
    chainage = np.tile(distances + _BEYOND_M, len(classes))
    cells = Cells(
        weather=np.repeat(np.arange(len(classes), dtype=np.int64), count),
        section=np.zeros(len(keys), dtype=np.int64),
        start_m=chainage,
        end_m=chainage,
        key=np.array(keys, dtype=np.uint64),
    )
    plan = pack_plan(line, classes)
    tally = new_tally(len(keys), len(line.camera))
    advance(plan, cells, tally, np.arange(len(keys)), _POINTS, threads)
    pd = np.array([tally.mean(SUM_CAMERA + k) for k in range(len(line.camera))])
    found = distances, pd.reshape(len(heights_m), len(_DEPRESSIONS), len(classes), count)
    with _LOCK:
        if len(_KEPT) >= 64:
            _KEPT.clear()
        _KEPT[key] = found
    return found


def _hours_digest(weather) -> bytes:
    """What distinguishes classes of real hours of the same name and length; classes of tables differ in the site's text."""
    if not isinstance(weather, HourClass):
        return b""
    columns = (getattr(weather.states, column.name) for column in fields(weather.states))
    return hashlib.sha256(b"".join(np.ascontiguousarray(column).tobytes() for column in columns)).digest()


def held_interval(distances, pd, need: float) -> tuple[float, float]:
    """The longest unbroken stretch with pd at or above `need`, ends interpolated in the logarithm of distance; (d, d) if none."""
    held = np.concatenate([[False], np.asarray(pd) >= need, [False]])
    edges = np.flatnonzero(np.diff(held.astype(int)))
    best = (float(distances[0]), float(distances[0]))
    for a, b in zip(edges[::2], edges[1::2] - 1):
        near = float(distances[a]) if a == 0 else _cross(distances, pd, a - 1, need)
        far = float(distances[b]) if b + 1 == len(distances) else _cross(distances, pd, b, need)
        if far - near > best[1] - best[0]:
            best = (near, far)
    return best


def _cross(distances, pd, i: int, need: float) -> float:
    """Distance between i and i + 1 at which pd passes `need`."""
    share = (need - pd[i]) / (pd[i + 1] - pd[i])
    return float(distances[i] * (distances[i + 1] / distances[i]) ** share)


def counted(classes) -> tuple:
    """The classes with hours, or all when none has any."""
    return tuple(w for w in classes if w.hours_per_year > 0) or tuple(classes)


def reaches(
    site, kit: Kit, requirement, classes=None, weather: str = "worst", seed: int | None = None, threads: int = 1, heights=()
) -> tuple[list[Reach], tuple[str, ...]]:
    """Every choice of the kit at every height of its mounts and every depression, and the classes that set no interval.

    weather: "worst", the interval meets the requirement in every class but those in which the best lens does over less than
    a quarter of its length in the best class; "year", the mean over the year; or a class's name. heights: more heights [m] than
    the mounts have. UsageError when no lens meets it anywhere.
    """
    classes = counted(classes or classes_of(site))
    if weather not in ("worst", "year"):
        classes = tuple(w for w in classes if w.name == weather)
    if not classes:
        raise UsageError(f'no weather class "{weather}" with hours in this site')
    seed = site.seed if seed is None else seed
    heights = tuple(sorted({*heights, *(height for mount in kit.mounts for height in mount.heights_m)}))
    curves = [(choice, *pd_by_distance(site, choice, heights, classes, seed, threads)) for choice in kit.choices]
    hours = np.array([w.hours_per_year for w in classes], dtype=float)
    left_out: tuple[str, ...] = ()
    decisive = np.ones(len(classes), dtype=bool)
    if weather == "worst":
        longest = np.array([max(_length(c, k, requirement.pd) for c in curves) for k in range(len(classes))])
        decisive = longest >= _LEAST_SHARE * longest.max()
        left_out = tuple(w.name for w, kept in zip(classes, decisive) if not kept)
    found = []
    for choice, distances, pd in curves:
        for i, height in enumerate(heights):
            for j, depression in enumerate(depressions_deg(choice)):
                curve = np.average(pd[i, j], axis=0, weights=hours) if weather == "year" else pd[i, j][decisive].min(axis=0)
                found.append(Reach(choice, height, depression, *held_interval(distances, curve, requirement.pd)))
    if not any(reach.length_m > 0.0 for reach in found):
        raise UsageError(
            f"no lens of the kit reaches Pd {requirement.pd:g} at any distance"
            + ("" if weather == "worst" else f" in {weather}")
            + "; type a lower [requirement] pd, or give the kit a longer lens"
        )
    return found, left_out


def _length(curve, k: int, need: float) -> float:
    """Longest interval of one lens in one class over heights and depressions [m]."""
    _, distances, pd = curve
    spans = [held_interval(distances, row[k], need) for by_height in pd for row in by_height]
    return max(far - near for near, far in spans)


def fitting(found: list[Reach], sensor=None, lens=None, height_m=None) -> list[Reach]:
    """Those that keep to a sensor, a lens and a height, where these are given."""
    return [
        reach
        for reach in found
        if sensor in (None, reach.choice.sensor) and lens in (None, reach.choice.lens) and height_m in (None, reach.height_m)
    ]


def best_reach(found: list[Reach], kit: Kit, **wanted) -> Reach:
    """The longest interval for its price; wanted: sensor, lens, height_m to keep to. UsageError when all are empty."""
    fits = fitting(found, **wanted)
    best = max(fits, key=lambda reach: reach.length_m / max(kit.camera_cost(reach.choice), 1e-9), default=None)
    if best is None or best.length_m <= 0.0:
        asked = ", ".join(f"{key} {value}" for key, value in wanted.items() if value is not None)
        raise UsageError(f"no camera of the kit with {asked} meets the requirement at any distance; leave one of these out")
    return best
