"""The pixel loop: one body in one frame, drawn, held against noise and summed; no pixel outlives the call.

The expressions are those of `physics.detector` (exact blurred box, Phi); only their arrangement is for speed. Measured choices:
float32; node values D(j) once per rectangle and axis, X_j = D(j + 1) - D(j), never four G a pixel; rows innermost, in blocks of
exactly 16 so that a block is one or two vector registers; every array in one flat scratch at constant offsets, because the
compiler never knows that two arrays do not alias; the Poisson-binomial kept per lane as polynomials cut at degree
min_pixels - 1 and multiplied at the end.
"""

import math

import numpy as np

from fencecast.jit import compiled, compiled_inline
from fencecast.physics.detector import normal_cdf32, ramp_integral32
from fencecast.physics.optics import off_axis_angle_rad

PARTS = 4
LANES = 16
# Largest sensor side that the scratch holds, with room for the last block.
MAX_SIDE_PX = 8192
_SIDE = MAX_SIDE_PX + 2 * LANES
# The largest min_pixels that the lane polynomials hold.
MAX_MIN_PIXELS = 64

# Offsets in the flat scratch (float32).
_ROWS = 0
_COLUMNS = _ROWS + PARTS * _SIDE
_NODES = _COLUMNS + PARTS * _SIDE
_NOISE = _NODES + _SIDE + LANES
_SUM_PASS = _NOISE + _SIDE
_SUM_PERFECT = _SUM_PASS + LANES
_IN_VIEW = _SUM_PERFECT + LANES
_POLY = _IN_VIEW + LANES
_LANE_NUMBER = _POLY + (MAX_MIN_PIXELS + 1) * LANES
SCRATCH_SIZE = _LANE_NUMBER + LANES

# A pixel is in view when the body covers more than this share of it.
IN_VIEW_SHARE = np.float32(0.01)
# The window: pixels within this many blur sds of the body's rectangle; part of the model (moves P_look at 1e-5).
WINDOW_SDS = 4.0

_Z = np.float32(0.0)
_ONE = np.float32(1.0)

LINEAR_NOISE = 0  # noise grows as 1 / cos^4 = (1 + r^2 / f^2)^2 (rectilinear), or is flat when f is infinite
COSINE_NOISE = 1  # equidistant lens with cos^4 asked for


@compiled_inline
def fill_shares(scratch, offset, first, count, low, high, blur):
    """Shares of pixels first .. first+count-1 that [low, high) covers; zeros up to the end of the last block of lanes.

    Blocks hold count + 1 nodes, so every loop runs over whole blocks: a scalar remainder would cost more than the rest.
    """
    a = np.float32(low - first)
    b = np.float32(high - first)
    s = np.float32(blur)
    inverse = _ONE / s
    blocks = (count + LANES) // LANES
    for block in range(blocks):
        at = block * LANES
        from_a, from_b = np.float32(at) - a, np.float32(at) - b
        for lane in range(LANES):
            x = scratch[_LANE_NUMBER + lane]
            scratch[_NODES + at + lane] = s * (ramp_integral32((x + from_a) * inverse) - ramp_integral32((x + from_b) * inverse))
    for block in range(blocks):
        at = block * LANES
        left = np.float32(count - at)
        for lane in range(LANES):
            share = scratch[_NODES + at + lane + 1] - scratch[_NODES + at + lane]
            scratch[offset + at + lane] = share if scratch[_LANE_NUMBER + lane] < left else _Z


