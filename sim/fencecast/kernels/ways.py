"""The straight ways of an encounter: square to the fence through it or over it, or along it."""

import math
from typing import NamedTuple

from fencecast.jit import compiled_inline
from fencecast.kernels.draw import quantile
from fencecast.kernels.path import point_on_section
from fencecast.kernels.sight import ON_LINE_M, crossing_parameter, first_obstacle_m
from fencecast.kernels.types import ALONG, BASE_M, CROSS, OFFSET_M, OVER, WAY_ANGLE_RAD, WAY_PAUSE_S, WAY_REACH_M, Motion

# How far a way along the fence is followed on both sides of its drawn point [m]: judgement, no source.
ALONG_M = 20.0
# Where an animal goes that the fence has turned: outside, this far off [m] (judgement, no source).
TURNED_NEAREST_M, TURNED_FARTHEST_M = -0.1, -0.6


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
def draw_way(
    scene, stimuli, stimulus, section, start_m, end_m, speed_m_s,
    u_position, u_angle, u_direction, u_offset, u_base, u_way, u_reach, u_pause,
):  # fmt: skip
    """One way of a stimulus in a segment, and whether there is one: beside the drawn point another part of the fence may be nearer.

    u_*: draws in (0, 1). A stimulus that would cross goes through the fence with its share for the section, else it is turned
    along it, outside.
    """
    edge, x, y = point_on_section(scene, section, start_m + u_position * (end_m - start_m))
    nx, ny = scene.edge_normal[edge, 0], scene.edge_normal[edge, 1]
    sense = 1.0 if u_direction < 0.5 else -1.0
    rows, choice = stimuli.quantity[stimulus], stimuli.choice
    kind = stimuli.way[stimulus]
    turned = kind == CROSS and u_way >= stimuli.through[stimulus, section]
    base = max(quantile(rows[BASE_M], choice, u_base), 0.0)
    pause = max(quantile(rows[WAY_PAUSE_S], choice, u_pause), 0.0) if kind == OVER else 0.0
    if kind == ALONG or turned:
        offset = TURNED_NEAREST_M + u_offset * (TURNED_FARTHEST_M - TURNED_NEAREST_M)
        if not turned:
            offset = quantile(rows[OFFSET_M], choice, u_offset)
        hx, hy = sense * ny, -sense * nx
        side = 1.0 if offset >= 0.0 else -1.0
        free = abs(offset) <= ON_LINE_M or free_way_m(scene, x, y, side * nx, side * ny, abs(offset), edge) >= abs(offset)
        x, y = x + offset * nx, y + offset * ny
        reach = ALONG_M
    else:
        angle = quantile(rows[WAY_ANGLE_RAD], choice, u_angle)
        c, s = math.cos(angle), math.sin(angle)
        hx, hy = sense * (c * nx - s * ny), sense * (s * nx + c * ny)
        free = True
        reach = quantile(rows[WAY_REACH_M], choice, u_reach)
    before, after = 0.0, 0.0
    if free:
        before = free_way_m(scene, x, y, -hx, -hy, reach, edge)
        after = free_way_m(scene, x, y, hx, hy, reach, edge)
    arrive = before / speed_m_s
    leave = arrive + pause
    end = leave + after / speed_m_s
    return Way(x, y, hx, hy, before, after, speed_m_s, arrive, leave, end, base), free


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
