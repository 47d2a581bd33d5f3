"""The frame that one look sees, drawn whole in float64 from the reference formulas: for pictures and checks, not for speed."""

from __future__ import annotations

import numpy as np

from fencecast.kernels.look import BLUR_U, BLUR_V, CLUTTER, FEET_UP, STRIPS
from fencecast.kernels.render import IN_VIEW_SHARE
from fencecast.kernels.render import PARTS as WHOLE
from fencecast.kernels.sight import STRIP_FROM, STRIP_PASSED, STRIP_TO
from fencecast.onelook.scene import Look
from fencecast.physics.body import PARTS, SILHOUETTES, silhouette_kind
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


def strips_of(look: Look) -> list[tuple[float, float, float]]:
    """Strips of the body as fences pass it: rows from and to [px], share; one of everything without a fence."""
    count = int(look.result[STRIPS]) if look.drawn else 0
    strips = look.work.strips
    return [(float(s[STRIP_FROM]), float(s[STRIP_TO]), float(s[STRIP_PASSED])) for s in strips[:count]] or [
        (-np.inf, np.inf, 1.0)
    ]


def passing_rows(look: Look, part: int) -> np.ndarray:
    """Row shares (rows,) of one visible part times the share that fences pass in each strip of it."""
    rows = int(look.plan.cameras.rows[look.camera_index])
    u0, u1, v0, v1 = look.work.edges[part]
    found = np.zeros(rows)
    if look.drawn and u1 > u0:
        for low, high, passed in strips_of(look):
            a, b = max(v0, low), min(v1, high)
            if b > a:
                found += passed * pixel_share_array(np.arange(rows, dtype=float), a, b, look.result[BLUR_V])
    return found


def most_passed(look: Look, part: int) -> float:
    """The largest share of contrast that fences pass anywhere on the visible rows of a part; 1 without a fence."""
    v0, v1 = look.work.edges[part, 2:]
    return max((passed for low, high, passed in strips_of(look) if min(v1, high) > max(v0, low)), default=1.0)


def mean_passed(look: Look, part: int) -> float:
    """Mean share of a whole part's contrast that fences pass, obstacles apart."""
    if not look.drawn:
        return 1.0
    v0, v1 = look.work.edges[WHOLE, 2:]
    upper, lower = SILHOUETTES[silhouette_kind(look.body.motion.posture), part, 2:]
    a, b = (1.0 - lower, 1.0 - upper) if look.result[FEET_UP] > 0.0 else (upper, lower)
    a, b = v0 + a * (v1 - v0), v0 + b * (v1 - v0)
    return float(sum(passed * max(min(b, high) - max(a, low), 0.0) for low, high, passed in strips_of(look)) / (b - a))


def sigma_of(look: Look, noise):
    """Noise and clutter of a pixel, one sd, from its temporal noise (a number or an array) [W/(m²·sr)]."""
    fixed = look.plan.cameras.fixed_pattern[look.camera_index]
    clutter = look.result[CLUTTER] if look.drawn else 0.0
    return np.sqrt(noise**2 * (1.0 + fixed**2) + clutter**2)


def frame(look: Look) -> dict[str, np.ndarray]:
    """Contrast that arrives [W/(m²·sr)], share that is covered and passes fences, and sigma of every pixel, (rows, columns)."""
    k, cameras = look.camera_index, look.plan.cameras
    columns, rows = int(cameras.columns[k]), int(cameras.rows[k])
    contrast, covered = np.zeros((rows, columns)), np.zeros((rows, columns))
    for part in range(len(PARTS)):
        x, y = shares(look, part)[0], passing_rows(look, part)
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
