"""The pose of a camera from marks on the ground that were read in its picture: weighted least squares with analytic derivatives.

Unknown: bearing, depression, roll, height, mast x and y, and the logarithm of the focal length when it is asked for. Every column
and row that was read is one observation, in units of its error: sqrt(sd_px^2 + quantum^2 / 12 + (f sd_mark / R)^2), where R is
the distance from lens to mark; so is every prior: roll about the file's, height about the tape's, the mast about the file's.
Bearing and depression have none. Levenberg's damping takes Gauss-Newton steps home from any of four starts; the covariance is the
inverse of J^T J at the solution (standard least squares).

Radians, metres, pixels from the picture's upper left corner, pixel i being [i, i + 1). Nothing is drawn: the same readings give
the same bits. Tests: tests/prove/built/test_built_pose.py.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from scipy.special import chdtrc

from fencecast.camera import ImageGeometry
from fencecast.physics.optics import RECTILINEAR, RECTILINEAR_LIMIT_RAD

NAMES = ("bearing", "depression", "roll", "height", "x", "y", "ln_focal")
BEARING, DEPRESSION, ROLL, HEIGHT, X, Y, LN_FOCAL = range(7)
# Starts on both sides of the file's bearing, besides it and what the readings themselves say.
_ASIDE_RAD = math.radians(20.0)
_MOST_STEPS, _SMALL = 60, 1.0e-10
_COS_LIMIT = math.cos(RECTILINEAR_LIMIT_RAD)


@dataclass(frozen=True)
class Errors:
    """Standard deviations: of a reading [px], of a mark's place [m], and of the priors (judgement, no source).

    quantum: of a reading that comes in whole pixels of the picture that was read (columns, rows), in pixels of the sensor.
    """

    reading_px: float = 1.0
    quantum_px: tuple[float, float] = (1.0, 1.0)
    mark_m: float = 0.03
    roll_rad: float = math.radians(5.0)
    height_m: float = 0.05
    mast_m: float = 0.05
    ln_focal: float = 0.5


@dataclass(frozen=True, eq=False)
class Marks:
    """What was read of one camera: places (n, 3) [m] and where they appeared (n, 2) [px], column and row."""

    place: np.ndarray
    read: np.ndarray

    def __len__(self) -> int:
        return len(self.place)


@dataclass(frozen=True, eq=False)
class Pose:
    """A solved camera.

    value (6 or 7,): in the order of `NAMES`; covariance of the same; cost: sum of squares, priors among them; dof: its degrees
    of freedom; p: chance of a larger cost when every error is as it is taken to be; fitted (n, 2) [px]: where the marks would
    appear; residual (n, 2) [px]: read minus fitted; sd_px (n, 2): error of each reading.
    """

    value: np.ndarray
    covariance: np.ndarray
    cost: float
    dof: int
    fitted: np.ndarray
    residual: np.ndarray
    sd_px: np.ndarray

    @property
    def sd(self) -> np.ndarray:
        """Standard deviations, in the order of `value`."""
        return np.sqrt(np.diag(self.covariance))

    @property
    def p(self) -> float:
        """Chance of a cost as large, by the chi-squared distribution."""
        return float(chdtrc(self.dof, self.cost))


def picture_of(value: np.ndarray, place: np.ndarray, image: ImageGeometry) -> tuple[np.ndarray, np.ndarray]:
    """Where places (n, 3) appear (n, 2) [px] to a camera of this pose, and its derivatives (n, 2, len(value)).

    p = A(bearing, depression, roll)(X - C); columns / 2 + f p_x / p_z and rows / 2 + f p_y / p_z, or radial with f theta when
    equidistant. NaN where the lens maps nothing.
    """
    bearing, depression, roll, height, x, y = value[:6]
    focal = image.focal_px * (math.exp(value[LN_FOCAL]) if len(value) > LN_FOCAL else 1.0)
    sb, cb, st, ct = math.sin(bearing), math.cos(bearing), math.sin(depression), math.cos(depression)
    sr, cr = math.sin(roll), math.cos(roll)
    level_right, level_down = np.array([cb, -sb, 0.0]), np.array([-sb * st, -cb * st, -ct])
    ahead = np.array([sb * ct, cb * ct, -st])
    axes = np.stack([cr * level_right + sr * level_down, cr * level_down - sr * level_right, ahead])
    from_lens = place - np.array([x, y, height])
    a0, b0 = from_lens @ level_right, from_lens @ level_down
    a, b, c = (from_lens @ axis for axis in axes)
    # d (right, down, ahead) / d (bearing, depression, roll, height, x, y): (n, 3, 6).
    turn = np.zeros((len(place), 3, 6))
    da0, db0 = st * b0 - ct * c, -st * a0
    turn[:, 0, BEARING], turn[:, 1, BEARING], turn[:, 2, BEARING] = cr * da0 + sr * db0, cr * db0 - sr * da0, ct * a0
    turn[:, 0, DEPRESSION], turn[:, 1, DEPRESSION], turn[:, 2, DEPRESSION] = -sr * c, -cr * c, b0
    turn[:, 0, ROLL], turn[:, 1, ROLL] = b, -a
    turn[:, :, HEIGHT], turn[:, :, X], turn[:, :, Y] = -axes[:, 2], -axes[:, 0], -axes[:, 1]
    offset, by_frame = _projected(a, b, c, focal, image.projection)
    slope = np.zeros((len(place), 2, len(value)))
    slope[:, :, :6] = by_frame @ turn
    if len(value) > LN_FOCAL:
        slope[:, :, LN_FOCAL] = offset
    return offset + (0.5 * image.columns, 0.5 * image.rows), slope


def _projected(a: np.ndarray, b: np.ndarray, c: np.ndarray, focal: float, projection: int) -> tuple[np.ndarray, np.ndarray]:
    """Picture places from the axis (n, 2), and their derivatives by right, down, ahead (n, 2, 3)."""
    radius = np.hypot(a, b)
    slope = np.empty((len(a), 2, 3))
    if projection == RECTILINEAR:
        c = np.where((c > 0.0) & (c > _COS_LIMIT * np.hypot(radius, c)), c, np.nan)
        u, v = focal * a / c, focal * b / c
        slope[:, 0] = np.stack([focal / c, np.zeros_like(c), -u / c], axis=1)
        slope[:, 1] = np.stack([np.zeros_like(c), focal / c, -v / c], axis=1)
        return np.stack([u, v], axis=1), slope
    theta, reach2 = np.arctan2(radius, c), radius**2 + c**2
    near = radius < 1e-9 * np.sqrt(reach2)
    safe = np.where(near, 1.0, radius)
    scale = np.where(near, np.where(c > 0.0, focal / np.abs(c), np.nan), focal * theta / safe)
    # d scale / d radius, over the radius; it is 0 on the axis by symmetry.
    by_radius = np.where(near, 0.0, focal * (c / reach2 - theta / safe) / safe**2)
    by_ahead = -focal / reach2
    for row, own in enumerate((a, b)):
        slope[:, row] = np.stack([own * by_radius * a, own * by_radius * b, own * by_ahead], axis=1)
        slope[:, row, row] += scale
    return np.stack([scale * a, scale * b], axis=1), slope


def solve(
    marks: Marks, image: ImageGeometry, design: np.ndarray, tape_m: float, errors: Errors | None = None, lens_free: bool = False
) -> Pose:
    """The pose that fits the readings best. design (6,): the file's pose, in the order of `NAMES`; tape_m: height by tape.

    The best of all starts, the first of equals. Valid for three marks and more that are not all behind the lens.
    """
    errors = errors or Errors()
    middle = np.append(design, 0.0) if lens_free else np.array(design, dtype=float)
    middle[HEIGHT] = tape_m
    lens = middle[[X, Y, HEIGHT]]
    reach = np.linalg.norm(marks.place - lens, axis=1)
    quantum = np.array(errors.quantum_px) ** 2 / 12.0
    sd_px = np.sqrt(errors.reading_px**2 + quantum + (image.focal_px * errors.mark_m / reach)[:, None] ** 2)
    prior = np.full(len(middle), np.inf)
    prior[[ROLL, HEIGHT, X, Y]] = errors.roll_rad, errors.height_m, errors.mast_m, errors.mast_m
    if lens_free:
        prior[LN_FOCAL] = errors.ln_focal
    held = np.isfinite(prior)

    def misfit(value: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """Residuals in units of their errors, and their derivatives."""
        fitted, slope = picture_of(value, marks.place, image)
        own = ((value - middle) / prior)[held]
        r = np.concatenate([((fitted - marks.read) / sd_px).ravel(), own])
        j = np.concatenate([(slope / sd_px[:, :, None]).reshape(-1, len(value)), np.diag(1.0 / prior)[held]])
        return r, j

    best: tuple[float, np.ndarray] | None = None
    for start in _starts(marks, image, middle):
        value = _descend(misfit, start)
        cost = float(np.sum(misfit(value)[0] ** 2))
        if math.isfinite(cost) and (best is None or cost < best[0] - 1e-9 * (1.0 + best[0])):
            best = cost, value
    if best is None:
        raise ArithmeticError("no start from which the lens maps every mark")
    cost, value = best
    fitted, slope = picture_of(value, marks.place, image)
    j = misfit(value)[1]
    covariance = np.linalg.pinv(j.T @ j)
    value[BEARING] = math.remainder(value[BEARING], 2.0 * math.pi) % (2.0 * math.pi)
    dof = 2 * len(marks) + int(held.sum()) - len(value)
    return Pose(value, covariance, cost, dof, fitted, marks.read - fitted, np.broadcast_to(sd_px, fitted.shape).copy())


def _starts(marks: Marks, image: ImageGeometry, middle: np.ndarray) -> list[np.ndarray]:
    """The file's pose, 20 degrees to either side, and what the readings say; those from which all marks are mapped."""
    from_lens = marks.place - middle[[X, Y, HEIGHT]]
    right, down, ahead = image.ray(*(marks.read - (0.5 * image.columns, 0.5 * image.rows)).T)
    beside = np.arctan2(from_lens[:, 0], from_lens[:, 1]) - np.arctan2(right, ahead)
    below = np.arctan2(-from_lens[:, 2], np.hypot(*from_lens[:, :2].T)) - np.arctan2(down, np.hypot(right, ahead))
    starts = []
    for bearing, depression in (
        (middle[BEARING], middle[DEPRESSION]),
        (middle[BEARING] - _ASIDE_RAD, middle[DEPRESSION]),
        (middle[BEARING] + _ASIDE_RAD, middle[DEPRESSION]),
        (math.atan2(np.sin(beside).mean(), np.cos(beside).mean()), float(below.mean())),
    ):
        start = middle.copy()
        start[BEARING], start[DEPRESSION] = bearing, depression
        if np.isfinite(picture_of(start, marks.place, image)[0]).all():
            starts.append(start)
    return starts


def _descend(misfit: Callable[[np.ndarray], tuple[np.ndarray, np.ndarray]], start: np.ndarray) -> np.ndarray:
    """Damped Gauss-Newton steps until they are as small as rounding."""
    value = start.copy()
    r, j = misfit(value)
    cost, damping = float(r @ r), 1e-3
    for _ in range(_MOST_STEPS):
        normal, gradient = j.T @ j, j.T @ r
        step = np.linalg.solve(normal + damping * np.diag(np.diag(normal)), -gradient)
        size = float(np.max(np.abs(step)))
        new_r, new_j = misfit(value + step)
        new_cost = float(new_r @ new_r)
        if new_cost <= cost or (size < _SMALL and math.isfinite(new_cost)):  # NaN where the step left what the lens maps
            value, r, j, cost, damping = value + step, new_r, new_j, new_cost, (0.01 * damping if damping > 1e-12 else 0.0)
            if size < _SMALL:
                break
        else:
            damping = max(10.0 * damping, 1e-6)
            if damping > 1e12:
                break
    return value
