"""One camera looks at one body once: from the scene to resolved cycles and the chance to pass."""

import math

import numpy as np

from fencecast.jit import compiled_inline
from fencecast.kernels.render import IN_VIEW_SHARE, PARTS, render_look
from fencecast.kernels.scratch import MAX_SIDE_PX
from fencecast.kernels.sight import (
    STRIP_PASSED,
    cut_at_fences,
    ground_behind,
    obstacle_behind,
    obstacle_near_ray,
    shadow_height_m,
)
from fencecast.kernels.state import AIR, FIRST_SURFACE, GROUND, GROUND_SLOPE, distance_power, transmission
from fencecast.kernels.strips import render_strips
from fencecast.physics.air import apparent_contrast
from fencecast.physics.body import HEAD_LEADS, PART_SURFACE, SILHOUETTES, box_extents_m, part_middle_m, silhouette_kind
from fencecast.physics.discrimination import resolved_cycles
from fencecast.physics.optics import RECTILINEAR, project

# Rows of the result of a look.
RANGE_M, AREA_PX, BLUR_U, BLUR_V, TAU, SEEN_SHARE, CYCLES, P_LOOK, PIXELS_IN_VIEW, CYCLES_PERFECT = range(10)
SHADOW_M, CLUTTER, NOISE_AXIS, FEET_UP, STRIPS = range(10, 15)
LOOK_RESULTS = 15
# What passes less than this share shows nothing.
_OPAQUE = 1.0e-6

# Above this rectangle side [px] the sum of |C| of a body whose parts differ in sign is taken from the areas: the blur, the only
# place where signs cancel, is then under 1 % of a part.
_DRAW_WHOLE_UP_TO_PX = 400.0


@compiled_inline
def image_of(pose, optics, x, y, z):
    """Image position, in pixels from the axis, of a site point: (u, v, ok)."""
    dx, dy, dz = x - pose.position[0], y - pose.position[1], z - pose.position[2]
    return project(
        pose.right[0] * dx + pose.right[1] * dy + pose.right[2] * dz,
        pose.down[0] * dx + pose.down[1] * dy + pose.down[2] * dz,
        pose.forward[0] * dx + pose.forward[1] * dy + pose.forward[2] * dz,
        optics.focal_px,
        optics.projection,
    )


