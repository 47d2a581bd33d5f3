"""One camera looks at one body once: from the scene to resolved cycles and the chance to pass."""

import math

import numpy as np

from fencecast.jit import compiled_inline
from fencecast.kernels.render import PARTS, render_look
from fencecast.kernels.scratch import MAX_SIDE_PX
from fencecast.kernels.sight import fill_barrier_factors, obstacle_behind, obstacle_near_ray, shadow_height_m
from fencecast.kernels.state import AIR, CLOTHING, GROUND, GROUND_SLOPE, HEAD, distance_power, transmission
from fencecast.physics.air import apparent_contrast
from fencecast.physics.body import SILHOUETTES, box_extents_m, silhouette_kind
from fencecast.physics.discrimination import resolved_cycles
from fencecast.physics.optics import RECTILINEAR, camera_axes, project

# Rows of the result of a look.
(
    RANGE_M,
    AREA_PX,
    BLUR_U,
    BLUR_V,
    TAU,
    SEEN_SHARE,
    CYCLES,
    P_LOOK,
    PIXELS_IN_VIEW,
    CYCLES_PERFECT,
    SHADOW_M,
    CLUTTER,
    NOISE_AXIS,
) = range(13)
LOOK_RESULTS = 13

# Above this rectangle side [px] the sum of |C| of a body whose parts differ in sign is taken from the areas: the blur, the only
# place where signs cancel, is then under 1 % of a part.
_DRAW_WHOLE_UP_TO_PX = 400.0


@compiled_inline
def fill_pose(cameras, camera, bearing_error, depression_error, height_error, pose):
    """The camera's pose for this crossing into pose (12,): x, y, height, right (3), down (3), forward (3)."""
    pose[0] = cameras.position[camera, 0]
    pose[1] = cameras.position[camera, 1]
    pose[2] = max(cameras.position[camera, 2] + height_error, 0.1)
    axes = camera_axes(cameras.bearing_rad[camera] + bearing_error, cameras.depression_rad[camera] + depression_error)
    pose[3], pose[4], pose[5], pose[6], pose[7], pose[8], pose[9], pose[10], pose[11] = axes


@compiled_inline
def image_of(pose, focal_px, projection, x, y, z):
    """Image position, in pixels from the axis, of a site point: (u, v, ok)."""
    dx, dy, dz = x - pose[0], y - pose[1], z - pose[2]
    return project(
        pose[3] * dx + pose[4] * dy + pose[5] * dz,
        pose[6] * dx + pose[7] * dy + pose[8] * dz,
        pose[9] * dx + pose[10] * dy + pose[11] * dz,
        focal_px,
        projection,
    )