@compiled_inline
def clear_shares(scratch, offset, count):
    """No share anywhere: a part that is hidden."""
    for block in range((count + LANES) // LANES):
        for lane in range(LANES):
            scratch[offset + block * LANES + lane] = _Z


@compiled_inline
def fill_noise(scratch, row_first, blocks, column, centre_row, centre_column, focal_px, noise_law, projection, n2, clutter2):
    """Variance of each pixel of one column: n^2 / illumination^2 (1 + fixed pattern^2) + clutter^2, float32."""
    du = column + 0.5 - centre_column
    if noise_law == LINEAR_NOISE:
        alpha = np.float32(1.0 / (focal_px * focal_px)) if focal_px > 0.0 else _Z
        base = _ONE + np.float32(du * du) * alpha
        for block in range(blocks):
            at = block * LANES
            start = np.float32(row_first + at + 0.5 - centre_row)
            for lane in range(LANES):
                dv = start + scratch[_LANE_NUMBER + lane]
                g = base + alpha * dv * dv
                g = g * g
                scratch[_NOISE + at + lane] = n2 * (g * g) + clutter2
    else:
        for j in range(blocks * LANES):
            dv = row_first + j + 0.5 - centre_row
            cosine = max(math.cos(off_axis_angle_rad(math.sqrt(du * du + dv * dv), focal_px, projection)), 0.0)
            g = np.float32(1.0 / max(cosine**4, 1e-6))
            scratch[_NOISE + j] = n2 * g * g + clutter2


@compiled_inline
def clear_sums(scratch, min_pixels):
    """Zero the lane sums; each lane's polynomial starts as the constant 1."""
    for lane in range(3 * LANES):
        scratch[_SUM_PASS + lane] = _Z
    for lane in range(min_pixels * LANES):
        scratch[_POLY + lane] = _ONE if lane < LANES else _Z


@compiled_inline
def add_column_of_three(scratch, blocks, x0, x1, x2, x3, c0, c1, c2, c3, threshold):
    """One column of pixels into the lane sums, for min_pixels = 3 (the default)."""
    for block in range(blocks):
        at = block * LANES
        for lane in range(LANES):
            j = at + lane
            y0 = scratch[_ROWS + j]
            y1 = scratch[_ROWS + _SIDE + j]
            y2 = scratch[_ROWS + 2 * _SIDE + j]
            y3 = scratch[_ROWS + 3 * _SIDE + j]
            contrast = abs(c0 * y0 + c1 * y1 + c2 * y2 + c3 * y3)
            share = x0 * y0 + x1 * y1 + x2 * y2 + x3 * y3
            p = normal_cdf32(contrast / np.sqrt(scratch[_NOISE + j]) - threshold)
            q = _ONE - p
            seen = share > IN_VIEW_SHARE
            scratch[_SUM_PASS + lane] += p * contrast
            scratch[_SUM_PERFECT + lane] += contrast if seen else _Z
            scratch[_IN_VIEW + lane] += _ONE if seen else _Z
            d0 = scratch[_POLY + lane]
            d1 = scratch[_POLY + LANES + lane]
            d2 = scratch[_POLY + 2 * LANES + lane]
            scratch[_POLY + lane] = d0 * q
            scratch[_POLY + LANES + lane] = d1 * q + d0 * p
            scratch[_POLY + 2 * LANES + lane] = d2 * q + d1 * p


@compiled_inline
def add_column(scratch, blocks, x0, x1, x2, x3, c0, c1, c2, c3, threshold, min_pixels):
    """One column of pixels into the lane sums, for any min_pixels."""
    for block in range(blocks):
        at = block * LANES
        for lane in range(LANES):
            j = at + lane
            y0 = scratch[_ROWS + j]
            y1 = scratch[_ROWS + _SIDE + j]
            y2 = scratch[_ROWS + 2 * _SIDE + j]
            y3 = scratch[_ROWS + 3 * _SIDE + j]
            contrast = abs(c0 * y0 + c1 * y1 + c2 * y2 + c3 * y3)
            share = x0 * y0 + x1 * y1 + x2 * y2 + x3 * y3
            p = normal_cdf32(contrast / np.sqrt(scratch[_NOISE + j]) - threshold)
            q = _ONE - p
            seen = share > IN_VIEW_SHARE
            scratch[_SUM_PASS + lane] += p * contrast
            scratch[_SUM_PERFECT + lane] += contrast if seen else _Z
            scratch[_IN_VIEW + lane] += _ONE if seen else _Z
            for degree in range(min_pixels - 1, 0, -1):
                here = _POLY + degree * LANES + lane
                scratch[here] = scratch[here] * q + scratch[here - LANES] * p
            scratch[_POLY + lane] *= q


@compiled_inline
def fold_sums(scratch, half):
    """Add the lane sums half .. 2 half - 1 into lanes 0 .. half - 1."""
    for lane in range(half):
        scratch[_SUM_PASS + lane] += scratch[_SUM_PASS + half + lane]
        scratch[_SUM_PERFECT + lane] += scratch[_SUM_PERFECT + half + lane]
        scratch[_IN_VIEW + lane] += scratch[_IN_VIEW + half + lane]


@compiled_inline
def fold_three(scratch, half):
    """Multiply the lane polynomials half .. 2 half - 1 into lanes 0 .. half - 1 (degree 2)."""
    for lane in range(half):
        a0, b0 = scratch[_POLY + lane], scratch[_POLY + half + lane]
        a1, b1 = scratch[_POLY + LANES + lane], scratch[_POLY + LANES + half + lane]
        a2, b2 = scratch[_POLY + 2 * LANES + lane], scratch[_POLY + 2 * LANES + half + lane]
        scratch[_POLY + lane] = a0 * b0
        scratch[_POLY + LANES + lane] = a0 * b1 + a1 * b0
        scratch[_POLY + 2 * LANES + lane] = a0 * b2 + a1 * b1 + a2 * b0


@compiled_inline
def at_least_three(scratch):
    """P(at least three pixels pass), folding the lanes in halves."""
    fold_three(scratch, 8)
    fold_three(scratch, 4)
    fold_three(scratch, 2)
    fold_three(scratch, 1)
    fewer = np.float64(scratch[_POLY]) + np.float64(scratch[_POLY + LANES]) + np.float64(scratch[_POLY + 2 * LANES])
    return min(max(1.0 - fewer, 0.0), 1.0)


@compiled_inline
def at_least(scratch, min_pixels):
    """P(at least min_pixels pixels pass): one minus the low coefficients of the product of the lane polynomials."""
    for lane in range(1, LANES):
        for degree in range(min_pixels - 1, -1, -1):
            total = _Z
            for k in range(degree + 1):
                total += scratch[_POLY + k * LANES] * scratch[_POLY + (degree - k) * LANES + lane]
            scratch[_POLY + degree * LANES] = total
    fewer = 0.0
    for degree in range(min_pixels):
        fewer += scratch[_POLY + degree * LANES]
    return min(max(1.0 - fewer, 0.0), 1.0)


@compiled
def render_look(
    scratch, edges, contrast, blur_u, blur_v, frame, focal_px, noise_law, projection, n2, clutter2, threshold, min_pixels
):
    """Draw one body and sum it.

    Arguments: edges (PARTS, 4) float64 px: u from, u to, v from, v to of each visible rectangle (empty when from >= to), then
    row PARTS: the whole body's rectangle; contrast (PARTS,) float64 W m-2 sr-1; blur sds [px]; frame (columns, rows,
    centre column, centre row); n2 = temporal variance on axis times (1 + fixed pattern^2), clutter2 that of clutter
    [(W m-2 sr-1)^2].
    Returns (sum of p |C|, sum of |C| over pixels in view, pixels in view, P(at least min_pixels pass), drawn).
    """
    columns, rows, centre_column, centre_row = frame
    u0 = max(int(math.floor(edges[PARTS, 0] - WINDOW_SDS * blur_u)), 0)
    u1 = min(int(math.ceil(edges[PARTS, 1] + WINDOW_SDS * blur_u)), columns)
    v0 = max(int(math.floor(edges[PARTS, 2] - WINDOW_SDS * blur_v)), 0)
    v1 = min(int(math.ceil(edges[PARTS, 3] + WINDOW_SDS * blur_v)), rows)
    if u1 <= u0 or v1 <= v0:
        return 0.0, 0.0, 0.0, 0.0, False
    row_count = v1 - v0
    column_count = u1 - u0
    for lane in range(LANES):
        scratch[_LANE_NUMBER + lane] = np.float32(lane)
    blocks = (row_count + LANES - 1) // LANES
    for part in range(PARTS):
        rows_at, columns_at = _ROWS + part * _SIDE, _COLUMNS + part * _SIDE
        if edges[part, 1] > edges[part, 0] and edges[part, 3] > edges[part, 2]:
            fill_shares(scratch, rows_at, v0, row_count, edges[part, 2], edges[part, 3], blur_v)
            fill_shares(scratch, columns_at, u0, column_count, edges[part, 0], edges[part, 1], blur_u)
        else:
            clear_shares(scratch, rows_at, row_count)
            clear_shares(scratch, columns_at, column_count)
    clear_sums(scratch, min_pixels)
    l0, l1 = np.float32(contrast[0]), np.float32(contrast[1])
    l2, l3 = np.float32(contrast[2]), np.float32(contrast[3])
    k = np.float32(threshold)
    n2_32, clutter2_32 = np.float32(n2), np.float32(clutter2)
    for i in range(column_count):
        fill_noise(scratch, v0, blocks, u0 + i, centre_row, centre_column, focal_px, noise_law, projection, n2_32, clutter2_32)
        x0 = scratch[_COLUMNS + i]
        x1 = scratch[_COLUMNS + _SIDE + i]
        x2 = scratch[_COLUMNS + 2 * _SIDE + i]
        x3 = scratch[_COLUMNS + 3 * _SIDE + i]
        if min_pixels == 3:
            add_column_of_three(scratch, blocks, x0, x1, x2, x3, l0 * x0, l1 * x1, l2 * x2, l3 * x3, k)
        else:
            add_column(scratch, blocks, x0, x1, x2, x3, l0 * x0, l1 * x1, l2 * x2, l3 * x3, k, min_pixels)
    fold_sums(scratch, 8)
    fold_sums(scratch, 4)
    fold_sums(scratch, 2)
    fold_sums(scratch, 1)
    passed, perfect = np.float64(scratch[_SUM_PASS]), np.float64(scratch[_SUM_PERFECT])
    in_view = np.float64(scratch[_IN_VIEW])
    p_look = at_least_three(scratch) if min_pixels == 3 else at_least(scratch, min_pixels)
    return passed, perfect, in_view, p_look, True
