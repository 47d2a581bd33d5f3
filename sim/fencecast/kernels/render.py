"""The pixel loop: one body in one frame, drawn, compared with noise and summed; no pixel outlives the call.

The expressions are those of `physics.detector` (exact blurred box, Phi); only their arrangement is for speed. Sixteen rows at a
time, column after column, sums in registers; node values D(j) once per rectangle and axis, X_j = D(j + 1) - D(j); two columns in
a step, for two chains of multiply-adds; the Poisson-binomial as one polynomial a lane, cut at degree min_pixels - 1 and
multiplied at the end. What was tried and measured: benchmarks/README.md.
"""

import math

import numpy as np

from fencecast.jit import compiled, compiled_inline
from fencecast.kernels.scratch import (
    COLUMNS,
    LINEAR_NOISE,
    MAX_SIDE_PX,
    NODES,
    PARTS,
    POLY,
    ROWS,
    SIDE,
    cosine_off_axis,
    fill_nodes,
    fill_shares,
    linear_off_axis,
    row_thresholds,
)
from fencecast.lanes import LANES, at_least, first, in_all, load, number, root, rotate, store, where_above
from fencecast.physics.detector import half_erf32

# A pixel is in view when the body covers more than this share of it.
IN_VIEW_SHARE = np.float32(0.01)
# The window: pixels within this many blur sds of the body's rectangle; part of the model (moves P_look at 1e-5).
WINDOW_SDS = 4.0

_Z = np.float32(0.0)
_ONE = np.float32(1.0)
_TWO = np.float32(2.0)


@compiled_inline
def pass_probability(contrast, g, n2, clutter2, threshold):
    """Phi(|C| / sigma - k), sigma^2 = n^2 g^4 + clutter^2, for twice n^2 and clutter^2 and for k / sqrt(2).

    It may pass 1 by 3e-7, which no sum here can feel; below 0 it would lend to one pixel what another one has.
    """
    g = g * g
    return at_least(half_erf32(contrast / root(n2 * (g * g) + clutter2) - threshold), _Z)


@compiled_inline
def rows_of(scratch, at, contrast):
    """Sixteen rows' shares of the four parts, and the same times the parts' contrasts."""
    y0 = load(scratch, ROWS + at)
    y1 = load(scratch, ROWS + SIDE + at)
    y2 = load(scratch, ROWS + 2 * SIDE + at)
    y3 = load(scratch, ROWS + 3 * SIDE + at)
    c0, c1, c2, c3 = contrast
    return (y0, y1, y2, y3), (c0 * y0, c1 * y1, c2 * y2, c3 * y3)


@compiled_inline
def column_of(scratch, column):
    """The four parts' shares of one column."""
    at = COLUMNS + column
    return number(scratch, at), number(scratch, at + SIDE), number(scratch, at + 2 * SIDE), number(scratch, at + 3 * SIDE)


@compiled_inline
def over_parts(x, y):
    """Sum over the four parts of column share times what stands in the rows."""
    return x[0] * y[0] + x[1] * y[1] + x[2] * y[2] + x[3] * y[3]


@compiled_inline
def two_columns(x, z, shares, contrasts, g, h, n2, clutter2, threshold, view, sums):
    """Thirty-two pixels of two columns into the sums of their lanes, for min_pixels = 3 (the default).

    x, z: shares of the two columns; g, h: their 1 / sqrt(relative illumination); view: a pixel is in view above this share;
    sums: passed, perfect, in view, and the chances that 0, 1 and 2 pixels have passed.
    """
    passed, perfect, in_view, d0, d1, d2 = sums
    contrast_x, contrast_z = abs(over_parts(x, contrasts)), abs(over_parts(z, contrasts))
    seen_x, seen_z = over_parts(x, shares), over_parts(z, shares)
    p = pass_probability(contrast_x, g, n2, clutter2, threshold)
    r = pass_probability(contrast_z, h, n2, clutter2, threshold)
    passed = passed + (p * contrast_x + r * contrast_z)
    perfect = perfect + (where_above(seen_x, view, contrast_x, _Z) + where_above(seen_z, view, contrast_z, _Z))
    in_view = in_view + (where_above(seen_x, view, _ONE, _Z) + where_above(seen_z, view, _ONE, _Z))
    two, none = p * r, (_ONE - p) * (_ONE - r)
    one = p + r - _TWO * two
    return passed, perfect, in_view, d0 * none, d1 * none + d0 * one, d2 * none + d1 * one + d0 * two


