"""The pose of a camera from marks on the ground that were read in its picture: weighted least squares with analytic derivatives.

Unknown: bearing, depression, roll, height, mast x and y, and the logarithm of the focal length when it is asked for. Every column
and row that was read is one observation, in units of its error: sqrt(sd_px^2 + quantum^2 / 12 + (f sd_mark / R)^2), where R is
the distance from lens to mark; so is every prior: roll about the file's, height about the tape's, the mast about the file's.
Bearing and depression have none; a camera that fits best over the top is fitted again, its depression held at 90 degrees.
Damped Gauss-Newton steps lead from four starts; the covariance is the inverse of J^T J at the
solution (standard least squares).

Many cases are solved at once, for causes of a misfit are many. Radians, metres, pixels from the picture's upper left corner,
pixel i being [i, i + 1). Nothing is drawn: the same readings give the same bits. Tests: tests/prove/built/test_built_pose.py.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
from scipy.special import chdtrc

from fencecast.camera import ImageGeometry
from fencecast.prove.built.seen import BEARING, DEPRESSION, HEIGHT, LN_FOCAL, ROLL, X, Y, pictures_of

# Starts on both sides of the file's bearing, besides it and what the readings themselves say.
_ASIDE_RAD = math.radians(20.0)
_MOST_STEPS, _SMALL = 60, 1.0e-10
_NO_GAIN = 1.0e-12  # of the cost in a step: what is left is less than a thousandth of a standard deviation
_LEAST_DAMPING, _MOST_DAMPING = 1.0e-12, 1.0e9
MOST_ROLL_RAD = math.radians(30.0)  # of `roll_deg` in a site file
_IMPOSSIBLE = 1.0e6
_HELD_RAD = 1.0e-7  # so far a depression that is held may move on its way
# Costs that differ by less, relative to one more than them, are of one solution.
_SAME_COST = 1.0e-9


@dataclass(frozen=True)
class Errors:
    """Standard deviations: of a reading [px], of a mark's place [m], and of the priors (judgement, no source).

    quantum_px: steps of a reading (column, row) in pixels of the sensor: whole pixels of the picture that was read.
    """

    reading_px: float = 1.0
    quantum_px: tuple[float, float] = (1.0, 1.0)
    mark_m: float = 0.03
    roll_rad: float = math.radians(5.0)
    height_m: float = 0.05
    mast_m: float = 0.05
    ln_focal: float = 0.5

    def of_readings(self, place: np.ndarray, design: np.ndarray, tape_m: float, image: ImageGeometry) -> np.ndarray:
        """Standard deviation (n, 2) [px] of what is read of marks (n, 3) [m]; design: a pose, whose height is the tape's."""
        reach = np.linalg.norm(place - (design[X], design[Y], tape_m), axis=1)
        tape_px = image.focal_px * self.mark_m / reach
        return np.sqrt(self.reading_px**2 + np.square(self.quantum_px) / 12.0 + np.square(tape_px)[:, None])


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

    value (6 or 7,): in the order of `seen.NAMES`; covariance of the same; cost: sum of squares, priors among them; dof: its
    degrees of freedom; fitted (n, 2) [px]: where the marks would appear; residual (n, 2) [px]: read minus fitted; sd_px (n, 2):
    error of each reading, infinite for a mark that was left out.
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
        """Chance of a cost as large when every error is as it is taken to be (chi-squared)."""
        return float(chdtrc(self.dof, self.cost))


def solve(
    marks: Marks, image: ImageGeometry, design: np.ndarray, tape_m: float, errors: Errors | None = None, lens_free: bool = False
) -> Pose:
    """The pose that fits the readings best. design (6,): the file's pose, in the order of `seen.NAMES`; tape_m: height by tape.

    Valid for three marks and more. ArithmeticError where the lens maps the marks from no start.
    """
    errors = errors or Errors()
    sd = errors.of_readings(marks.place, design, tape_m, image)
    one = (each[None] for each in (marks.place, marks.read, sd))
    found = solve_all(*one, image, design[None], np.array([tape_m]), errors, lens_free)[0]
    if found is None:
        raise ArithmeticError("no start from which the lens maps every mark")
    return found