@compiled_inline
def fill_body_image(optics, pose, body, edges, result):
    """The body's rectangle and its four parts in the image, range, area and blur; False when the look is empty.

    edges (PARTS + 1, 4): u from, u to, v from, v to [px]; row PARTS is the whole rectangle, nothing hidden. Columns: two points
    at mid height, W/2 to each side, square to the horizontal line of sight. Rows: near bottom point and far top point along
    the line of sight, T apart. A corner that the projection cannot map, or a rectangle outside the frame, is an empty look.
    """
    motion = body.motion
    x, y, base = motion.x, motion.y, motion.base
    dx, dy = x - pose.position[0], y - pose.position[1]
    ground = math.sqrt(dx * dx + dy * dy)
    if ground < 1.0e-3:
        return False
    sx, sy = dx / ground, dy / ground  # horizontal line of sight
    rx, ry = sy, -sx  # to the right of it
    cosine = motion.heading_x * sx + motion.heading_y * sy
    sine = motion.heading_x * rx + motion.heading_y * ry  # > 0: moving to the right of the picture
    width, thickness = box_extents_m(body.breadth, body.depth, cosine, sine)
    middle = base + 0.5 * body.height
    if optics.projection == RECTILINEAR:  # nothing of a body behind such a camera is in its picture
        ahead = pose.forward[0] * dx + pose.forward[1] * dy + pose.forward[2] * (middle - pose.position[2])
        if ahead + width + thickness + body.height <= 0.0:
            return False
    half = 0.5 * width
    u_left, _, ok_left = image_of(pose, optics, x - half * rx, y - half * ry, middle)
    u_right, _, ok_right = image_of(pose, optics, x + half * rx, y + half * ry, middle)
    half = 0.5 * thickness
    _, v_low, ok_low = image_of(pose, optics, x - half * sx, y - half * sy, base)
    _, v_top, ok_top = image_of(pose, optics, x + half * sx, y + half * sy, base + body.height)
    if not (ok_left and ok_right and ok_low and ok_top):
        return False
    u0 = u_left + 0.5 * optics.columns
    u1 = u_right + 0.5 * optics.columns
    v0 = v_top + 0.5 * optics.rows
    v1 = v_low + 0.5 * optics.rows
    if u1 == u0 or v1 == v0:
        return False
    # Behind the foot of a camera that looks steeply down right and left, near bottom and far top change places.
    edges[PARTS, 0], edges[PARTS, 1], edges[PARTS, 2], edges[PARTS, 3] = min(u0, u1), max(u0, u1), min(v0, v1), max(v0, v1)
    kind = silhouette_kind(motion.posture)
    for part in range(PARTS):
        a, b = SILHOUETTES[kind, part, 0], SILHOUETTES[kind, part, 1]
        if sine > 0.0 and HEAD_LEADS[kind]:  # to the right
            a, b = 1.0 - b, 1.0 - a
        edges[part, 0] = u0 + a * (u1 - u0)
        edges[part, 1] = u0 + b * (u1 - u0)
        edges[part, 2] = v0 + SILHOUETTES[kind, part, 2] * (v1 - v0)
        edges[part, 3] = v0 + SILHOUETTES[kind, part, 3] * (v1 - v0)
        if u1 < u0:
            edges[part, 0], edges[part, 1] = edges[part, 1], edges[part, 0]
        if v1 < v0:
            edges[part, 2], edges[part, 3] = edges[part, 3], edges[part, 2]
    # Motion blur: how far the middle of the body moves in the picture within a time constant.
    blur2_u = blur2_v = optics.blur_px2
    vx, vy, vz = motion.velocity_x, motion.velocity_y, motion.velocity_z
    if vx != 0.0 or vy != 0.0 or vz != 0.0:
        constant = optics.time_constant_s
        u_a, v_a, ok_a = image_of(pose, optics, x, y, middle)
        step = 1.0e-3
        u_b, v_b, ok_b = image_of(pose, optics, x + step * vx, y + step * vy, middle + step * vz)
        if not (ok_a and ok_b):
            return False
        blur2_u += (constant * (u_b - u_a) / step) ** 2
        blur2_v += (constant * (v_b - v_a) / step) ** 2
    result[BLUR_U], result[BLUR_V] = math.sqrt(blur2_u), math.sqrt(blur2_v)
    result[AREA_PX] = abs((u1 - u0) * (v1 - v0))
    result[FEET_UP] = 1.0 if v1 < v0 else 0.0
    result[RANGE_M] = math.sqrt(ground * ground + (pose.position[2] - middle) ** 2)
    margin_u, margin_v = 4.0 * result[BLUR_U], 4.0 * result[BLUR_V]
    u0, u1, v0, v1 = edges[PARTS, 0], edges[PARTS, 1], edges[PARTS, 2], edges[PARTS, 3]
    return u1 + margin_u > 0.0 and u0 - margin_u < optics.columns and v1 + margin_v > 0.0 and v0 - margin_v < optics.rows


@compiled_inline
def fill_part_heights(camera_height, base, height, kind, work):
    """Height of each part's middle, and the stretch h / (h - z) of the ray behind it with its power 0.5709.

    They change only with the camera, the posture and a climb: the powers, dear to compute, are kept from look to look.
    """
    kept = work.kept_pose
    if kept[0] == camera_height and kept[1] == base and kept[2] == height and kept[3] == kind:
        return
    kept[0], kept[1], kept[2], kept[3] = camera_height, base, height, kind
    for part in range(PARTS):
        z = part_middle_m(kind, part, base, height)
        work.part_height[part] = z
        if z < camera_height:
            work.part_stretch[part] = ground_behind(camera_height, z)
            work.part_stretch_power[part] = distance_power(work.part_stretch[part])