@compiled_inline
def one_column(x, shares, contrasts, g, n2, clutter2, threshold, view, sums):
    """As `two_columns` for a column that is left over."""
    passed, perfect, in_view, d0, d1, d2 = sums
    contrast = abs(over_parts(x, contrasts))
    seen = over_parts(x, shares)
    p = pass_probability(contrast, g, n2, clutter2, threshold)
    q = _ONE - p
    passed = passed + p * contrast
    perfect = perfect + where_above(seen, view, contrast, _Z)
    in_view = in_view + where_above(seen, view, _ONE, _Z)
    return passed, perfect, in_view, d0 * q, d1 * q + d0 * p, d2 * q + d1 * p


@compiled_inline
def any_column(scratch, x, shares, contrasts, g, n2, clutter2, threshold, view, sums, min_pixels):
    """As `one_column` for any min_pixels: the polynomial stands in the scratch."""
    passed, perfect, in_view = sums
    contrast = abs(over_parts(x, contrasts))
    seen = over_parts(x, shares)
    p = pass_probability(contrast, g, n2, clutter2, threshold)
    q = _ONE - p
    for degree in range(min_pixels - 1, 0, -1):
        here = POLY + degree * LANES
        store(scratch, here, load(scratch, here) * q + load(scratch, here - LANES) * p)
    store(scratch, POLY, load(scratch, POLY) * q)
    passed = passed + p * contrast
    perfect = perfect + where_above(seen, view, contrast, _Z)
    in_view = in_view + where_above(seen, view, _ONE, _Z)
    return passed, perfect, in_view


@compiled_inline
def start_polynomials(scratch, min_pixels):
    """No pixel has passed, in every lane."""
    store(scratch, POLY, in_all(_ONE))
    for degree in range(1, min_pixels):
        store(scratch, POLY + degree * LANES, in_all(_Z))


@compiled_inline
def sum_of(value):
    """Sum over the lanes."""
    value = value + rotate(value, 8)
    value = value + rotate(value, 4)
    value = value + rotate(value, 2)
    return np.float64(first(value + rotate(value, 1)))


@compiled_inline
def joined(a, b):
    """Product of two polynomials of degree 2, cut at degree 2."""
    return a[0] * b[0], a[0] * b[1] + a[1] * b[0], a[0] * b[2] + a[1] * b[1] + a[2] * b[0]


@compiled_inline
def fewer_than_three(d0, d1, d2):
    """P(fewer than three pixels pass) from the chances of 0, 1 and 2 in each lane."""
    d = joined((d0, d1, d2), (rotate(d0, 8), rotate(d1, 8), rotate(d2, 8)))
    d = joined(d, (rotate(d[0], 4), rotate(d[1], 4), rotate(d[2], 4)))
    d = joined(d, (rotate(d[0], 2), rotate(d[1], 2), rotate(d[2], 2)))
    d = joined(d, (rotate(d[0], 1), rotate(d[1], 1), rotate(d[2], 1)))
    return np.float64(first(d[0])) + np.float64(first(d[1])) + np.float64(first(d[2]))


@compiled_inline
def fewer_than(scratch, min_pixels):
    """P(fewer than min_pixels pixels pass) from the lanes' polynomials in the scratch, which are joined into the first lane."""
    for lane in range(1, LANES):
        for degree in range(min_pixels - 1, -1, -1):
            total = _Z
            for k in range(degree + 1):
                total += scratch[POLY + k * LANES] * scratch[POLY + (degree - k) * LANES + lane]
            scratch[POLY + degree * LANES] = total
    fewer = 0.0
    for degree in range(min_pixels):
        fewer += scratch[POLY + degree * LANES]
    return fewer


@compiled_inline
def window_of(edges, blur_u, blur_v, frame):
    """Pixels that are asked: within WINDOW_SDS blurs of the whole body, inside the frame: (u from, u to, v from, v to)."""
    columns, rows = min(frame[0], MAX_SIDE_PX), min(frame[1], MAX_SIDE_PX)  # stores into the scratch are not checked
    u0 = max(int(math.floor(edges[PARTS, 0] - WINDOW_SDS * blur_u)), 0)
    u1 = min(int(math.ceil(edges[PARTS, 1] + WINDOW_SDS * blur_u)), columns)
    v0 = max(int(math.floor(edges[PARTS, 2] - WINDOW_SDS * blur_v)), 0)
    v1 = min(int(math.ceil(edges[PARTS, 3] + WINDOW_SDS * blur_v)), rows)
    return u0, u1, v0, v1


