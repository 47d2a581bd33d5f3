"""Where places appear in the picture of a camera of any pose, and how that changes with the pose: many poses at once, in NumPy.

The scalar form is `physics.optics` (axes and projection). A pose is bearing, depression, roll [rad], height, mast x and y [m],
and the logarithm of a factor on the focal length where that is asked for. Tests: tests/prove/built/test_built_pose.py.
"""

from __future__ import annotations

import numpy as np

from fencecast.camera import ImageGeometry
from fencecast.physics.optics import RECTILINEAR, RECTILINEAR_LIMIT_RAD

NAMES = ("bearing", "depression", "roll", "height", "x", "y", "ln_focal")
BEARING, DEPRESSION, ROLL, HEIGHT, X, Y, LN_FOCAL = range(7)
_COS_LIMIT = np.cos(RECTILINEAR_LIMIT_RAD)


def pictures_of(value: np.ndarray, place: np.ndarray, image: ImageGeometry) -> tuple[np.ndarray, np.ndarray]:
    """Where places (b, n, 3) [m] appear (b, n, 2) [px] to cameras of poses (b, 6 or 7), and the derivatives (b, n, 2, 6 or 7).

    p = A(bearing, depression, roll)(X - C); columns / 2 + f p_x / p_z and rows / 2 + f p_y / p_z, or radial with f theta when
    equidistant. NaN where the lens maps nothing.
    """
    count = value.shape[1]
    bearing, depression, roll = value[:, :3].T
    focal = image.focal_px * (np.exp(value[:, LN_FOCAL]) if count > LN_FOCAL else np.ones(len(value)))
    sb, cb, st, ct = np.sin(bearing), np.cos(bearing), np.sin(depression), np.cos(depression)
    sr, cr, none = np.sin(roll), np.cos(roll), np.zeros(len(value))
    level_right, level_down = np.stack([cb, -sb, none]), np.stack([-sb * st, -cb * st, -ct])
    axes = np.stack([cr * level_right + sr * level_down, cr * level_down - sr * level_right, np.stack([sb * ct, cb * ct, -st])])
    from_lens = place - value[:, None, [X, Y, HEIGHT]]
    a, b, c = (np.einsum("bnk,kb->bn", from_lens, axis) for axis in axes)
    sr, cr, st, ct = (each[:, None] for each in (sr, cr, st, ct))
    a0, b0 = cr * a - sr * b, sr * a + cr * b  # before the roll
    # d (right, down, ahead) / d (bearing, depression, roll, height, x, y).
    turn = np.zeros((*a.shape, 3, 6))
    da0, db0 = st * b0 - ct * c, -st * a0
    turn[..., BEARING] = np.stack([cr * da0 + sr * db0, cr * db0 - sr * da0, ct * a0], axis=-1)
    turn[..., DEPRESSION] = np.stack([-sr * c, -cr * c, b0], axis=-1)
    turn[..., 0, ROLL], turn[..., 1, ROLL] = b, -a
    for column, k in ((X, 0), (Y, 1), (HEIGHT, 2)):
        turn[..., column] = -axes[:, k].T[:, None, :]
    offset, by_frame = _projected(a, b, c, focal[:, None], image.projection)
    slope = np.zeros((*a.shape, 2, count))
    slope[..., :6] = by_frame @ turn
    if count > LN_FOCAL:
        slope[..., LN_FOCAL] = offset
    return offset + (0.5 * image.columns, 0.5 * image.rows), slope


def picture_of(value: np.ndarray, place: np.ndarray, image: ImageGeometry) -> tuple[np.ndarray, np.ndarray]:
    """The same of one pose (6 or 7,): places (n, 3), pictures (n, 2), derivatives (n, 2, 6 or 7)."""
    where, slope = pictures_of(np.asarray(value)[None], np.asarray(place)[None], image)
    return where[0], slope[0]


def _projected(a: np.ndarray, b: np.ndarray, c: np.ndarray, focal, projection: int) -> tuple[np.ndarray, np.ndarray]:
    """Picture places from the axis (..., 2), and their derivatives by right, down, ahead (..., 2, 3)."""
    radius, none = np.hypot(a, b), np.zeros_like(a)
    if projection == RECTILINEAR:
        c = np.where((c > 0.0) & (c > _COS_LIMIT * np.hypot(radius, c)), c, np.nan)
        u, v, scale = focal * a / c, focal * b / c, focal / c
        rows = [np.stack([scale, none, -u / c], axis=-1), np.stack([none, scale, -v / c], axis=-1)]
        return np.stack([u, v], axis=-1), np.stack(rows, axis=-2)
    theta, reach2 = np.arctan2(radius, c), radius**2 + c**2
    near = radius < 1e-9 * np.sqrt(reach2)
    safe = np.where(near, 1.0, radius)
    ahead = np.where(c > 0.0, c, np.nan)
    scale = np.where(near, focal / ahead, focal * theta / safe)
    # d scale / d radius, over the radius; it is 0 on the axis by symmetry.
    by_radius = np.where(near, 0.0, focal * (c / reach2 - theta / safe) / safe**2)
    by_ahead = -focal / reach2
    rows = [np.stack([own * by_radius * a, own * by_radius * b, own * by_ahead], axis=-1) for own in (a, b)]
    slope = np.stack(rows, axis=-2)
    slope[..., 0, 0] += scale
    slope[..., 1, 1] += scale
    return np.stack([scale * a, scale * b], axis=-1), slope
