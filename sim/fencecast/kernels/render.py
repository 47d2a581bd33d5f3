"""The pixel loop: one body in one frame, drawn, held against noise and summed; no pixel outlives the call.

The expressions are those of `physics.detector` (exact blurred box, Phi); only their arrangement is for speed. Measured choices:
float32; node values D(j) once per rectangle and axis, X_j = D(j + 1) - D(j), never four G a pixel; rows innermost, in blocks of
exactly 16, one vector register; every array in one flat scratch at constant offsets, because the compiler never knows that two
arrays do not alias; sums and polynomials kept per row, not per lane, so that every address in the loop moves alike and no
run-time check for overlap is needed (such checks send short loops down a scalar path, three times slower); the
Poisson-binomial as one polynomial a row, cut at degree min_pixels - 1 and multiplied at the end.
"""

import math

import numpy as np

from fencecast.jit import aligned_frame, compiled, compiled_inline
from fencecast.kernels.scratch import (
    COLUMNS,
    CONTRASTS,
    IN_VIEW,
    LANES,
    LINEAR_NOISE,
    NODES,
    OFF_AXIS,
    PARTS,
    POLY,
    ROWS,
    SIDE,
    SUM_PASS,
    SUM_PERFECT,
    THRESHOLD,
    fill_contrasts,
    fill_nodes,
    fill_off_axis,
    fill_shares,
    number_places,
    start_block,
)
from fencecast.physics.detector import normal_cdf32

# A pixel is in view when the body covers more than this share of it.
IN_VIEW_SHARE = np.float32(0.01)
# The window: pixels within this many blur sds of the body's rectangle; part of the model (moves P_look at 1e-5).
WINDOW_SDS = 4.0

_Z = np.float32(0.0)
_ONE = np.float32(1.0)


@compiled_inline
def pass_probability(contrast, g, n2, clutter2, threshold):
    """Phi(|C| / sigma - k), sigma^2 = n^2 g^4 + clutter^2."""
    g = g * g
    return normal_cdf32(contrast / np.sqrt(n2 * (g * g) + clutter2) - threshold)


@compiled_inline
def add_two_columns(scratch, at, xa, ca, shared_a, xb, cb, shared_b, real_b, n2, clutter2):
    """Sixteen pixels of two columns into the sums of their rows, for min_pixels = 3 (the default).

    xa, ca: column shares of the four parts and their products with contrast; two columns at a time halve the traffic of sums.
    real_b is 0 when the second column only makes up the pair, else 1.
    """
    for lane in range(LANES):
        j = at + lane
        y0 = scratch[ROWS + j]
        y1 = scratch[ROWS + SIDE + j]
        y2 = scratch[ROWS + 2 * SIDE + j]
        y3 = scratch[ROWS + 3 * SIDE + j]
        off_axis = scratch[OFF_AXIS + j]
        threshold = scratch[THRESHOLD + j]
        contrast_a = abs(ca[0] * y0 + ca[1] * y1 + ca[2] * y2 + ca[3] * y3)
        contrast_b = abs(cb[0] * y0 + cb[1] * y1 + cb[2] * y2 + cb[3] * y3)
        seen_a = xa[0] * y0 + xa[1] * y1 + xa[2] * y2 + xa[3] * y3 > IN_VIEW_SHARE
        seen_b = xb[0] * y0 + xb[1] * y1 + xb[2] * y2 + xb[3] * y3 > IN_VIEW_SHARE
        pa = pass_probability(contrast_a, shared_a + off_axis, n2, clutter2, threshold)
        pb = real_b * pass_probability(contrast_b, shared_b + off_axis, n2, clutter2, threshold)
        scratch[SUM_PASS + j] += pa * contrast_a + pb * contrast_b
        scratch[SUM_PERFECT + j] += (contrast_a if seen_a else _Z) + (contrast_b if seen_b else _Z)
        scratch[IN_VIEW + j] += (_ONE if seen_a else _Z) + (_ONE if seen_b else _Z)
        qa, qb = _ONE - pa, _ONE - pb
        none, one, two = qa * qb, pa * qb + qa * pb, pa * pb
        d0 = scratch[POLY + j]
        d1 = scratch[POLY + SIDE + j]
        d2 = scratch[POLY + 2 * SIDE + j]
        scratch[POLY + j] = d0 * none
        scratch[POLY + SIDE + j] = d1 * none + d0 * one
        scratch[POLY + 2 * SIDE + j] = d2 * none + d1 * one + d0 * two


