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
NODES = COLUMNS + PARTS * SIDE
OFF_AXIS = NODES + SIDE
THRESHOLD = OFF_AXIS + SIDE
SUM_PASS = THRESHOLD + SIDE
SUM_PERFECT = SUM_PASS + SIDE
IN_VIEW = SUM_PERFECT + SIDE
POLY = IN_VIEW + SIDE
LANE_NUMBER = POLY + MAX_MIN_PIXELS * SIDE
SCRATCH_SIZE = LANE_NUMBER + LANES

# Threshold of the rows that only fill up a block: no noise passes it, so they are not asked.
_NEVER = np.float32(100.0)

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
            x = scratch[LANE_NUMBER + lane]
            scratch[NODES + at + lane] = s * (ramp_integral32((x + from_a) * inverse) - ramp_integral32((x + from_b) * inverse))
    for block in range(blocks):
        at = block * LANES
        left = np.float32(count - at)
        for lane in range(LANES):
            share = scratch[NODES + at + lane + 1] - scratch[NODES + at + lane]
            scratch[offset + at + lane] = share if scratch[LANE_NUMBER + lane] < left else _Z


@compiled_inline
def clear_shares(scratch, offset, count):
    """No share anywhere: a part that is hidden."""
    for block in range((count + LANES) // LANES):
        for lane in range(LANES):
            scratch[offset + block * LANES + lane] = _Z


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