def solve_all(
    place: np.ndarray, read: np.ndarray, sd_px: np.ndarray, image: ImageGeometry, design: np.ndarray, tape_m: np.ndarray,
    errors: Errors, lens_free: bool = False,
) -> list[Pose | None]:  # fmt: skip
    """The same of many cases: places (b, n, 3), readings and their errors (b, n, 2), infinite where a mark is left out, designs
    (b, 6), tapes (b,). Of all starts the best counts, the first of equals; None where the lens maps the marks from none."""
    middle = np.array(design, dtype=float)
    middle[:, HEIGHT] = tape_m
    prior = np.full(6 + lens_free, np.inf)
    prior[[ROLL, HEIGHT, X, Y]] = errors.roll_rad, errors.height_m, errors.mast_m, errors.mast_m
    if lens_free:
        middle = np.column_stack([middle, np.zeros(len(middle))])
        prior[LN_FOCAL] = errors.ln_focal
    problem = _Problem(place, read, sd_px, image, middle, prior)
    starts = _starts(place, read, image, middle)
    many = len(starts)
    value, cost = _descend(problem.repeated(many), starts.reshape(-1, middle.shape[1]))
    value, found = value.reshape(many, len(middle), -1), cost.reshape(many, -1)
    cost = found + _beyond(value)
    lowest = cost.min(axis=0)
    pick = np.argmax(cost <= lowest + _SAME_COST * (1.0 + lowest), axis=0)
    best = value[np.argmin(np.where(_rolled(value), np.inf, found), axis=0), np.arange(len(middle))]
    value = value[pick, np.arange(len(middle))]
    down = np.flatnonzero(np.isfinite(lowest) & _tipped(best))
    value[down], held = _straight_down(problem.some(down), best[down], value[down])
    r, j, fitted = problem.misfit(value)
    total = np.sum(r * r, axis=1) + _beyond(value)
    value[:, BEARING] %= 2.0 * math.pi
    over = np.abs(value[:, DEPRESSION]) > math.pi
    value[over, DEPRESSION] = np.remainder(value[over, DEPRESSION] + math.pi, 2.0 * math.pi) - math.pi
    dof = 2 * np.isfinite(sd_px[:, :, 0]).sum(axis=1) + int(np.isfinite(prior).sum()) - middle.shape[1]
    dof[down] += held  # nothing is fitted to a depression that is held
    return [
        None
        if not math.isfinite(lowest[k])
        else Pose(
            value[k], np.linalg.inv(j[k].T @ j[k]), float(total[k]), int(dof[k]), fitted[k], read[k] - fitted[k], sd_px[k]
        )
        for k in range(len(middle))
    ]  # fmt: skip


def _beyond(value: np.ndarray) -> np.ndarray:
    """What is added to the cost of poses (..., 6 or 7) that no site file takes: over the top, or rolled too far."""
    return np.where(_tipped(value) | _rolled(value), _IMPOSSIBLE, 0.0)


def _tipped(value: np.ndarray) -> np.ndarray:
    """Whether poses (..., 6 or 7) look over the top, beyond straight down or up."""
    return np.abs(np.remainder(value[..., DEPRESSION] + math.pi, 2.0 * math.pi) - math.pi) > 0.5 * math.pi + _SMALL


def _rolled(value: np.ndarray) -> np.ndarray:
    return np.abs(value[..., ROLL]) > MOST_ROLL_RAD