@compiled_inline
def add_column(scratch, at, x, c, shared, n2, clutter2, min_pixels):
    """Sixteen pixels of one column into the sums of their rows, for any min_pixels."""
    for lane in range(LANES):
        j = at + lane
        y0 = scratch[ROWS + j]
        y1 = scratch[ROWS + SIDE + j]
        y2 = scratch[ROWS + 2 * SIDE + j]
        y3 = scratch[ROWS + 3 * SIDE + j]
        contrast = abs(c[0] * y0 + c[1] * y1 + c[2] * y2 + c[3] * y3)
        seen = x[0] * y0 + x[1] * y1 + x[2] * y2 + x[3] * y3 > IN_VIEW_SHARE
        p = pass_probability(contrast, shared + scratch[OFF_AXIS + j], n2, clutter2, scratch[THRESHOLD + j])
        q = _ONE - p
        scratch[SUM_PASS + j] += p * contrast
        scratch[SUM_PERFECT + j] += contrast if seen else _Z
        scratch[IN_VIEW + j] += _ONE if seen else _Z
        for degree in range(min_pixels - 1, 0, -1):
            here = POLY + degree * SIDE + j
            scratch[here] = scratch[here] * q + scratch[here - SIDE] * p
        scratch[POLY + j] *= q


@compiled_inline
def column_shares(scratch, at):
    """The four parts' numbers of one column."""
    return scratch[at], scratch[at + SIDE], scratch[at + 2 * SIDE], scratch[at + 3 * SIDE]


@compiled_inline
def fold_lanes(scratch, at, half):
    """Sums and degree-2 polynomials of lanes half .. 2 half - 1 of a block into its lanes 0 .. half - 1."""
    for lane in range(half):
        j = at + lane
        scratch[SUM_PASS + j] += scratch[SUM_PASS + half + j]
        scratch[SUM_PERFECT + j] += scratch[SUM_PERFECT + half + j]
        scratch[IN_VIEW + j] += scratch[IN_VIEW + half + j]
        a0, b0 = scratch[POLY + j], scratch[POLY + half + j]
        a1, b1 = scratch[POLY + SIDE + j], scratch[POLY + SIDE + half + j]
        a2, b2 = scratch[POLY + 2 * SIDE + j], scratch[POLY + 2 * SIDE + half + j]
        scratch[POLY + j] = a0 * b0
        scratch[POLY + SIDE + j] = a0 * b1 + a1 * b0
        scratch[POLY + 2 * SIDE + j] = a0 * b2 + a1 * b1 + a2 * b0


@compiled_inline
def fold_three(scratch, at):
    """A block's lanes into its first lane, for min_pixels = 3; returns P(fewer than three pixels pass)."""
    fold_lanes(scratch, at, 8)
    fold_lanes(scratch, at, 4)
    fold_lanes(scratch, at, 2)
    fold_lanes(scratch, at, 1)
    poly = POLY + at
    return np.float64(scratch[poly]) + np.float64(scratch[poly + SIDE]) + np.float64(scratch[poly + 2 * SIDE])