@compiled
def render_look(
    scratch, edges, contrast, blur_u, blur_v, frame, focal_px, noise_law, projection, n2, clutter2, threshold, min_pixels,
    view_share=IN_VIEW_SHARE,
):  # fmt: skip
    """Draw one body and sum it.

    Arguments: edges (PARTS, 4) float64 px: u from, u to, v from, v to of each visible rectangle (empty when from >= to), then
    row PARTS: the whole body's rectangle; contrast (PARTS,) float64 W/(m²·sr); blur sds [px]; frame (columns, rows,
    centre column, centre row); n2 = temporal variance on axis times (1 + fixed pattern^2), clutter2 that of clutter
    [(W/(m²·sr))²]; view_share (float32): a pixel is in view when the body covers more of it. A fence before the whole body that
    passes the share f of its contrast is the same as noise and view_share divided by f: what is counted stays the body's own.
    Returns (sum of p |C|, sum of |C| over pixels in view, pixels in view, P(at least min_pixels pass), drawn).
    """
    _, _, centre_column, centre_row = frame
    u0, u1, v0, v1 = window_of(edges, blur_u, blur_v, frame)
    if u1 <= u0 or v1 <= v0:
        return 0.0, 0.0, 0.0, 0.0, False
    row_count = v1 - v0
    column_count = u1 - u0
    for part in range(PARTS):
        fill_nodes(scratch, NODES, part, v0, row_count, edges[part, 2], edges[part, 3], blur_v)
        fill_nodes(scratch, NODES + PARTS * SIDE, part, u0, column_count, edges[part, 0], edges[part, 1], blur_u)
    for part in range(PARTS):
        fill_shares(scratch, ROWS, NODES, part, v0, row_count, edges[part, 2], edges[part, 3], blur_v)
        fill_shares(scratch, COLUMNS, NODES + PARTS * SIDE, part, u0, column_count, edges[part, 0], edges[part, 1], blur_u)
    contrast32 = np.float32(contrast[0]), np.float32(contrast[1]), np.float32(contrast[2]), np.float32(contrast[3])
    k, n2_32, clutter2_32 = np.float32(math.sqrt(0.5) * threshold), np.float32(2.0 * n2), np.float32(2.0 * clutter2)
    alpha = 1.0 / (focal_px * focal_px) if focal_px > 0.0 else 0.0
    three = min_pixels == 3 and noise_law == LINEAR_NOISE
    passed, perfect, in_view = in_all(_Z), in_all(_Z), in_all(_Z)
    d0, d1, d2 = in_all(_ONE), in_all(_Z), in_all(_Z)
    if not three:
        start_polynomials(scratch, min_pixels)
    for at in range(0, row_count, LANES):
        shares, contrasts = rows_of(scratch, at, contrast32)
        thresholds = row_thresholds(row_count - at, k)
        first_dv = v0 + at + 0.5 - centre_row
        off_axis = linear_off_axis(first_dv, focal_px)
        du = u0 + 0.5 - centre_column
        if three:
            sums = passed, perfect, in_view, d0, d1, d2
            for i in range(0, column_count - 1, 2):
                g = off_axis + np.float32(1.0 + alpha * (du + i) * (du + i))
                h = off_axis + np.float32(1.0 + alpha * (du + i + 1) * (du + i + 1))
                x, z = column_of(scratch, i), column_of(scratch, i + 1)
                sums = two_columns(x, z, shares, contrasts, g, h, n2_32, clutter2_32, thresholds, view_share, sums)
            if column_count % 2 == 1:
                i = column_count - 1
                g = off_axis + np.float32(1.0 + alpha * (du + i) * (du + i))
                sums = one_column(column_of(scratch, i), shares, contrasts, g, n2_32, clutter2_32, thresholds, view_share, sums)
            passed, perfect, in_view, d0, d1, d2 = sums
        else:
            for i in range(column_count):
                if noise_law == LINEAR_NOISE:
                    g = off_axis + np.float32(1.0 + alpha * (du + i) * (du + i))
                else:
                    g = cosine_off_axis(scratch, first_dv, du + i, focal_px, projection)
                passed, perfect, in_view = any_column(
                    scratch, column_of(scratch, i), shares, contrasts, g, n2_32, clutter2_32, thresholds,
                    view_share, (passed, perfect, in_view), min_pixels,
                )  # fmt: skip
    fewer = fewer_than_three(d0, d1, d2) if three else fewer_than(scratch, min_pixels)
    p_look = min(max(1.0 - fewer, 0.0), 1.0)
    return max(sum_of(passed), 0.0), sum_of(perfect), sum_of(in_view), p_look, True