def _straight_down(problem: _Problem, best: np.ndarray, other: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Poses (b, 6 or 7) for cases that fit best over the top, and whether their depression is held at 90 degrees, the end of what
    a site file takes: from their best pose, and where that costs less than the best pose on this side, `other`."""
    if not len(best):
        return other, np.zeros(0, dtype=bool)
    middle, prior, start = problem.middle.copy(), problem.prior.copy(), best.copy()
    middle[:, DEPRESSION] = start[:, DEPRESSION] = 0.5 * math.pi
    prior[DEPRESSION] = _HELD_RAD
    held, _ = _descend(replace(problem, middle=middle, prior=prior), start)
    held[:, DEPRESSION] = 0.5 * math.pi
    cost = [np.sum(problem.misfit(each)[0] ** 2, axis=1) + _beyond(each) for each in (held, other)]
    better = cost[0] < cost[1]
    return np.where(better[:, None], held, other), better


@dataclass(frozen=True, eq=False)
class _Problem:
    """Many cases of least squares: what was read, and about what the priors lie."""

    place: np.ndarray
    read: np.ndarray
    sd_px: np.ndarray
    image: ImageGeometry
    middle: np.ndarray
    prior: np.ndarray

    def repeated(self, times: int) -> _Problem:
        """The cases over and over."""
        parts = (np.concatenate([each] * times) for each in (self.place, self.read, self.sd_px))
        return _Problem(*parts, self.image, np.concatenate([self.middle] * times), self.prior)

    def some(self, which: np.ndarray) -> _Problem:
        """Some of the cases."""
        return _Problem(self.place[which], self.read[which], self.sd_px[which], self.image, self.middle[which], self.prior)

    def misfit(self, value: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        """Residuals (b, observations) in units of their errors, their derivatives, and the pictures of the marks (b, n, 2)."""
        cases, held = len(value), np.isfinite(self.prior)
        fitted, slope = pictures_of(value, self.place, self.image)
        own = ((value - self.middle) / self.prior)[:, held]
        r = np.concatenate([((fitted - self.read) / self.sd_px).reshape(cases, -1), own], axis=1)
        by_prior = np.broadcast_to(np.diag(1.0 / self.prior)[held], (cases, int(held.sum()), value.shape[1]))
        j = np.concatenate([(slope / self.sd_px[..., None]).reshape(cases, -1, value.shape[1]), by_prior], axis=1)
        return r, j, fitted


def _starts(place: np.ndarray, read: np.ndarray, image: ImageGeometry, middle: np.ndarray) -> np.ndarray:
    """What the readings say, the file's pose, and 20 degrees to either side of it, (4, b, 6 or 7)."""
    from_lens = place - middle[:, None, [X, Y, HEIGHT]]
    offset = read - (0.5 * image.columns, 0.5 * image.rows)
    right, down, ahead = image.ray(offset[..., 0], offset[..., 1])
    beside = np.arctan2(from_lens[..., 0], from_lens[..., 1]) - np.arctan2(right, ahead)
    below = np.arctan2(-from_lens[..., 2], np.hypot(from_lens[..., 0], from_lens[..., 1])) - np.arctan2(
        down, np.hypot(right, ahead)
    )
    said = middle.copy()
    said[:, BEARING] = np.arctan2(np.sin(beside).mean(axis=1), np.cos(beside).mean(axis=1))
    said[:, DEPRESSION] = below.mean(axis=1)
    left, other = middle.copy(), middle.copy()
    left[:, BEARING] -= _ASIDE_RAD
    other[:, BEARING] += _ASIDE_RAD
    return np.stack([said, middle, left, other])


def _descend(problem: _Problem, start: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Poses (b, 6 or 7) at the end of damped Gauss-Newton steps, and their costs (b,); infinite where a start is not mapped."""
    value, final = start.copy(), np.full(len(start), np.inf)
    r, j, _ = problem.misfit(value)
    cost, damping = np.sum(r * r, axis=1), np.full(len(start), 1e-3)
    open_now = np.flatnonzero(np.isfinite(cost))
    final[open_now] = cost[open_now]
    r, j, cost, damping = r[open_now], j[open_now], cost[open_now], damping[open_now]
    for _ in range(_MOST_STEPS):
        if not len(open_now):
            break
        normal, gradient = j.transpose(0, 2, 1) @ j, (j.transpose(0, 2, 1) @ r[..., None])
        diagonal = np.einsum("bkk->bk", normal)
        step = np.linalg.solve(normal + damping[:, None, None] * (diagonal[:, None, :] * np.eye(normal.shape[1])), -gradient)[
            ..., 0
        ]
        size = np.abs(step).max(axis=1)
        new_r, new_j, _ = problem.some(open_now).misfit(value[open_now] + step)
        new_cost = np.sum(new_r * new_r, axis=1)
        better = (new_cost <= cost) | ((size < _SMALL) & np.isfinite(new_cost))  # NaN where a step left what the lens maps
        value[open_now[better]] += step[better]
        r, j = np.where(better[:, None], new_r, r), np.where(better[:, None, None], new_j, j)
        gain, cost = cost - new_cost, np.where(better, new_cost, cost)
        less = np.where(damping > _LEAST_DAMPING, 0.01 * damping, 0.0)
        damping = np.where(better, less, np.maximum(10.0 * damping, 1e-6))
        final[open_now] = cost
        done = better & ((size < _SMALL) | (gain < _NO_GAIN * cost))
        on = ~done & (damping < _MOST_DAMPING)
        open_now, r, j, cost, damping = open_now[on], r[on], j[on], cost[on], damping[on]
    return value, final
