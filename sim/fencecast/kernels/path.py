"""The way of one intruder: two straight legs that meet at the drawn point of the perimeter, with a pause, a climb, a turn."""

import math
from typing import NamedTuple

from fencecast.jit import compiled_inline
from fencecast.kernels.draw import quantile
from fencecast.kernels.inside import inner_angle
from fencecast.kernels.sight import first_barrier_m, first_obstacle_m
from fencecast.kernels.types import APPROACH_RAD, CLIMB_S, FOLLOWS, NO_BARRIER, PAUSE_S, TURN_RAD, Motion
from fencecast.physics.body import STAND
from fencecast.physics.discrimination import normal_quantile

# Climbing a 2.4 m mesh or palisade: lognormal, median 6 s, sigma_ln 0.4, scaled with the height (judgement, no source).
CLIMB_MEDIAN_S, CLIMB_SIGMA_LN, CLIMB_REFERENCE_M = 6.0, 0.4, 2.4


class Track(NamedTuple):
    """Where the foot point is at any time: start, arrive, (pause), climb, top, down, end."""

    x: float  # the drawn point on the perimeter [m]
    y: float
    in_x: float  # heading of the incoming leg
    in_y: float
    out_x: float  # heading of the outgoing leg
    out_y: float
    in_length_m: float
    out_length_m: float
    speed_m_s: float
    arrive_s: float
    climb_s: float  # time at which the climb begins, after the pause
    top_s: float
    down_s: float
    end_s: float
    climb_height_m: float
    edge: int  # edge of the perimeter the point is on
    inward: int  # +1 travelling inward, -1 outward
    gait: int


@compiled_inline
def point_on_section(scene, section, chainage_m):
    """Edge index and position of a chainage on a section."""
    last = scene.section_edge[section + 1] - 1
    edge = scene.section_edge[section]
    while edge < last and scene.edge_start_m[edge + 1] <= chainage_m:
        edge += 1
    e = scene.edge[edge]
    length = math.hypot(e[2] - e[0], e[3] - e[1])
    share = min(max((chainage_m - scene.edge_start_m[edge]) / length, 0.0), 1.0)
    return edge, e[0] + share * (e[2] - e[0]), e[1] + share * (e[3] - e[1])


@compiled_inline
def in_gate(scene, section, chainage_m):
    """Whether a chainage lies in a gate of its section."""
    for k in range(scene.gate.shape[0]):
        if int(scene.gate[k, 0]) == section and scene.gate[k, 1] <= chainage_m <= scene.gate[k, 2]:
            return True
    return False


@compiled_inline
def draw_track(scene, intruder, section, start_m, end_m, gait, speed, u_position, u_angle, u_turn, u_pause, u_climb, u_direction):
    """One way across: drawn point, headings (the inner leg stays inside), leg lengths (cut on the way), times."""
    chainage = start_m + u_position * (end_m - start_m)
    edge, x, y = point_on_section(scene, section, chainage)
    inward = scene.travel
    if inward == 0:
        inward = 1 if u_direction < 0.5 else -1
    angle = quantile(intruder.quantity[APPROACH_RAD], intruder.choice, u_angle)
    turn = quantile(intruder.quantity[TURN_RAD], intruder.choice, u_turn)
    nx, ny = inward * scene.edge_normal[edge, 0], inward * scene.edge_normal[edge, 1]
    c, s = math.cos(angle), math.sin(angle)
    in_x, in_y = c * nx - s * ny, s * nx + c * ny
    c, s = math.cos(turn), math.sin(turn)
    out_x, out_y = c * in_x - s * in_y, s * in_x + c * in_y
    ex, ey = scene.edge_normal[edge, 0], scene.edge_normal[edge, 1]
    changed, angle = inner_angle(
        scene.block_edge, scene.block_first[section], scene.block_first[section + 1], edge,
        0.5 * (scene.edge[edge, 0] + scene.edge[edge, 2]), 0.5 * (scene.edge[edge, 1] + scene.edge[edge, 3]), x, y, ex, ey,
        scene.section_depth_m[section], intruder.quantity[APPROACH_RAD], intruder.choice, u_angle,
        turn if inward > 0 else 0.0,
    )  # fmt: skip
    if changed:  # only the leg inside: the path bends at the fence
        c, s = math.cos(angle), math.sin(angle)
        if inward > 0:
            out_x, out_y = c * ex - s * ey, s * ex + c * ey
        else:
            in_x, in_y = s * ey - c * ex, -s * ex - c * ey

    pause = max(quantile(intruder.quantity[PAUSE_S], intruder.choice, u_pause), 0.0)
    climb, climb_height = 0.0, 0.0
    if scene.edge_barrier[edge] != NO_BARRIER and not in_gate(scene, section, chainage):
        climb_height = scene.edge_height_m[edge]
        row = intruder.quantity[CLIMB_S]
        if int(row[0]) == FOLLOWS:
            median = CLIMB_MEDIAN_S * climb_height / CLIMB_REFERENCE_M
            climb = median * math.exp(CLIMB_SIGMA_LN * normal_quantile(u_climb))
        else:
            climb = max(quantile(row, intruder.choice, u_climb), 0.0)

    leg_in, leg_out = intruder.outside_m, intruder.inside_m
    if inward < 0:
        leg_in, leg_out = leg_out, leg_in
    reach_in = min(leg_in, first_barrier_m(scene, x, y, -in_x, -in_y, leg_in))
    reach_in = first_obstacle_m(scene, x, y, -in_x, -in_y, reach_in)
    wanted = max(leg_out, field_exit_m(scene, x, y, out_x, out_y)) if leg_out > 0.0 else 0.0
    reach_out = first_obstacle_m(scene, x, y, out_x, out_y, first_barrier_m(scene, x, y, out_x, out_y, wanted))
    arrive = reach_in / speed
    begin = arrive + pause
    top = begin + 0.5 * climb
    down = begin + climb
    return Track(
        x, y, in_x, in_y, out_x, out_y, reach_in, reach_out, speed, arrive, begin, top, down, down + reach_out / speed,
        climb_height, edge, inward, gait,
    )  # fmt: skip


