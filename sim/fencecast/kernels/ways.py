"""The straight ways of an encounter: square to the fence through it or over it, or along it."""

import math
from typing import NamedTuple

from fencecast.jit import compiled_inline
from fencecast.kernels.path import point_on_section
from fencecast.kernels.sight import ON_LINE_M, crossing_parameter, first_obstacle_m
from fencecast.kernels.types import (
    ALONG,
    BASE_M,
    CROSS,
    OFFSET_M,
    OVER,
    SPEED_M_S,
    WAY_ANGLE_RAD,
    WAY_PAUSE_S,
    WAY_REACH_M,
    Motion,
)

# How far a way along the fence is followed on both sides of its drawn point [m]: judgement, no source.
ALONG_M = 20.0
LEAST_SPEED_M_S = 0.02  # a way never lasts for ever


class Way(NamedTuple):
    """A straight way: through (x, y), begun before_m ahead of it and ended after_m behind it, with a pause on it."""

    x: float  # the drawn point [m]: on the fence, or beside it on a way along it
    y: float
    heading_x: float  # unit vector
    heading_y: float
    before_m: float
    after_m: float
    speed_m_s: float
    arrive_s: float
    leave_s: float
    end_s: float
    base_m: float  # height of the lowest point above the ground, all along


@compiled_inline
def free_way_m(scene, x, y, direction_x, direction_y, reach_m, own_edge):
    """How far [m] a way gets along a unit direction before it meets an edge of the perimeter other than its own, or an obstacle.

    A way belongs to the section that it was drawn for: it ends where another begins, barrier or none, because ways through
    that section are drawn for it, and one of both would count twice (at corners that doubled alarms).
    """
    nearest = reach_m
    end_x, end_y = x + direction_x * reach_m, y + direction_y * reach_m
    for k in range(scene.edge_barrier.size):
        if k == own_edge:
            continue
        s, t = crossing_parameter(x, y, end_x, end_y, scene.edge[k])
        if s * reach_m > ON_LINE_M and 0.0 <= t <= 1.0:
            nearest = min(nearest, s * reach_m)
    return first_obstacle_m(scene, x, y, direction_x, direction_y, nearest)


@compiled_inline
def nearest_on_road(stimuli, stimulus, x, y):
    """The point of a stimulus's road nearest to (x, y), the unit vector along it there, and the road's length each way [m]:
    (x, y, along x, along y, behind, ahead). Lengths are those of the whole line: its points, however many, end nothing."""
    best, at_x, at_y, along_x, along_y, behind, total = math.inf, x, y, 1.0, 0.0, 0.0, 0.0
    for k in range(stimuli.road_first[stimulus], stimuli.road_first[stimulus + 1]):
        piece = stimuli.road[k]
        dx, dy = piece[2] - piece[0], piece[3] - piece[1]
        length = math.hypot(dx, dy)
        if length <= 0.0:
            continue
        dx, dy = dx / length, dy / length
        along = min(max((x - piece[0]) * dx + (y - piece[1]) * dy, 0.0), length)
        there_x, there_y = piece[0] + along * dx, piece[1] + along * dy
        away = math.hypot(x - there_x, y - there_y)
        if away < best:
            best, at_x, at_y, along_x, along_y, behind = away, there_x, there_y, dx, dy, total + along
        total += length
    return at_x, at_y, along_x, along_y, behind, total - behind


@compiled_inline
def draw_way(scene, stimuli, stimulus, section, start_m, end_m, drawn, u_position, u_direction, u_way):
    """One way of a stimulus in a segment, and whether there is one: on the way to its offset another fence may stand.

    drawn (STIMULUS_QUANTITIES,): its quantities as drawn; u_*: draws in (0, 1). A stimulus that would cross goes through the
    fence with its share for the section, else it is turned along it. One with a road goes straight along it, from where that
    comes nearest to the drawn point, and no farther than the road is long.
    """
    edge, x, y = point_on_section(scene, section, start_m + u_position * (end_m - start_m))
    nx, ny = scene.edge_normal[edge, 0], scene.edge_normal[edge, 1]
    sense = 1.0 if u_direction < 0.5 else -1.0
    kind = stimuli.way[stimulus]
    speed = max(drawn[SPEED_M_S], LEAST_SPEED_M_S)
    base = max(drawn[BASE_M], 0.0)
    if stimuli.base_of_barrier[stimulus]:
        base *= scene.edge_height_m[edge]
    pause = max(drawn[WAY_PAUSE_S], 0.0) if kind == OVER else 0.0
    own_edge, offset = edge, 0.0
    hx, hy = sense * ny, -sense * nx  # along the fence
    behind, ahead = ALONG_M, ALONG_M
    if kind != ALONG and (kind != CROSS or u_way < stimuli.through[stimulus, section]):
        c, s = math.cos(drawn[WAY_ANGLE_RAD]), math.sin(drawn[WAY_ANGLE_RAD])
        hx, hy = sense * (c * nx - s * ny), sense * (s * nx + c * ny)
        behind, ahead = drawn[WAY_REACH_M], drawn[WAY_REACH_M]
    elif kind == ALONG and stimuli.road_first[stimulus + 1] > stimuli.road_first[stimulus]:
        x, y, hx, hy, behind, ahead = nearest_on_road(stimuli, stimulus, x, y)
        behind, ahead, own_edge = min(behind, ALONG_M), min(ahead, ALONG_M), -1
        if sense < 0.0:
            hx, hy, behind, ahead = -hx, -hy, ahead, behind
    else:
        offset = drawn[OFFSET_M]
    free = True
    for leg in range(3):  # from the fence to the way, and from there back and on: one loop, because its body is inlined once
        dx, dy, reach = hx, hy, ahead
        if leg == 0:
            side = 1.0 if offset >= 0.0 else -1.0
            dx, dy, reach = side * nx, side * ny, abs(offset)
        elif leg == 1:
            dx, dy, reach = -hx, -hy, behind
        if reach <= ON_LINE_M:
            continue
        free_m = free_way_m(scene, x, y, dx, dy, reach, own_edge)
        if leg == 0:
            free = free_m >= reach
            x, y = x + offset * nx, y + offset * ny
        elif leg == 1:
            behind = free_m
        else:
            ahead = free_m
    arrive = behind / speed
    leave = arrive + pause
    return Way(x, y, hx, hy, behind, ahead, speed, arrive, leave, leave + ahead / speed, base), free


@compiled_inline
def place_on_way(way, time_s, posture):
    """The Motion at a time between 0 and the end."""
    v = way.speed_m_s
    along = 0.0
    if time_s < way.arrive_s:
        along = (time_s - way.arrive_s) * v
    elif time_s >= way.leave_s:
        along = (time_s - way.leave_s) * v
    else:
        v = 0.0
    return Motion(
        way.x + along * way.heading_x, way.y + along * way.heading_y, way.base_m,
        way.heading_x, way.heading_y, v * way.heading_x, v * way.heading_y, 0.0, posture,
    )  # fmt: skip
