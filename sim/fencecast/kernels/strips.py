"""The pixel loop for a body that fences hide in part: strips of it, each passed by its own share, against noise.

Only what arrives can pass the threshold; what is counted is the body's own contrast. In a pixel that shows several strips, each
counts by what would pass if all of the pixel were seen as that strip is, and never by more than passes: what an opaque fence
hides is not resolved by a pixel that shows the head above it. So a fence without openings equals a wall, and one that is all
open equals none. A body behind one fence all over needs none of this (`render.render_look`); this loop has no other uses and is
plainer: one column at a time.
"""

import math

import numpy as np

from fencecast.jit import compiled, compiled_inline
from fencecast.kernels.render import (
    IN_VIEW_SHARE,
    column_of,
    fewer_than,
    pass_probability,
    start_polynomials,
    sum_of,
    window_of,
)
from fencecast.kernels.scratch import (
    COLUMNS,
    LINEAR_NOISE,
    NODES,
    PARTS,
    POLY,
    SIDE,
    STRIP_OWN,
    STRIP_ROWS,
    cosine_off_axis,
    fill_nodes,
    fill_shares,
    linear_off_axis,
    row_thresholds,
)
from fencecast.kernels.sight import STRIP_FROM, STRIP_PASSED, STRIP_TO
from fencecast.lanes import LANES, in_all, load, store, where_above

_Z = np.float32(0.0)
_ONE = np.float32(1.0)


@compiled_inline
def smaller(a, b):
    """The smaller one of two numbers in each lane."""
    return where_above(a, b, b, a)


@compiled_inline
def larger(a, b):
    """The larger one of two numbers in each lane."""
    return where_above(a, b, a, b)


@compiled_inline
def fill_strips(scratch, edges, strips, count, v0, row_count, blur_v):
    """Rows' shares of each part in each strip: at STRIP_ROWS + (strip * PARTS + part) * SIDE."""
    for m in range(count):
        for part in range(PARTS):
            low, high = max(edges[part, 2], strips[m, STRIP_FROM]), min(edges[part, 3], strips[m, STRIP_TO])
            fill_nodes(scratch, NODES, part, v0, row_count, low, high, blur_v)
        for part in range(PARTS):
            low, high = max(edges[part, 2], strips[m, STRIP_FROM]), min(edges[part, 3], strips[m, STRIP_TO])
            fill_shares(scratch, STRIP_ROWS + m * PARTS * SIDE, NODES, part, v0, row_count, low, high, blur_v)


@compiled
def render_strips(
    scratch, edges, contrast, strips, count, blur_u, blur_v, frame, focal_px, noise_law, projection, n2, clutter2, threshold,
    min_pixels,
):  # fmt: skip
    """Draw one body behind fences and sum it: arguments and results as of `render_look`.

    contrast: before fences; strips (MAX_STRIPS, 3) of which `count` are used: rows from, to [px] and the share that passes; they
    share out the whole rectangle. Results: sum of what is counted, that of perfect contrast, pixels in view, P(at least
    min_pixels pass), drawn.
    """
    _, _, centre_column, centre_row = frame
    u0, u1, v0, v1 = window_of(edges, blur_u, blur_v, frame)
    if u1 <= u0 or v1 <= v0:
        return 0.0, 0.0, 0.0, 0.0, False
    row_count, column_count = v1 - v0, u1 - u0
    fill_strips(scratch, edges, strips, count, v0, row_count, blur_v)
    across = NODES + PARTS * SIDE
    for part in range(PARTS):
        fill_nodes(scratch, across, part, u0, column_count, edges[part, 0], edges[part, 1], blur_u)
    for part in range(PARTS):
        fill_shares(scratch, COLUMNS, across, part, u0, column_count, edges[part, 0], edges[part, 1], blur_u)
    c0, c1, c2, c3 = np.float32(contrast[0]), np.float32(contrast[1]), np.float32(contrast[2]), np.float32(contrast[3])
    k, n2_32, clutter2_32 = np.float32(math.sqrt(0.5) * threshold), np.float32(2.0 * n2), np.float32(2.0 * clutter2)
    alpha = 1.0 / (focal_px * focal_px) if focal_px > 0.0 else 0.0
    passed, perfect, in_view = in_all(_Z), in_all(_Z), in_all(_Z)
    start_polynomials(scratch, min_pixels)
    for at in range(0, row_count, LANES):
        thresholds = row_thresholds(row_count - at, k)
        first_dv = v0 + at + 0.5 - centre_row
        off_axis = linear_off_axis(first_dv, focal_px)
        for i in range(column_count):
            du = u0 + i + 0.5 - centre_column
            if noise_law == LINEAR_NOISE:
                g = off_axis + np.float32(1.0 + alpha * du * du)
            else:
                g = cosine_off_axis(scratch, first_dv, du, focal_px, projection)
            x0, x1, x2, x3 = column_of(scratch, i)
            own, arriving, share, seen = in_all(_Z), in_all(_Z), in_all(_Z), in_all(_Z)
            for m in range(count):
                row = STRIP_ROWS + m * PARTS * SIDE + at
                y0, y1 = x0 * load(scratch, row), x1 * load(scratch, row + SIDE)
                y2, y3 = x2 * load(scratch, row + 2 * SIDE), x3 * load(scratch, row + 3 * SIDE)
                strip = c0 * y0 + c1 * y1 + c2 * y2 + c3 * y3
                filled = y0 + y1 + y2 + y3
                store(scratch, STRIP_OWN + m * LANES, strip)
                through = np.float32(strips[m, STRIP_PASSED])
                own, arriving = own + strip, arriving + through * strip
                share, seen = share + filled, seen + through * filled
            # Warm and cold parts may cancel more without the fence than behind it: then what arrives is the stronger one.
            arriving = abs(arriving)
            own = larger(abs(own), arriving)
            p = pass_probability(arriving, g, n2_32, clutter2_32, thresholds)
            q = _ONE - p
            for degree in range(min_pixels - 1, 0, -1):
                here = POLY + degree * LANES
                store(scratch, here, load(scratch, here) * q + load(scratch, here - LANES) * p)
            store(scratch, POLY, load(scratch, POLY) * q)
            counted, ideal = in_all(_Z), in_all(_Z)
            for m in range(count):
                strip = load(scratch, STRIP_OWN + m * LANES)
                through = np.float32(strips[m, STRIP_PASSED])
                alone = smaller(arriving, through * own)
                counted = counted + pass_probability(alone, g, n2_32, clutter2_32, thresholds) * strip
                ideal = ideal + where_above(smaller(seen, through * share), IN_VIEW_SHARE, strip, _Z)
            passed, perfect = passed + abs(counted), perfect + abs(ideal)
            in_view = in_view + where_above(seen, IN_VIEW_SHARE, _ONE, _Z)
    p_look = min(max(1.0 - fewer_than(scratch, min_pixels), 0.0), 1.0)
    return sum_of(passed), sum_of(perfect), sum_of(in_view), p_look, True