@compiled_inline
def fill_part_contrasts(scene, optics, pose, body, air, radiance, work, result):
    """Apparent contrast of each part [W/(m²·sr)] into work.contrast, window included, barriers not; and the clutter.

    R is the slant range to mid body, one for all parts. Behind a part's middle at height z the ground lies at R h / (h - z);
    above the horizon, and where an obstacle stands behind, the background is a black body at air temperature. Clutter is dimmed
    over the body's range, not the ground's behind it: a little too strong in fog, on the strict side.
    """
    x, y = body.motion.x, body.motion.y
    kind = silhouette_kind(body.motion.posture)
    fill_part_heights(pose.position[2], body.motion.base, body.height, kind, work)
    band = optics.band
    slant = result[RANGE_M]
    slant_power = distance_power(slant)
    tau = transmission(air.power_coefficient, air.linear_coefficient, slant, slant_power)
    l_air, l_ground = radiance[band, AIR], radiance[band, GROUND]
    farthest = 1.0
    for part in range(PARTS):
        if work.part_height[part] < pose.position[2]:
            farthest = max(farthest, work.part_stretch[part])
    walled = obstacle_near_ray(scene, pose.position[0], pose.position[1], x, y, farthest)
    for part in range(PARTS):
        z = work.part_height[part]
        target = radiance[band, FIRST_SURFACE + PART_SURFACE[kind, part]]
        if z >= pose.position[2] or (
            walled and obstacle_behind(scene, pose.position[0], pose.position[1], pose.position[2], x, y, z)
        ):
            contrast = tau * (target - l_air)
        else:
            tau_behind = transmission(
                air.power_coefficient,
                air.linear_coefficient,
                slant * work.part_stretch[part],
                slant_power * work.part_stretch_power[part],
            )
            contrast = apparent_contrast(tau, tau_behind, target, l_ground, l_air)
        work.contrast[part] = contrast * air.window
    result[TAU] = tau * air.window
    result[CLUTTER] = tau * air.window * air.clutter_k * radiance[band, GROUND_SLOPE]


@compiled_inline
def whole_body_sum(work, edges, blur_u, blur_v):
    """Sum of |C| over the whole body, drawn as if nothing hid it, no fence and no obstacle, and the frame had no edge.

    When all parts have one sign it is the sum of |contrast| times area, exactly (flux is conserved); else it is drawn, because
    opposite signs cancel under the blur.
    """
    total = 0.0
    lowest, highest = math.inf, -math.inf
    for part in range(PARTS):
        c = work.contrast[part]
        lowest, highest = min(lowest, c), max(highest, c)
        total += abs(c) * (edges[part, 1] - edges[part, 0]) * (edges[part, 3] - edges[part, 2])
    if lowest >= 0.0 or highest <= 0.0:
        return total
    whole = edges[PARTS]
    if max(whole[1] - whole[0], whole[3] - whole[2]) > _DRAW_WHOLE_UP_TO_PX:
        return total
    if 8.0 * max(blur_u, blur_v) + _DRAW_WHOLE_UP_TO_PX + 2.0 > MAX_SIDE_PX:  # smeared beyond any frame that the scratch holds
        return total
    # The renderer itself, in a frame large enough to hold the body; only the sum over pixels with any share is used.
    shift_u, shift_v = math.floor(whole[0] - 4.0 * blur_u), math.floor(whole[2] - 4.0 * blur_v)
    moved = work.moved_edges
    for row in range(PARTS + 1):
        moved[row, 0], moved[row, 1] = edges[row, 0] - shift_u, edges[row, 1] - shift_u
        moved[row, 2], moved[row, 3] = edges[row, 2] - shift_v, edges[row, 3] - shift_v
    columns = int(math.ceil(whole[1] + 4.0 * blur_u) - shift_u)
    rows = int(math.ceil(whole[3] + 4.0 * blur_v) - shift_v)
    passed, _, _, _, _ = render_look(
        work.pixels, moved, work.contrast, blur_u, blur_v, (columns, rows, 0.0, 0.0), 0.0, np.int64(0), np.int64(0), 1.0e-30, 0.0,
        0.0, np.int64(1), IN_VIEW_SHARE,
    )  # fmt: skip
    return passed


