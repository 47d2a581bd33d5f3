"""The frame that one look sees, drawn whole in float64 from the reference formulas: for pictures and checks, not for speed."""

from __future__ import annotations

import numpy as np

from fencecast.kernels.look import BLUR_U, BLUR_V, CLUTTER
from fencecast.kernels.render import IN_VIEW_SHARE
from fencecast.onelook.scene import Look
from fencecast.physics.body import PARTS
from fencecast.physics.detector import pixel_share_array
from fencecast.physics.optics import relative_illumination_array


def shares(look: Look, part: int) -> tuple[np.ndarray, np.ndarray]:
    """Column shares (columns,) and row shares (rows,) of one visible part, blurred; zeros when it is hidden or not drawn."""
    k, cameras = look.camera_index, look.plan.cameras
    columns, rows = int(cameras.columns[k]), int(cameras.rows[k])
    u0, u1, v0, v1 = look.work.edges[part]
    if not look.drawn or u1 <= u0 or v1 <= v0:
        return np.zeros(columns), np.zeros(rows)
    return (
        pixel_share_array(np.arange(columns, dtype=float), u0, u1, look.result[BLUR_U]),
        pixel_share_array(np.arange(rows, dtype=float), v0, v1, look.result[BLUR_V]),
    )


def sigma_of(look: Look, noise):
    """Noise and clutter of a pixel, one sd, from its temporal noise (a number or an array) [W/(m²·sr)]."""
    fixed = look.plan.cameras.fixed_pattern[look.camera_index]
    clutter = look.result[CLUTTER] if look.drawn else 0.0
    return np.sqrt(noise**2 * (1.0 + fixed**2) + clutter**2)


def frame(look: Look) -> dict[str, np.ndarray]:
    """Contrast [W/(m²·sr)], covered share and sigma of every pixel, each (rows, columns)."""
    k, cameras = look.camera_index, look.plan.cameras
    columns, rows = int(cameras.columns[k]), int(cameras.rows[k])
    contrast, covered = np.zeros((rows, columns)), np.zeros((rows, columns))
    for part in range(len(PARTS)):
        x, y = shares(look, part)
        covered += np.outer(y, x)
        contrast += look.work.contrast[part] * np.outer(y, x)
    du = np.arange(columns) + 0.5 - 0.5 * columns
    dv = np.arange(rows) + 0.5 - 0.5 * rows
    illumination = relative_illumination_array(
        np.hypot(*np.meshgrid(du, dv)), cameras.focal_px[k], cameras.projection[k], cameras.illumination_focal_px[k] > 0.0
    )
    return {
        "contrast": contrast,
        "covered": covered,
        "sigma": sigma_of(look, look.noise / illumination),
        "in_view": covered > float(IN_VIEW_SHARE),
    }
