"""The pixel scratch of one thread: its layout, and what is filled before pixels are drawn.

One flat float32 array at constant offsets, because the compiler never knows that two arrays do not alias; loops run over whole
blocks of 16 rows, one vector register, because a scalar remainder would cost more than the rest.
"""

import math

import numpy as np

from fencecast.jit import compiled_inline
from fencecast.physics.detector import ramp_integral32
from fencecast.physics.optics import off_axis_angle_rad

PARTS = 4
LANES = 16
# Largest sensor side that the scratch holds, with room for the last block.
MAX_SIDE_PX = 8192
SIDE = MAX_SIDE_PX + 2 * LANES
# The largest min_pixels that the lane polynomials hold.
MAX_MIN_PIXELS = 64

# Offsets in the flat scratch (float32); all but the last hold one number a row or column.
ROWS = 0
COLUMNS = ROWS + PARTS * SIDE
CONTRASTS = COLUMNS + PARTS * SIDE
NODES = CONTRASTS + PARTS * SIDE
OFF_AXIS = NODES + 2 * PARTS * SIDE
THRESHOLD = OFF_AXIS + SIDE
SUM_PASS = THRESHOLD + SIDE
SUM_PERFECT = SUM_PASS + SIDE
IN_VIEW = SUM_PERFECT + SIDE
POLY = IN_VIEW + SIDE
PLACE = POLY + MAX_MIN_PIXELS * SIDE  # each place's own number within its part
LANE_NUMBER = PLACE  # the first of them
SCRATCH_SIZE = PLACE + PARTS * SIDE

# Larger than any place. Masked with it, an index is seen to be never negative; otherwise loops would stay scalar, because a
# negative one would count from the end.
_NO_SIGN = 0xFFFFF
# Farther than this from an edge a blurred share is 0 or 1 to the last digit.
REACH_SDS = 5.0
# Threshold of the rows that only fill up a block: no noise passes it, so they are not asked.
_NEVER = np.float32(100.0)

_Z = np.float32(0.0)
_ONE = np.float32(1.0)

LINEAR_NOISE = 0  # noise grows as 1 / cos^4 = (1 + r^2 / f^2)^2 (rectilinear), or is flat when f is infinite
COSINE_NOISE = 1  # equidistant lens with cos^4 asked for


@compiled_inline
def blurred_span(low, high, blur, first, count):
    """Where a blurred [low, high) reaches among `count` pixels from `first` on: its first, counted from there, and how many.

    None when the interval is empty.
    """
    start = min(max(int(math.floor(low - REACH_SDS * blur)) - first, 0), count)
    end = min(int(math.ceil(high + REACH_SDS * blur)) - first, count)
    return start, (max(end - start, 0) if high > low else 0)


@compiled_inline
def number_places(scratch):
    """Each place's own number within its part, as a float, once in the life of a scratch."""
    if scratch[PLACE + 1] != _ONE:
        for part in range(PARTS):
            for place in range(SIDE):
                scratch[PLACE + part * SIDE + place] = np.float32(place)


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
        at = (part * SIDE + start + block * LANES) & _NO_SIGN
        for lane in range(LANES):
            j = at + lane
            x = scratch[PLACE + j]
            scratch[nodes + j] = s * (ramp_integral32((x - a) * inverse) - ramp_integral32((x - b) * inverse))


@compiled_inline
def fill_shares(scratch, shares, nodes, part, first, count, low, high, blur):
    """Shares of pixels first .. first+count-1 that [low, high) covers; zeros up to the end of the last block of lanes."""
    start, length = blurred_span(low, high, blur, first, count)
    here = part * SIDE
    nothing = scratch[PLACE]  # 0, but not for the compiler, which would call the C library to clear each block
    for block in range((count + LANES) // LANES):
        for lane in range(LANES):
            scratch[shares + here + block * LANES + lane] = nothing
    end = np.float32(start + length)
    for block in range((length + LANES - 1) // LANES):
        at = (here + start + block * LANES) & _NO_SIGN
        for lane in range(LANES):
            j = at + lane
            share = scratch[nodes + j + 1] - scratch[nodes + j]
            scratch[shares + j] = share if scratch[PLACE + j] < end else _Z


@compiled_inline
def fill_contrasts(scratch, part, count, contrast):
    """Column shares of a part times its contrast, from where the pixel loop's multiply-adds take them without a register."""
    here = part * SIDE
    for block in range((count + LANES) // LANES):
        for lane in range(LANES):
            j = here + block * LANES + lane
            scratch[CONTRASTS + j] = contrast * scratch[COLUMNS + j]


@compiled_inline
def fill_off_axis(scratch, at, first_dv, du, focal_px, noise_law, projection):
    """The part of 1 / sqrt(relative illumination) that differs from row to row of a block, into the scratch; columns add theirs.

    Their sum g makes the temporal variance n^2 g^4. For cos^4 on a rectilinear lens 1 / cos^2 = 1 + (du^2 + dv^2) / f^2, so rows
    are filled once and columns add their du; for an equidistant lens each column is filled anew; flat is g = 1.
    """
    if noise_law == LINEAR_NOISE:
        alpha = np.float32(1.0 / (focal_px * focal_px)) if focal_px > 0.0 else _Z
        start = np.float32(first_dv)
        for lane in range(LANES):
            dv = start + scratch[LANE_NUMBER + lane]
            scratch[OFF_AXIS + at + lane] = alpha * dv * dv
    else:
        for lane in range(LANES):
            dv = first_dv + lane
            cosine = max(math.cos(off_axis_angle_rad(math.sqrt(du * du + dv * dv), focal_px, projection)), 0.0)
            scratch[OFF_AXIS + at + lane] = np.float32(1.0 / max(cosine * cosine, 1e-3))


@compiled_inline
def start_block(scratch, at, rows_left, threshold, min_pixels):
    """Sums and polynomials of a block of rows: zero and 1 for the first, else what the block above ended with.

    Carried on from block to block like this, the last block holds everything and nothing is left to join. Rows past the window
    get a threshold that nothing passes.
    """
    left = np.float32(rows_left)
    for lane in range(LANES):
        scratch[THRESHOLD + at + lane] = threshold if scratch[LANE_NUMBER + lane] < left else _NEVER
    if at == 0:
        for lane in range(LANES):
            scratch[SUM_PASS + lane] = _Z
            scratch[SUM_PERFECT + lane] = _Z
            scratch[IN_VIEW + lane] = _Z
            scratch[POLY + lane] = _ONE
        for degree in range(1, min_pixels):
            for lane in range(LANES):
                scratch[POLY + degree * SIDE + lane] = _Z
        return
    for lane in range(LANES):
        j = at + lane
        scratch[SUM_PASS + j] = scratch[SUM_PASS - LANES + j]
        scratch[SUM_PERFECT + j] = scratch[SUM_PERFECT - LANES + j]
        scratch[IN_VIEW + j] = scratch[IN_VIEW - LANES + j]
    for degree in range(min_pixels):
        for lane in range(LANES):
            here = POLY + degree * SIDE + at + lane
            scratch[here] = scratch[here - LANES]