@compiled_inline
def fold_any(scratch, at, min_pixels):
    """A block's lanes into its first lane, for any min_pixels; returns P(fewer than min_pixels pixels pass)."""
    poly = POLY + at
    for lane in range(1, LANES):
        scratch[SUM_PASS + at] += scratch[SUM_PASS + at + lane]
        scratch[SUM_PERFECT + at] += scratch[SUM_PERFECT + at + lane]
        scratch[IN_VIEW + at] += scratch[IN_VIEW + at + lane]
        for degree in range(min_pixels - 1, -1, -1):
            total = _Z
            for k in range(degree + 1):
                total += scratch[poly + k * SIDE] * scratch[poly + (degree - k) * SIDE + lane]
            scratch[poly + degree * SIDE] = total
    fewer = 0.0
    for degree in range(min_pixels):
        fewer += scratch[poly + degree * SIDE]
    return fewer


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
    columns = aligned_frame(columns)
    u0 = max(int(math.floor(edges[PARTS, 0] - WINDOW_SDS * blur_u)), 0)
    u1 = min(int(math.ceil(edges[PARTS, 1] + WINDOW_SDS * blur_u)), columns)
    v0 = max(int(math.floor(edges[PARTS, 2] - WINDOW_SDS * blur_v)), 0)
    v1 = min(int(math.ceil(edges[PARTS, 3] + WINDOW_SDS * blur_v)), rows)
    if u1 <= u0 or v1 <= v0:
        return 0.0, 0.0, 0.0, 0.0, False
    row_count = v1 - v0
    column_count = u1 - u0
    number_places(scratch)
    blocks = (row_count + LANES - 1) // LANES
    for part in range(PARTS):
        fill_nodes(scratch, NODES, part, v0, row_count, edges[part, 2], edges[part, 3], blur_v)
        fill_nodes(scratch, NODES + PARTS * SIDE, part, u0, column_count, edges[part, 0], edges[part, 1], blur_u)
    for part in range(PARTS):
        fill_shares(scratch, ROWS, NODES, part, v0, row_count, edges[part, 2], edges[part, 3], blur_v)
        fill_shares(scratch, COLUMNS, NODES + PARTS * SIDE, part, u0, column_count, edges[part, 0], edges[part, 1], blur_u)
    for part in range(PARTS):
        fill_contrasts(scratch, part, column_count, np.float32(contrast[part]))
    k = np.float32(threshold)
    n2_32, clutter2_32 = np.float32(n2), np.float32(clutter2)
    alpha = 1.0 / (focal_px * focal_px) if focal_px > 0.0 else 0.0
    at = 0
    for block in range(blocks):
        at = block * LANES
        start_block(scratch, at, row_count - at, k, min_pixels)
        first_dv = v0 + at + 0.5 - centre_row
        if noise_law == LINEAR_NOISE:
            fill_off_axis(scratch, at, first_dv, 0.0, focal_px, noise_law, projection)
        i = 0
        if min_pixels == 3 and noise_law == LINEAR_NOISE:
            while i < column_count:
                du = u0 + i + 0.5 - centre_column
                xa, xb = column_shares(scratch, COLUMNS + i), column_shares(scratch, COLUMNS + i + 1)
                ca, cb = column_shares(scratch, CONTRASTS + i), column_shares(scratch, CONTRASTS + i + 1)
                real_b = _ONE if i + 1 < column_count else _Z
                shared_a = np.float32(1.0 + alpha * du * du)
                shared_b = np.float32(1.0 + alpha * (du + 1.0) * (du + 1.0))
                add_two_columns(scratch, at, xa, ca, shared_a, xb, cb, shared_b, real_b, n2_32, clutter2_32)
                i += 2
        while i < column_count:
            du = u0 + i + 0.5 - centre_column
            shared = np.float32(1.0 + alpha * du * du)
            if noise_law != LINEAR_NOISE:
                fill_off_axis(scratch, at, first_dv, du, focal_px, noise_law, projection)
                shared = _Z
            x, c = column_shares(scratch, COLUMNS + i), column_shares(scratch, CONTRASTS + i)
            add_column(scratch, at, x, c, shared, n2_32, clutter2_32, min_pixels)
            i += 1
    fewer = fold_three(scratch, at) if min_pixels == 3 else fold_any(scratch, at, min_pixels)
    p_look = min(max(1.0 - fewer, 0.0), 1.0)
    passed, perfect = np.float64(scratch[SUM_PASS + at]), np.float64(scratch[SUM_PERFECT + at])
    return passed, perfect, np.float64(scratch[IN_VIEW + at]), p_look, True
