"""Effective cycles of a walker on a straight path, as one camera sees it: the kernel's body and lens, without noise or draws.

Looks at 1 / looks_per_s from a time window and n - 1 looks before the rule's line is crossed to a time window after it (in an
area from when the dwell is over until it is left). N = 0.5 sqrt(A q): A the body's rectangle in the picture, q the share of it
inside the frame and above the shadow of what stands before it. N_eff is the m-th largest N of the best n successive looks. A
climb belongs to the path: upright, up and down over 6 s for 2.4 m.

Tests: tests/review/test_cover.py compares N with `fencecast explain`, and the ceiling with simulated Pd.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from fencecast.physics.body import BODY_SIZES, CROUCH, STAND
from fencecast.review.optics import Eye, Hiders, shadow_m

# As `kernels.path` scales the median climb.
CLIMB_S_PER_M = 6.0 / 2.4
GAITS = ("walk", "run", "crouch", "crawl", "flat_crawl")
_MOST_LOOKS = 60
# A camera is asked where the place lies within its field and this much more, and nearer than where a walker at full height
# makes this share of N50; outside both it resolves nobody.
_MARGIN_RAD = math.radians(5.0)
_LEAST_SHARE = 0.3


@dataclass(frozen=True)
class Walker:
    """Somebody who crosses: gait, speed [m/s], stature [m], depth of the body as a share of stature (NaN: the gait's own)."""

    gait: int
    speed_m_s: float
    stature_m: float
    depth_share: float
    climb_s: float | None = None  # of any barrier; None scales with its height

    def size_m(self, climbing: bool) -> tuple[float, float, float]:
        """Height, breadth, depth of the box."""
        row = BODY_SIZES[STAND if climbing else self.gait]
        height = row[0] * self.stature_m + row[1]
        depth = row[3] * self.stature_m + row[4]
        if not climbing and self.gait <= CROUCH and not math.isnan(self.depth_share):
            depth = self.depth_share * self.stature_m
        return float(height), float(row[2] * self.stature_m), float(depth)


def walkers_of(site) -> list[tuple[Walker, float]]:
    """Gaits that occur, at median speed and stature, with their shares."""
    who = site.intruder
    total = sum(who.gaits.values())
    climb = None if who.climb_s is None else max(who.climb_s.middle(), 0.0)
    return [
        (
            Walker(k, who.speed_m_s[name].middle(), who.stature_m.middle(), who.depth_ratio.get(name, math.nan), climb),
            who.gaits[name] / total,
        )
        for k, name in enumerate(GAITS)
        if who.gaits.get(name, 0.0) > 0.0
    ]


@dataclass(frozen=True, eq=False)
class Paths:
    """Straight paths (k,) that looks are taken on: foot of the fence, inward normal, depth of the rule's line and of the end of
    its area [m], climb height [m], how far they run outwards and inwards [m] (k, 2); `armed_s`: seconds before and after the
    line is crossed (k, 2), of an area the dwell and 0; `outward`: walked from inside out."""

    point: np.ndarray
    normal: np.ndarray
    depth_m: np.ndarray
    leave_m: np.ndarray
    climb_m: np.ndarray
    free_m: np.ndarray
    window_s: np.ndarray
    dwell_s: np.ndarray
    area: np.ndarray
    outward: np.ndarray

    def __len__(self) -> int:
        return len(self.depth_m)

    def take(self, rows: np.ndarray) -> Paths:
        return Paths(*(getattr(self, name)[rows] for name in self.__dataclass_fields__))


def look_times(paths: Paths, walker: Walker, looks_per_s: float, n: int) -> np.ndarray:
    """Times of looks (k, looks) [s], 0 when the foot leaves the fence inwards; NaN where there is no look."""
    step = 1.0 / looks_per_s
    climb = _climb_s(paths, walker)
    crossed = _time_at(paths.depth_m, climb, walker.speed_m_s)
    start = crossed - (n - 1) * step - np.where(paths.area, -paths.dwell_s, paths.window_s)
    leave = np.minimum(_time_at(paths.leave_m, climb, walker.speed_m_s), crossed + 60.0)
    end = np.where(paths.area, leave, crossed + paths.window_s)
    span = np.maximum(end - start, 0.0)
    # A long stay is asked in equal steps: successive looks differ little there.
    steps = np.where(span / step > _MOST_LOOKS, span / _MOST_LOOKS, step)
    count = int(min(math.floor(float((span / steps).max(initial=0.0)) + 1e-9), _MOST_LOOKS)) + 1
    times = start[:, None] + np.arange(count) * steps[:, None]
    times = np.where(times <= end[:, None] + 1e-9, times, np.nan)
    # Walked outwards the same looks lie the other way round about the line.
    return np.where(paths.outward[:, None], 2.0 * crossed[:, None] - times, times)


def _climb_s(paths: Paths, walker: Walker) -> np.ndarray:
    whole = paths.climb_m * CLIMB_S_PER_M if walker.climb_s is None else np.full(len(paths), walker.climb_s)
    return np.where(paths.climb_m > 0.0, np.maximum(whole, 1e-6), 0.0)


def _time_at(depth: np.ndarray, climb: np.ndarray, speed: float) -> np.ndarray:
    return np.where(depth >= 0.0, depth / speed, -climb + depth / speed)


def cycles_of_looks(eye: Eye, hiders: Hiders, paths: Paths, walker: Walker, times: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Resolved cycles N and seen share q of every look (k, looks); 0 where there is none."""
    rows, columns = np.nonzero(~np.isnan(times))
    t = times[rows, columns]
    climb = _climb_s(paths, walker)[rows]
    climbing = (t < 0.0) & (t > -climb)
    along = np.where(t >= 0.0, t, np.minimum(t + climb, 0.0)) * walker.speed_m_s
    base = np.where(climbing, paths.climb_m[rows] * (1.0 - np.abs(2.0 * t / np.maximum(climb, 1e-9) + 1.0)), 0.0)
    on_path = (along >= -paths.free_m[rows, 0] - 1e-6) & (along <= paths.free_m[rows, 1] + 1e-6)
    x = paths.point[rows, 0] + along * paths.normal[rows, 0]
    y = paths.point[rows, 1] + along * paths.normal[rows, 1]
    n, q = np.zeros(times.shape), np.zeros(times.shape)
    sizes = [np.where(climbing, up, plain) for up, plain in zip(walker.size_m(True), walker.size_m(False))]
    n_look, q_look = look(eye, hiders, (x, y, base), paths.normal[rows], sizes)
    n[rows, columns] = np.where(on_path, n_look, 0.0)
    q[rows, columns] = np.where(on_path, q_look, 0.0)
    return n, q


def look(eye: Eye, hiders: Hiders, foot, heading: np.ndarray, sizes) -> tuple[np.ndarray, np.ndarray]:
    """Cycles N and seen share q of bodies (n,): foot (x, y, base) [m], heading (n, 2), sizes (height, breadth, depth) [m].

    The rectangle as in `kernels.look.fill_body_image`; a corner that the lens cannot map makes the look empty.
    """
    x, y, base = foot
    height, breadth, depth = sizes
    dx, dy = x - eye.x_m, y - eye.y_m
    ground = np.maximum(np.hypot(dx, dy), 1e-3)
    sx, sy = dx / ground, dy / ground
    cosine = np.abs(heading[:, 0] * sx + heading[:, 1] * sy)
    sine = np.abs(heading[:, 0] * sy - heading[:, 1] * sx)
    width, thickness = cosine * breadth + sine * depth, sine * breadth + cosine * depth
    middle = base + 0.5 * height
    u_a, _, ok_a = eye.image_of(x - 0.5 * width * sy, y + 0.5 * width * sx, middle)
    u_b, _, ok_b = eye.image_of(x + 0.5 * width * sy, y - 0.5 * width * sx, middle)
    _, v_low, ok_low = eye.image_of(x - 0.5 * thickness * sx, y - 0.5 * thickness * sy, base)
    _, v_top, ok_top = eye.image_of(x + 0.5 * thickness * sx, y + 0.5 * thickness * sy, base + height)
    area = np.abs((u_b - u_a) * (v_low - v_top))
    mapped = ok_a & ok_b & ok_low & ok_top & (area > 0.0)
    half_u, half_v = 0.5 * eye.columns, 0.5 * eye.rows
    mapped &= (np.maximum(u_a, u_b) > -half_u) & (np.minimum(u_a, u_b) < half_u)
    mapped &= (np.maximum(v_low, v_top) > -half_v) & (np.minimum(v_low, v_top) < half_v)
    shadow = np.zeros(len(x))
    shadow[mapped] = shadow_m(eye, hiders, x[mapped], y[mapped])
    hidden = np.clip((shadow - base) / height, 0.0, 1.0)
    v_low = v_low - hidden * (v_low - v_top)
    u_low, u_high = np.clip(np.minimum(u_a, u_b), -half_u, half_u), np.clip(np.maximum(u_a, u_b), -half_u, half_u)
    v_first, v_last = np.clip(np.minimum(v_low, v_top), -half_v, half_v), np.clip(np.maximum(v_low, v_top), -half_v, half_v)
    seen = (u_high - u_low) * (v_last - v_first)
    share = np.where(mapped, seen / np.where(area > 0.0, area, 1.0), 0.0)
    return 0.5 * np.sqrt(np.where(mapped, area, 0.0) * share), share


def effective_cycles(n_looks: np.ndarray, m: int, n: int) -> np.ndarray:
    """The m-th largest N of the best n successive looks, (k,); looks (k, looks)."""
    count = n_looks.shape[1]
    if count < m:
        return np.zeros(len(n_looks))
    padded = n_looks if count >= n else np.hstack([n_looks, np.zeros((len(n_looks), n - count))])
    windows = np.lib.stride_tricks.sliding_window_view(padded, n, axis=1)
    return np.partition(windows, n - m, axis=2)[:, :, n - m].max(axis=1)


def near_enough(eye: Eye, walker_m: float, point: np.ndarray, cycles_50: float, slack_m: float) -> np.ndarray:
    """Which points (k, 2) a camera is worth asking at: inside its field with a margin, and not beyond what it can resolve.

    walker_m: side of the square that a standing person fills [m]; slack_m: how far looks lie from the points.
    """
    dx, dy = point[:, 0] - eye.x_m, point[:, 1] - eye.y_m
    distance = np.hypot(dx, dy)
    farthest = 0.5 * walker_m * eye.focal_px / (_LEAST_SHARE * cycles_50)
    near = distance <= farthest + slack_m
    corner = math.hypot(math.tan(0.5 * min(eye.horizontal_field_rad, 3.1)), math.tan(0.5 * min(eye.vertical_field_rad, 3.1)))
    # A steep or very wide camera frames points at any bearing.
    if eye.lower_edge_rad > math.radians(75.0) or corner > 4.0:
        return near
    half = math.atan(math.tan(0.5 * eye.horizontal_field_rad) / math.cos(max(eye.lower_edge_rad, 0.0)))
    off = np.abs((np.arctan2(dx, dy) - eye.bearing_rad + math.pi) % (2.0 * math.pi) - math.pi)
    return near & ((off <= half + _MARGIN_RAD + np.arctan2(slack_m, np.maximum(distance, 1e-6))) | (distance <= slack_m))


def probability(ratio: np.ndarray) -> np.ndarray:
    """Chance that a walker with N / N50 = ratio is classified: `physics.discrimination.discrimination_probability` of arrays."""
    x = np.maximum(ratio, 1e-12)
    return np.where(ratio > 0.0, 1.0 / (1.0 + np.exp(-(2.7 + 0.7 * x) * np.log(x))), 0.0)


def ratio_of(wanted: float) -> float:
    """The N / N50 at which that chance is `wanted`, by bisection."""
    low, high = -12.0, 5.0
    for _ in range(60):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if float(probability(np.array(math.exp(middle)))) < wanted else (low, middle)
    return math.exp(0.5 * (low + high))