@compiled_inline
def look_at_body(plan, optics, pose, body, air, radiance, noise, work):
    """The whole look into work.look (LOOK_RESULTS,); False when it is empty (nothing of the body in the frame).

    noise: temporal noise radiance on axis [W/(m²·sr)] of this camera in this crossing.
    """
    scene, decision = plan.scene, plan.decision
    result, edges = work.look, work.edges
    result[CYCLES] = result[P_LOOK] = result[PIXELS_IN_VIEW] = result[CYCLES_PERFECT] = result[SEEN_SHARE] = 0.0
    if not fill_body_image(optics, pose, body, edges, result):
        return False
    base = body.motion.base
    shadow = shadow_height_m(scene, pose.position[0], pose.position[1], pose.position[2], body.motion.x, body.motion.y)
    result[SHADOW_M] = shadow
    if shadow >= base + body.height:
        return False
    fill_part_contrasts(scene, optics, pose, body, air, radiance, work, result)
    whole = whole_body_sum(work, edges, result[BLUR_U], result[BLUR_V])
    if whole <= 0.0:
        return False
    if shadow > base:  # a part that straddles the shadow height is cut there
        hidden = (shadow - base) / body.height * (edges[PARTS, 3] - edges[PARTS, 2])
        for part in range(PARTS):
            if result[FEET_UP] > 0.0:
                edges[part, 2] = max(edges[part, 2], edges[PARTS, 2] + hidden)
            else:
                edges[part, 3] = min(edges[part, 3], edges[PARTS, 3] - hidden)
    result[NOISE_AXIS] = noise
    n2 = noise * noise * (1.0 + optics.fixed_pattern**2)
    clutter2 = result[CLUTTER] * result[CLUTTER]
    columns, rows = optics.columns, optics.rows
    frame = (columns, rows, 0.5 * columns, 0.5 * rows)
    feet_v, head_v = edges[PARTS, 3], edges[PARTS, 2]
    if result[FEET_UP] > 0.0:
        feet_v, head_v = head_v, feet_v
    strips = cut_at_fences(
        scene, pose.position[0], pose.position[1], pose.position[2], body.motion.x, body.motion.y, base, body.height,
        feet_v, head_v, work,
    )  # fmt: skip
    result[STRIPS] = strips
    if strips > 1:
        passed, perfect, in_view, p_look, drawn = render_strips(
            work.pixels, edges, work.contrast, work.strips, strips, result[BLUR_U], result[BLUR_V], frame,
            optics.illumination_focal_px, optics.noise_law, optics.projection, n2, clutter2, decision.threshold,
            decision.min_pixels,
        )  # fmt: skip
    else:
        view_share = IN_VIEW_SHARE
        if strips == 1:  # one fence before all of the body: as much more noise as it takes contrast
            through = work.strips[0, STRIP_PASSED]
            if through < _OPAQUE:
                return True
            n2, clutter2 = n2 / (through * through), clutter2 / (through * through)
            view_share = np.float32(IN_VIEW_SHARE / through)
        passed, perfect, in_view, p_look, drawn = render_look(
            work.pixels, edges, work.contrast, result[BLUR_U], result[BLUR_V], frame, optics.illumination_focal_px,
            optics.noise_law, optics.projection, n2, clutter2, decision.threshold, decision.min_pixels, view_share,
        )  # fmt: skip
    if not drawn:
        return False
    area = result[AREA_PX]
    result[SEEN_SHARE] = passed / whole
    result[CYCLES] = resolved_cycles(area, passed / whole)
    result[P_LOOK] = p_look
    result[PIXELS_IN_VIEW] = in_view
    if in_view >= decision.min_pixels:
        result[CYCLES_PERFECT] = max(resolved_cycles(area, perfect / whole), result[CYCLES])
    return True
