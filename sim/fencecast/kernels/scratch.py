"""The pixel scratch of one thread: its layout, and what is filled before pixels are drawn.

One flat float32 array at constant offsets, filled and read sixteen numbers at a time (`lanes`): the last block of a row or column
of numbers is always whole, because a scalar remainder would cost more than the rest.
"""

import math

import numpy as np

from fencecast.jit import compiled_inline
from fencecast.lanes import LANES, in_all, load, numbers, store, where_above
from fencecast.physics.body import PARTS as PART_NAMES
from fencecast.physics.detector import ramp_integral32
from fencecast.physics.optics import off_axis_angle_rad

PARTS = len(PART_NAMES)
# Largest sensor side that the scratch holds, with room for the last block.
MAX_SIDE_PX = 8192
SIDE = MAX_SIDE_PX + 2 * LANES
# The largest min_pixels that the lane polynomials hold.
MAX_MIN_PIXELS = 64
# Strips of one body that fences pass differently: four fence tops between its feet and its head on one line of sight.
MAX_STRIPS = 5

# Offsets in the flat scratch (float32): one number a row or column for each part, then what one block of rows needs.
ROWS = 0
COLUMNS = ROWS + PARTS * SIDE
NODES = COLUMNS + PARTS * SIDE
POLY = NODES + 2 * PARTS * SIDE
OFF_AXIS = POLY + MAX_MIN_PIXELS * LANES
STRIP_ROWS = OFF_AXIS + LANES
STRIP_OWN = STRIP_ROWS + MAX_STRIPS * PARTS * SIDE
SCRATCH_SIZE = STRIP_OWN + MAX_STRIPS * LANES

# Farther than this from an edge a blurred share is 0 or 1 to the last digit.
REACH_SDS = 5.0
# Threshold of the rows that only fill up a block: no noise passes it, so they are not asked.
_NEVER = np.float32(100.0)

_Z = np.float32(0.0)
_ONE = np.float32(1.0)

LINEAR_NOISE = 0  # noise grows as 1 / cos^4 = (1 + r^2 / f^2)^2 (rectilinear), or is flat when f is infinite


@compiled_inline
def blurred_span(low, high, blur, first, count):
    """Where a blurred [low, high) reaches among `count` pixels from `first` on: its first, counted from there, and how many.

    None when the interval is empty.
    """
    start = min(max(int(math.floor(low - REACH_SDS * blur)) - first, 0), count)
    end = min(int(math.ceil(high + REACH_SDS * blur)) - first, count)
    return start, (max(end - start, 0) if high > low else 0)


@compiled_inline
def fill_nodes(scratch, nodes, part, first, count, low, high, blur):
    """Node values D(j) of a blurred [low, high) where it reaches pixels first .. first+count-1.

    A part with its blur mostly fits one block of 16 nodes, wherever the window begins. All parts get their nodes before any
    share is taken: a share reads across what two stores have just written, and must wait until they are done.
    """
    start, length = blurred_span(low, high, blur, first, count)
    s = np.float32(blur)
    inverse = _ONE / s
    a, b = np.float32(low - first), np.float32(high - first)
    for block in range((length + LANES) // LANES):
        at = start + block * LANES
        x = numbers() + np.float32(at)
        store(scratch, nodes + part * SIDE + at, s * (ramp_integral32((x - a) * inverse) - ramp_integral32((x - b) * inverse)))


@compiled_inline
def fill_shares(scratch, shares, nodes, part, first, count, low, high, blur):
    """Shares of pixels first .. first+count-1 that [low, high) covers; zeros up to the end of the last block of lanes."""
    start, length = blurred_span(low, high, blur, first, count)
    for block in range((count + LANES) // LANES):
        store(scratch, shares + part * SIDE + block * LANES, in_all(_Z))
    for block in range((length + LANES - 1) // LANES):
        at = part * SIDE + start + block * LANES
        share = load(scratch, nodes + at + 1) - load(scratch, nodes + at)
        left = np.float32(length - block * LANES)
        store(scratch, shares + at, where_above(left, numbers(), share, _Z))


@compiled_inline
def linear_off_axis(first_dv, focal_px):
    """Sixteen rows' part of 1 / sqrt(relative illumination), whose other part, 1 + du^2 / f^2, is the column's.

    Their sum g makes the temporal variance n^2 g^4. For cos^4 on a rectilinear lens 1 / cos^2 = 1 + (du^2 + dv^2) / f^2; without
    a law (focal_px 0) g is 1.
    """
    alpha = np.float32(1.0 / (focal_px * focal_px)) if focal_px > 0.0 else _Z
    dv = numbers() + np.float32(first_dv)
    return alpha * dv * dv


@compiled_inline
def cosine_off_axis(scratch, first_dv, du, focal_px, projection):
    """1 / sqrt(relative illumination) of sixteen rows in one column, for an equidistant lens with cos^4 asked for."""
    for lane in range(LANES):
        dv = first_dv + lane
        cosine = max(math.cos(off_axis_angle_rad(math.sqrt(du * du + dv * dv), focal_px, projection)), 0.0)
        scratch[OFF_AXIS + lane] = np.float32(1.0 / max(cosine * cosine, 1e-3))
    return load(scratch, OFF_AXIS)


@compiled_inline
def row_thresholds(rows_left, threshold):
    """The threshold of sixteen rows; rows past the window get one that nothing passes."""
    return where_above(np.float32(rows_left), numbers(), threshold, _NEVER)