@compiled_inline
def fill_body_image(cameras, camera, pose, x, y, base, hx, hy, vx, vy, vz, gait, height, breadth, depth, edges, result):
    """The body's rectangle and its four parts in the image, range, area and blur; False when the look is empty.

    edges (PARTS + 1, 4): u from, u to, v from, v to [px]; row PARTS is the whole rectangle, nothing hidden. Columns: two points
    at mid height, W/2 to each side, square to the horizontal line of sight. Rows: near bottom point and far top point along
    the line of sight, T apart. A corner that the projection cannot map, or a rectangle outside the frame, is an empty look.
    """
    dx, dy = x - pose[0], y - pose[1]
    ground = math.sqrt(dx * dx + dy * dy)
    if ground < 1.0e-3:
        return False
    sx, sy = dx / ground, dy / ground  # horizontal line of sight
    rx, ry = sy, -sx  # to the right of it
    focal, projection = cameras.focal_px[camera], cameras.projection[camera]
    cosine = hx * sx + hy * sy
    sine = hx * rx + hy * ry  # > 0: moving to the right of the picture
    width, thickness = box_extents_m(breadth, depth, cosine, sine)
    middle = base + 0.5 * height
    if projection == RECTILINEAR:  # nothing of a body behind such a camera is in its picture
        ahead = pose[9] * dx + pose[10] * dy + pose[11] * (middle - pose[2])
        if ahead + width + thickness + height <= 0.0:
            return False
    half = 0.5 * width
    u_left, _, ok_left = image_of(pose, focal, projection, x - half * rx, y - half * ry, middle)
    u_right, _, ok_right = image_of(pose, focal, projection, x + half * rx, y + half * ry, middle)
    half = 0.5 * thickness
    _, v_low, ok_low = image_of(pose, focal, projection, x - half * sx, y - half * sy, base)
    _, v_top, ok_top = image_of(pose, focal, projection, x + half * sx, y + half * sy, base + height)
    if not (ok_left and ok_right and ok_low and ok_top):
        return False
    u0 = u_left + 0.5 * cameras.columns[camera]
    u1 = u_right + 0.5 * cameras.columns[camera]
    v0 = v_top + 0.5 * cameras.rows[camera]
    v1 = v_low + 0.5 * cameras.rows[camera]
    if u1 <= u0 or v1 <= v0:
        return False
    edges[PARTS, 0], edges[PARTS, 1], edges[PARTS, 2], edges[PARTS, 3] = u0, u1, v0, v1
    kind = silhouette_kind(gait)
    for part in range(PARTS):
        a, b = SILHOUETTES[kind, part, 0], SILHOUETTES[kind, part, 1]
        if sine > 0.0 and kind == 1:  # head leading, to the right
            a, b = 1.0 - b, 1.0 - a
        edges[part, 0] = u0 + a * (u1 - u0)
        edges[part, 1] = u0 + b * (u1 - u0)
        edges[part, 2] = v0 + SILHOUETTES[kind, part, 2] * (v1 - v0)
        edges[part, 3] = v0 + SILHOUETTES[kind, part, 3] * (v1 - v0)
    # Motion blur: how far the middle of the body moves in the picture within a time constant.
    blur2_u = blur2_v = cameras.blur_px2[camera]
    if vx != 0.0 or vy != 0.0 or vz != 0.0:
        constant = cameras.time_constant_s[camera]
        u_a, v_a, ok_a = image_of(pose, focal, projection, x, y, middle)
        step = 1.0e-3
        u_b, v_b, ok_b = image_of(pose, focal, projection, x + step * vx, y + step * vy, middle + step * vz)
        if not (ok_a and ok_b):
            return False
        blur2_u += (constant * (u_b - u_a) / step) ** 2
        blur2_v += (constant * (v_b - v_a) / step) ** 2
    result[BLUR_U], result[BLUR_V] = math.sqrt(blur2_u), math.sqrt(blur2_v)
    result[AREA_PX] = (u1 - u0) * (v1 - v0)
    result[RANGE_M] = math.sqrt(ground * ground + (pose[2] - middle) ** 2)
    margin_u, margin_v = 4.0 * result[BLUR_U], 4.0 * result[BLUR_V]
    return (
        u1 + margin_u > 0.0
        and u0 - margin_u < cameras.columns[camera]
        and v1 + margin_v > 0.0
        and v0 - margin_v < cameras.rows[camera]
    )


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
        z = base + height * (1.0 - 0.5 * (SILHOUETTES[kind, part, 2] + SILHOUETTES[kind, part, 3]))
        work.part_height[part] = z
        if z < camera_height:
            work.part_stretch[part] = camera_height / (camera_height - z)
            work.part_stretch_power[part] = distance_power(work.part_stretch[part])