@compiled_inline
def field_exit_m(scene, x, y, direction_x, direction_y):
    """Distance [m] along the outgoing leg at which the last area rule's polygon is left; 0 without areas ahead."""
    far = 0.0
    for rule in range(scene.rule_kind.size):
        if scene.rule_kind[rule] == 0:
            continue
        for k in range(scene.rule_first[rule], scene.rule_first[rule + 1]):
            e = scene.rule_edge[k]
            ex, ey = e[2] - e[0], e[3] - e[1]
            determinant = direction_x * ey - direction_y * ex
            if determinant == 0.0:
                continue
            rx, ry = e[0] - x, e[1] - y
            along = (rx * ey - ry * ex) / determinant
            t = (rx * direction_y - ry * direction_x) / determinant
            if along > 0.0 and 0.0 <= t <= 1.0:
                far = max(far, along)
    return far


@compiled_inline
def place_at(track, time_s):
    """The Motion at a time between 0 and the end.

    A climber is upright, heading along the incoming leg going
    up and along the outgoing leg coming down; a pause keeps the gait's posture.
    """
    v = track.speed_m_s
    if time_s < track.arrive_s:
        back = (track.arrive_s - time_s) * v
        return Motion(
            track.x - back * track.in_x, track.y - back * track.in_y, 0.0,
            track.in_x, track.in_y, v * track.in_x, v * track.in_y, 0.0, track.gait,
        )  # fmt: skip
    if time_s < track.climb_s:
        return Motion(track.x, track.y, 0.0, track.in_x, track.in_y, 0.0, 0.0, 0.0, track.gait)
    if time_s < track.down_s:
        half = track.top_s - track.climb_s
        rate = track.climb_height_m / half
        if time_s < track.top_s:
            base = rate * (time_s - track.climb_s)
            return Motion(track.x, track.y, base, track.in_x, track.in_y, 0.0, 0.0, rate, STAND)
        base = rate * (track.down_s - time_s)
        return Motion(track.x, track.y, base, track.out_x, track.out_y, 0.0, 0.0, -rate, STAND)
    ahead = (time_s - track.down_s) * v
    return Motion(
        track.x + ahead * track.out_x, track.y + ahead * track.out_y, 0.0,
        track.out_x, track.out_y, v * track.out_x, v * track.out_y, 0.0, track.gait,
    )  # fmt: skip


@compiled_inline
def draw_speed(speed_row, choice, u):
    """Drawn speed [m/s]; never so slow that a path lasts for ever (at least 0.05)."""
    return max(quantile(speed_row, choice, u), 0.05)
