"""Which angles an intrusion may take: the leg inside must get deep enough without meeting the fence again.

All in the frame of the drawn point P: x along the fence, y inwards, angles from the inward normal, positive anticlockwise.
"""

import math

from fencecast.jit import compiled, compiled_inline
from fencecast.kernels.draw import quantile_between, share_between

_TOUCH_M = 1.0e-9
_TOUCH_RAD = 1.0e-9
_RIGHT_ANGLE = 0.5 * math.pi
# A share of the drawn angles below this is rounding.
_SOME_SHARE = 1.0e-12


@compiled_inline
def _in_frame(edge, x, y, nx, ny):
    """An edge's two ends in P's frame: (along, deep) of each."""
    ax, ay, bx, by = edge[0] - x, edge[1] - y, edge[2] - x, edge[3] - y
    return nx * ay - ny * ax, nx * ax + ny * ay, nx * by - ny * bx, nx * bx + ny * by


@compiled_inline
def _angle_of(along, deep, corner_side):
    """Angle [rad] at which P sees a point; at P itself the side on which its own edge ends."""
    if deep <= _TOUCH_M:
        side = corner_side if abs(along) <= _TOUCH_M else along
        return math.copysign(_RIGHT_ANGLE, side)
    return math.atan2(along, deep)


@compiled
def _blocked(edge, x, y, nx, ny, deep_m, corner_side):
    """The angles [rad] at which a leg meets this edge before it is deep_m deep: (meets, from, to)."""
    ax, ay, bx, by = _in_frame(edge, x, y, nx, ny)
    if max(ay, by) <= _TOUCH_M or min(ay, by) >= deep_m - _TOUCH_M:
        return False, 0.0, 0.0
    if by < ay:
        ax, ay, bx, by = bx, by, ax, ay
    slope = (bx - ax) / (by - ay) if by > ay else 0.0
    if by > deep_m:
        bx, by = bx - slope * (by - deep_m), deep_m
    if ay < 0.0:
        ax, ay = ax - slope * ay, 0.0
    a, b = _angle_of(ax, ay, corner_side), _angle_of(bx, by, corner_side)
    return True, min(a, b), max(a, b)


@compiled
def _free_interval(blocks, first, last, own, x, y, nx, ny, deep_m, corner_side, start, way):
    """The first interval of possible angles at or beyond `start`, going left (way -1) or right (+1): (near end, far end).

    Blocked intervals are walked in that direction: near is where no edge is met any more, far where the next one is.
    """
    near = start
    moved = True
    while moved:
        moved = False
        for k in range(first, last):
            if int(blocks[k, 4]) == own:
                continue
            meets, low, high = _blocked(blocks[k], x, y, nx, ny, deep_m, corner_side)
            if way < 0:
                low, high = -high, -low
            if meets and low <= near * way + _TOUCH_RAD and high > near * way + _TOUCH_RAD:
                near = way * high
                moved = True
    far = way * _RIGHT_ANGLE
    for k in range(first, last):
        if int(blocks[k, 4]) == own:
            continue
        meets, low, high = _blocked(blocks[k], x, y, nx, ny, deep_m, corner_side)
        if way < 0:
            low, high = -high, -low
        if meets and low >= near * way and low < far * way:
            far = way * low
    return near, far


@compiled
def _bisector(blocks, first, last, own, x, y, nx, ny):
    """(there is one, angle [rad]) of the bisector of the corner between P's edge and the edge that the normal meets first."""
    nearest, found, angle = math.inf, False, 0.0
    for k in range(first, last):
        if int(blocks[k, 4]) == own:
            continue
        ax, ay, bx, by = _in_frame(blocks[k], x, y, nx, ny)
        if min(ax, bx) > 0.0 or max(ax, bx) < 0.0 or ax == bx:
            continue
        deep = ay + (by - ay) * ax / (ax - bx)
        if not _TOUCH_M < deep < nearest:
            continue
        nearest, found = deep, ay != by
        if found:
            corner = -deep * (bx - ax) / (by - ay)  # where the two lines meet, along P's edge
            away = math.hypot(corner, deep)
            angle = math.atan2(math.copysign(1.0, -corner) - corner / away, deep / away)
    return found, angle


@compiled
def inner_angle(blocks, first, last, own, middle_x, middle_y, x, y, nx, ny, deep_m, row, choice, u, turn):
    """(changed, angle [rad]) of the inner leg, drawn among the possible angles; changed is False when all drawn ones are.

    blocks (k, 5): edges that may be in the way, x0, y0, x1, y1 and the number of the edge; `own` is P's, (middle_x, middle_y) its
    middle. row: the drawn angle's distribution, `turn` [rad] is added to it. The interval that holds 0 or else the nearest one in
    which the distribution has a share; in none, the bisector of the corner; without a corner, the angle as drawn.
    """
    # The fence turns a corner at P itself only on the side where P's edge ends.
    corner_side = -(nx * (middle_y - y) - ny * (middle_x - x))
    arguments = (x, y, nx, ny, deep_m, corner_side)
    zero_free, near = True, False
    for k in range(first, last):
        if int(blocks[k, 4]) == own:
            continue
        meets, low, high = _blocked(blocks[k], *arguments)
        near = near or meets
        zero_free = zero_free and not (meets and low < -_TOUCH_RAD and high > _TOUCH_RAD)
    if not near:
        return False, 0.0
    right, right_end = _free_interval(blocks, first, last, own, *arguments, 0.0, 1.0)
    left, left_end = _free_interval(blocks, first, last, own, *arguments, 0.0, -1.0)
    if zero_free and right <= _TOUCH_RAD and left >= -_TOUCH_RAD:
        left, right = left_end, right_end
        share = share_between(row, choice, left - turn, right - turn)
        if share >= 1.0:
            return False, 0.0
        if share > _SOME_SHARE:
            return True, quantile_between(row, choice, u, left - turn, right - turn) + turn
        right, right_end = _free_interval(blocks, first, last, own, *arguments, right, 1.0)
        left, left_end = _free_interval(blocks, first, last, own, *arguments, left, -1.0)
    for _ in range(2 * (last - first) + 2):
        if min(right, -left) >= _RIGHT_ANGLE:
            break
        go_right = right <= -left
        low, high = (right, right_end) if go_right else (left_end, left)
        if share_between(row, choice, low - turn, high - turn) > _SOME_SHARE:
            return True, quantile_between(row, choice, u, low - turn, high - turn) + turn
        if go_right:
            right, right_end = _free_interval(blocks, first, last, own, *arguments, right_end, 1.0)
        else:
            left, left_end = _free_interval(blocks, first, last, own, *arguments, left_end, -1.0)
    found, angle = _bisector(blocks, first, last, own, x, y, nx, ny)
    return found, angle