@compiled_inline
def fill_part_contrasts(scene, bands, cameras, camera, air, radiance, pose, x, y, base, height, gait, work, result):
    """Apparent contrast of each part [W m-2 sr-1] into work.contrast, barriers and window included; and the clutter.

    R is the slant range to mid body, one for all parts. Behind a part's middle at height z the ground lies at R h / (h - z);
    above the horizon, and where an obstacle stands behind, the background is a black body at air temperature. Clutter is dimmed
    over the body's range, not the ground's behind it: a little too strong in fog, on the strict side.
    """
    fill_part_heights(pose[2], base, height, silhouette_kind(gait), work)
    fill_barrier_factors(scene, pose[0], pose[1], pose[2], x, y, work.part_height, work.factor)
    band = cameras.band[camera]
    slant = result[RANGE_M]
    slant_power = distance_power(slant)
    tau = transmission(air.power_coefficient, air.linear_coefficient, slant, slant_power)
    l_air, l_ground = radiance[band, AIR], radiance[band, GROUND]
    farthest = 1.0
    for part in range(PARTS):
        if work.part_height[part] < pose[2]:
            farthest = max(farthest, work.part_stretch[part])
    walled = obstacle_near_ray(scene, pose[0], pose[1], x, y, farthest)
    for part in range(PARTS):
        z = work.part_height[part]
        target = radiance[band, HEAD] if part == 0 else radiance[band, CLOTHING]
        if z >= pose[2] or (walled and obstacle_behind(scene, pose[0], pose[1], pose[2], x, y, z)):
            contrast = tau * (target - l_air)
        else:
            tau_behind = transmission(
                air.power_coefficient,
                air.linear_coefficient,
                slant * work.part_stretch[part],
                slant_power * work.part_stretch_power[part],
            )
            contrast = apparent_contrast(tau, tau_behind, target, l_ground, l_air)
        work.contrast[part] = contrast * air.window * work.factor[part]
    result[TAU] = tau * air.window
    result[CLUTTER] = tau * air.window * air.clutter_k * radiance[band, GROUND_SLOPE]


@compiled_inline
def whole_body_sum(work, edges, blur_u, blur_v):
    """Sum of |C| over the whole body, drawn as if nothing hid it and the frame had no edge.

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
        0.0, np.int64(1),
    )  # fmt: skip
    return passed


@compiled_inline
def look_at_body(plan, camera, air, radiance, noise, pose, x, y, base, hx, hy, vx, vy, vz, gait, height, breadth, depth, work):
    """The whole look into work.look (LOOK_RESULTS,); False when it is empty (nothing of the body in the frame).

    noise: temporal noise radiance on axis [W m-2 sr-1] of this camera in this crossing.
    """
    cameras, scene, decision = plan.cameras, plan.scene, plan.decision
    result, edges = work.look, work.edges
    result[CYCLES] = result[P_LOOK] = result[PIXELS_IN_VIEW] = result[CYCLES_PERFECT] = result[SEEN_SHARE] = 0.0
    if not fill_body_image(cameras, camera, pose, x, y, base, hx, hy, vx, vy, vz, gait, height, breadth, depth, edges, result):
        return False
    shadow = shadow_height_m(scene, pose[0], pose[1], pose[2], x, y)
    result[SHADOW_M] = shadow
    if shadow >= base + height:
        return False
    fill_part_contrasts(scene, plan.bands, cameras, camera, air, radiance, pose, x, y, base, height, gait, work, result)
    whole = whole_body_sum(work, edges, result[BLUR_U], result[BLUR_V])
    if whole <= 0.0:
        return False
    if shadow > base:  # a part that straddles the shadow height is cut there
        cut = edges[PARTS, 3] - (shadow - base) / height * (edges[PARTS, 3] - edges[PARTS, 2])
        for part in range(PARTS):
            edges[part, 3] = min(edges[part, 3], cut)
    result[NOISE_AXIS] = noise
    n2 = noise * noise * (1.0 + cameras.fixed_pattern[camera] ** 2)
    columns, rows = cameras.columns[camera], cameras.rows[camera]
    passed, perfect, in_view, p_look, drawn = render_look(
        work.pixels,
        edges,
        work.contrast,
        result[BLUR_U],
        result[BLUR_V],
        (columns, rows, 0.5 * columns, 0.5 * rows),
        cameras.illumination_focal_px[camera],
        cameras.noise_law[camera],
        cameras.projection[camera],
        n2,
        result[CLUTTER] * result[CLUTTER],
        decision.threshold,
        decision.min_pixels,
    )
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
