"""One look: the body's place in the picture against a computer-vision library, contrasts against plain float64 arithmetic."""

from __future__ import annotations

import math
from types import SimpleNamespace

import cv2
import numpy as np
import pytest
from kernel_sites import CAMERA, CORE, FENCE, NIGHT, WIDE, make_site
from scipy.spatial.transform import Rotation

from fencecast.kernels import look, state
from fencecast.kernels import pose as pose_room
from fencecast.kernels.look import (
    AREA_PX,
    BLUR_U,
    BLUR_V,
    CLUTTER,
    CYCLES,
    CYCLES_PERFECT,
    LOOK_RESULTS,
    P_LOOK,
    RANGE_M,
    SEEN_SHARE,
    SHADOW_M,
    TAU,
)
from fencecast.kernels.pack import pack_plan
from fencecast.kernels.render import render_look
from fencecast.kernels.scratch import SCRATCH_SIZE
from fencecast.kernels.types import Body, Motion
from fencecast.kernels.work import make_work
from fencecast.physics import body
from fencecast.physics.body import SILHOUETTES
from fencecast.physics.detector import pixel_share_array

COLUMNS, ROWS = 160, 120


def plan_of(projection="rectilinear", focal_mm=3.0, **tables):
    camera = {**CAMERA, "aim_m": None, "bearing_deg": 20.0, "depression_deg": 14.0}
    del camera["aim_m"]
    lens = {**WIDE, "projection": projection, "focal_length_mm": focal_mm}
    return pack_plan(make_site(camera=[camera], lens=lens, sensor={**CORE, "time_constant_ms": 30.0}, **tables))


def image_by_vision_library(points, position, bearing, depression, focal_px, projection):
    """Image positions [px], columns to the right and rows downwards from the frame's corner."""
    level_north = np.array([[1.0, 0.0, 0.0], [0.0, 0.0, -1.0], [0.0, 1.0, 0.0]])
    about_up = Rotation.from_euler("z", bearing).as_matrix()
    turn = Rotation.from_euler("x", depression).as_matrix() @ level_north @ about_up
    intrinsic = np.array([[focal_px, 0.0, 0.5 * COLUMNS], [0.0, focal_px, 0.5 * ROWS], [0.0, 0.0, 1.0]])
    vector, shift = cv2.Rodrigues(turn)[0], -turn @ position
    if projection == "rectilinear":
        return cv2.projectPoints(np.asarray(points), vector, shift, intrinsic, None)[0].reshape(-1, 2)
    return cv2.fisheye.projectPoints(np.asarray(points)[:, None, :], vector, shift, intrinsic, np.zeros(4))[0].reshape(-1, 2)


def pose_of(plan, errors=(0.0, 0.0, 0.0)):
    """The pose of the plan's camera, mounted with these errors."""
    pose = pose_room.pose_of(pose_room.make_poses(1), 0)
    pose_room.fill_pose(plan.cameras, 0, *errors, pose)
    return pose


def image_of_body(plan, seen, errors=(0.0, 0.0, 0.0)):
    """(drawn, rectangles, result row) of a body before the plan's camera."""
    edges, result = np.zeros((5, 4)), np.zeros(LOOK_RESULTS)
    drawn = look.fill_body_image(pose_room.optics_of(plan.cameras, 0), pose_of(plan, errors), seen, edges, result)
    return drawn, edges, result


def radiances_of(air, ground, clothing, head, slope, legs=0.0):
    """The radiance table of one band, each number in its column."""
    table = np.zeros((1, state.RADIANCES))
    columns = [state.AIR, state.GROUND, state.CLOTHING, state.HEAD, state.GROUND_SLOPE, state.LEGS]
    table[0, columns] = air, ground, clothing, head, slope, legs
    return table


def walker_at(x, y):
    """A person of 1.7 m who stands still in the posture of a walker."""
    return Body(Motion(x, y, 0.0, 1.0, 0.0, 0.0, 0.0, 0.0, body.WALK), 1.7, 0.51, 0.48)


def place(random, bearing):
    """A foot point inside the horizontal field, a heading, a speed."""
    distance, angle = random.uniform(5.0, 60.0), bearing + random.uniform(-0.35, 0.35)
    heading = random.uniform(0.0, 2.0 * math.pi)
    return distance * math.sin(angle), 2.0 + distance * math.cos(angle), math.cos(heading), math.sin(heading)


@pytest.mark.parametrize("projection", ["rectilinear", "equidistant"])
def test_rectangle_parts_range_and_blur_against_a_vision_library(projection):
    """Catches a body that is turned the wrong way, breadth for depth, near and far exchanged, rows upside down, the head of a
    crawler behind, slant range to the feet, a motion blur of the wrong size or axis, mounting errors with the wrong sign.
    Source: OpenCV on the four corner points that the model names, its own difference quotient for the blur. 1e-6 px: float64
    at a hundred pixels, and 5e-5 relative in the blur for the difference quotients."""
    plan = plan_of(projection)
    random = np.random.default_rng(101)
    seen = 0
    for case in range(150):
        gait = case % 6
        errors = (0.0, 0.0, 0.0) if case % 2 else (*random.normal(0.0, 0.02, 2), float(random.normal(0.0, 0.1)))
        bearing, depression = math.radians(20.0) + errors[0], math.radians(14.0) + errors[1]
        position = np.array([0.0, 2.0, 4.0 + errors[2]])
        x, y, hx, hy = place(random, bearing)
        base = float(random.choice([0.0, 1.3]))
        velocity = np.array([hx, hy, 0.0]) * random.uniform(0.3, 5.0) if case % 3 else np.array([0.0, 0.0, 0.8])
        height, breadth, depth = body.body_size_m(gait, 1.7, math.nan)
        seen_body = Body(Motion(x, y, base, hx, hy, *velocity, gait), height, breadth, depth)
        drawn, edges, result = image_of_body(plan, seen_body, errors)
        sight = np.array([x, y]) - position[:2]
        ground = np.hypot(*sight)
        ahead, right = sight / ground, np.array([sight[1], -sight[0]]) / ground
        cosine, sine = abs(np.dot((hx, hy), ahead)), abs(np.dot((hx, hy), right))
        width, thickness = cosine * breadth + sine * depth, sine * breadth + cosine * depth
        middle = base + 0.5 * height
        foot = np.array([x, y])
        points = [
            [*(foot - 0.5 * width * right), middle],
            [*(foot + 0.5 * width * right), middle],
            [*(foot - 0.5 * thickness * ahead), base],
            [*(foot + 0.5 * thickness * ahead), base + height],
            [x, y, middle],
            [*(np.array([x, y, middle]) + 1e-4 * velocity)],
        ]
        view = (position, bearing, depression, 3.0e-3 / 17e-6, projection)
        left_px, right_px, low_px, top_px, middle_px, next_px = image_by_vision_library(points, *view)
        u0, u1, v0, v1 = left_px[0], right_px[0], top_px[1], low_px[1]
        reach_u, reach_v = 4.0 * result[BLUR_U], 4.0 * result[BLUR_V]
        assert drawn == (u1 > -reach_u and u0 < COLUMNS + reach_u and v1 > -reach_v and v0 < ROWS + reach_v)
        assert edges[4] == pytest.approx([u0, u1, v0, v1], abs=1e-6)
        assert result[RANGE_M] == pytest.approx(math.hypot(ground, position[2] - middle), rel=1e-12)
        assert result[AREA_PX] == pytest.approx((u1 - u0) * (v1 - v0), rel=1e-7)
        still = (0.45 * 10.0 / 17.0) ** 2 + 0.3**2
        moved = 0.030 * np.abs(next_px - middle_px) / 1e-4
        assert result[BLUR_U] == pytest.approx(math.sqrt(still + moved[0] ** 2), rel=2e-3)
        assert result[BLUR_V] == pytest.approx(math.sqrt(still + moved[1] ** 2), rel=2e-3)
        parts = SILHOUETTES[body.silhouette_kind(gait)]
        to_the_right = np.dot((hx, hy), right) > 0.0
        for part in range(4):
            a, b = parts[part, 0], parts[part, 1]
            if to_the_right and gait in (body.CRAWL, body.FLAT_CRAWL):
                a, b = 1.0 - b, 1.0 - a
            wanted = [u0 + a * (u1 - u0), u0 + b * (u1 - u0), v0 + parts[part, 2] * (v1 - v0), v0 + parts[part, 3] * (v1 - v0)]
            assert edges[part] == pytest.approx(wanted, abs=1e-6)
        seen += drawn
    assert seen > 100


def test_a_crawler_is_led_by_his_head():
    """Catches a head that trails. By hand: a camera looking north, a crawler going east is going to the right of the picture: his
    head, the first part, is at its right end; going west at its left. A fox and a van lead alike."""
    plan = plan_of()
    kinds = (body.CRAWL, body.FOUR_LEGGED, body.VEHICLE)
    for kind, direction, wanted in [(kind, *each) for kind in kinds for each in ((1.0, 1.0), (-1.0, 0.0))]:
        crawler = Body(Motion(0.0, 20.0, 0.0, direction, 0.0, 0.8, 0.0, 0.0, kind), 0.5, 0.5, 1.2)
        drawn, edges, _ = image_of_body(plan, crawler, (math.radians(-20.0), 0.0, 0.0))
        assert drawn
        end = edges[4, 1] if wanted else edges[4, 0]
        assert edges[0, 1 if wanted else 0] == pytest.approx(end)


def test_empty_looks():
    """Catches bodies behind the camera, below it, or beyond the lens's limit that are drawn. Source: the model: a corner
    that the projection cannot map makes the look empty; nothing in the frame is nothing to see."""
    plan = plan_of()

    def drawn(x, y):
        return image_of_body(plan, Body(Motion(x, y, 0.0, 1.0, 0.0, 0.0, 0.0, 0.0, body.WALK), 1.7, 0.5, 0.48))[0]

    ahead = np.array([math.sin(math.radians(20.0)), math.cos(math.radians(20.0))])
    assert drawn(*((0.0, 2.0) + 20.0 * ahead))
    assert not drawn(*((0.0, 2.0) - 20.0 * ahead))
    assert not drawn(0.0, 2.0)
    assert not drawn(*((0.0, 2.0) + 0.5 * ahead))  # under the frame
    assert not drawn(*((0.0, 2.0) + 20.0 * np.array([ahead[1], -ahead[0]])))  # at a right angle to the axis


@pytest.mark.parametrize("signs", ["mixed", "alike"])
def test_whole_body_sum(signs):
    """Catches a whole body that is cut by the frame, |C| of parts for |C| of their sum where warm and cold parts blur into
    each other. Source: float64, every pixel of a frame that holds the body, far off the camera's own frame too. 5e-5 relative:
    float32, and the 6e-5 of an edge that lies beyond four blurs."""
    random = np.random.default_rng(102)
    cameras = plan_of()
    work = make_work(1, cameras.bands.low_um.size, 1, 4, 24, 8)
    for case in range(60):
        height = float(np.exp(random.uniform(np.log(2.0), np.log(70.0))))
        width = 0.4 * height
        edges = np.zeros((5, 4))
        u0, v0 = random.uniform(-60.0, 200.0, 2)
        parts = SILHOUETTES[case % 2]
        edges[:4, :2], edges[:4, 2:] = u0 + parts[:, :2] * width, v0 + parts[:, 2:] * height
        edges[4] = u0, u0 + width, v0, v0 + height
        contrast = random.uniform(0.3, 2.0, 4) * (random.choice([-1.0, 1.0], 4) if signs == "mixed" else -1.0)
        blur_u, blur_v = random.uniform(0.4, 1.6, 2)
        work.contrast[:] = contrast
        found = look.whole_body_sum(work, edges, blur_u, blur_v)
        us = np.arange(math.floor(u0) - 12.0, math.ceil(u0 + width) + 12.0)
        vs = np.arange(math.floor(v0) - 12.0, math.ceil(v0 + height) + 12.0)
        image = np.zeros((len(vs), len(us)))
        for part in range(4):
            across = pixel_share_array(us, *edges[part, :2], blur_u)
            image += contrast[part] * np.outer(pixel_share_array(vs, *edges[part, 2:], blur_v), across)
        assert found == pytest.approx(np.abs(image).sum(), rel=5e-5)


def test_whole_body_sum_of_a_huge_body_of_mixed_signs():
    """Catches a scratch that overflows. Above 400 px the kernel adds up areas: the blur, the only place where signs cancel, is
    then under 1 % of a part, which is the tolerance."""
    work = make_work(1, 1, 1, 4, 24, 8)
    edges = np.zeros((5, 4))
    parts = SILHOUETTES[0]
    edges[:4, :2], edges[:4, 2:] = -300.0 + parts[:, :2] * 300.0, 40.0 + parts[:, 2:] * 900.0
    edges[4] = -300.0, 0.0, 40.0, 940.0
    contrast = np.array([1.0, -0.5, 0.7, -0.6])
    work.contrast[:] = contrast
    us, vs = np.arange(-320.0, 20.0), np.arange(20.0, 960.0)
    image = sum(
        contrast[p] * np.outer(pixel_share_array(vs, *edges[p, 2:], 0.9), pixel_share_array(us, *edges[p, :2], 0.9))
        for p in range(4)
    )
    assert look.whole_body_sum(work, edges, 0.9, 0.9) == pytest.approx(np.abs(image).sum(), rel=0.01)


def test_a_body_smeared_beyond_the_scratch():
    """Catches stores past the end of the scratch, which are not checked: a smear of 1,500 px, as of a runner behind a slow
    sensor, asks for a frame of 12,000 columns. The sum falls back on areas, and nothing behind the scratch is touched."""
    raw = np.full(SCRATCH_SIZE + 8192, 7.0, np.float32)
    work = make_work(1, 1, 1, 4, 24, 8)._replace(pixels=raw[:SCRATCH_SIZE])
    edges = np.zeros((5, 4))
    parts = SILHOUETTES[0]
    edges[:4, :2], edges[:4, 2:] = 50.0 + parts[:, :2] * 20.0, 40.0 + parts[:, 2:] * 60.0
    edges[4] = 50.0, 70.0, 40.0, 100.0
    work.contrast[:] = contrast = np.array([1.0, -0.5, 0.7, -0.6])
    area = (edges[:4, 1] - edges[:4, 0]) * (edges[:4, 3] - edges[:4, 2])
    assert look.whole_body_sum(work, edges, 1500.0, 0.8) == pytest.approx((np.abs(contrast) * area).sum())
    render_look(raw[:SCRATCH_SIZE], edges, contrast, 1500.0, 0.8, (12_080, 120, 6040.0, 60.0), 0.0, 0, 0, 1e-3, 0.0, 5.0, 3)
    render_look(raw[:SCRATCH_SIZE], edges, contrast, 0.8, 1500.0, (160, 12_080, 80.0, 6040.0), 0.0, 0, 0, 1e-3, 0.0, 5.0, 3)
    assert (raw[SCRATCH_SIZE:] == 7.0).all()


def air_of(**changes):
    values = {
        "air_temperature_k": 278.15,
        "ground_temperature_k": 276.15,
        "low_sky_k": 268.15,
        "relative_humidity": 0.75,
        "wind_m_s": 1.0,
        "vapour_g_m3": 5.1,
        "power_coefficient": 0.004,
        "linear_coefficient": 0.012,
        "fog_per_m": 0.012,
        "rain_per_m": 0.0,
        "snow_per_m": 0.0,
        "clutter_k": 0.4,
        "wetness": 0.0,
        "window": 0.8,
        "drop_radius_um": 5.0,
        **changes,
    }
    return state.Air(**values)


def test_part_contrasts_against_plain_arithmetic():
    """Catches air light with the wrong sign, the background's range taken for the target's, the horizon from the wrong side,
    obstacles behind that are ignored, a window applied to half of it, a mesh that weakens what the body itself shows, clutter
    without the air. Source: the model's sections 1 and 2 worked out in float64 beside the kernel: tau by exp, ground at
    R h / (h - z), heads above the camera before the air."""
    hut = {"name": "hut", "footprint_m": [[-20.0, 30.0], [20.0, 30.0], [20.0, 36.0], [-20.0, 36.0]], "height_m": 0.9}
    mesh = {**FENCE, "points_m": [[-30.0, 20.0], [30.0, 20.0]], "barrier": "mesh", "barrier_height_m": 1.5}
    for height_m, obstacles, section in ((4.0, [], FENCE), (1.4, [], FENCE), (4.0, [hut], FENCE), (4.0, [], mesh)):
        camera = {**CAMERA, "position_m": [0.0, 2.0], "height_m": height_m, "aim_m": [0.0, 22.0]}
        plan = pack_plan(
            make_site(camera=[camera], obstacle=obstacles, perimeter=[section], rule=[{"kind": "line", "perimeter": "fence"}])
        )
        air = air_of()
        radiance = radiances_of(39.0, 37.5, 40.2, 41.9, 0.62)
        work = make_work(1, 1, 1, 4, 24, 8)
        result = np.zeros(LOOK_RESULTS)
        result[RANGE_M] = math.hypot(20.0, height_m - 0.85)
        look.fill_part_contrasts(
            plan.scene, pose_room.optics_of(plan.cameras, 0), pose_of(plan), walker_at(0.0, 22.0), air, radiance, work, result
        )

        def tau(distance):
            return math.exp(-(0.004 * distance**0.5709 + 0.012 * distance))

        near = result[RANGE_M]
        for part in range(4):
            z = 1.7 * (1.0 - SILHOUETTES[0, part, 2:].mean())
            target = 41.9 if part == 0 else 40.2
            ground_at = near * height_m / (height_m - z) if z < height_m else math.inf
            # where the ray through this part is, above the hut's front (30 m) and back (36 m)
            over = [height_m + (z - height_m) * (d - 2.0) / 20.0 for d in (30.0, 36.0)]
            blocked = bool(obstacles) and min(over) <= 0.9 and over[0] > 0.0
            if math.isinf(ground_at) or blocked:
                wanted = tau(near) * (target - 39.0)
            else:
                wanted = tau(near) * (target - 37.5) + (tau(near) - tau(ground_at)) * (37.5 - 39.0)
            assert work.contrast[part] == pytest.approx(0.8 * wanted, rel=1e-9), (height_m, part)
        assert result[TAU] == pytest.approx(0.8 * tau(near), rel=1e-12)
        assert result[CLUTTER] == pytest.approx(0.8 * tau(near) * 0.4 * 0.62, rel=1e-12)


def test_without_air_contrast_is_the_difference_of_radiances():
    """Catches air light that survives where there is no air. Limit: no extinction."""
    plan = plan_of()
    air = air_of(power_coefficient=0.0, linear_coefficient=0.0, window=1.0)
    radiance = radiances_of(39.0, 37.5, 40.2, 41.9, 0.62)
    work = make_work(1, 1, 1, 4, 24, 8)
    result = np.zeros(LOOK_RESULTS)
    result[RANGE_M] = 20.0
    look.fill_part_contrasts(
        plan.scene, pose_room.optics_of(plan.cameras, 0), pose_of(plan), walker_at(0.0, 22.0), air, radiance, work, result
    )
    assert work.contrast == pytest.approx([41.9 - 37.5, 2.7, 2.7, 2.7], rel=1e-12)


def test_each_body_shows_its_own_surfaces():
    """Catches legs as warm as a coat, a bird with a bare head, a vehicle whose bonnet is as cold as its sides. Source: without
    air each part has the contrast of what it radiates less the ground."""
    plan = plan_of()
    air = air_of(power_coefficient=0.0, linear_coefficient=0.0, window=1.0)
    radiance = radiances_of(39.0, 37.5, 40.2, 41.9, 0.62, legs=43.0)
    coat, head, legs = 40.2 - 37.5, 41.9 - 37.5, 43.0 - 37.5
    work = make_work(1, 1, 1, 4, 24, 8)
    result = np.zeros(LOOK_RESULTS)
    result[RANGE_M] = 20.0
    for kind, wanted in (
        (body.FOUR_LEGGED, [head, coat, legs, legs]),
        (body.FLYING, [coat] * 4),
        (body.VEHICLE, [legs, coat, coat, legs]),
        (body.CRAWL, [head, coat, coat, coat]),
    ):
        seen = Body(Motion(0.0, 22.0, 0.0, 1.0, 0.0, 0.0, 0.0, 0.0, kind), 1.2, 0.4, 1.0)
        optics = pose_room.optics_of(plan.cameras, 0)
        look.fill_part_contrasts(plan.scene, optics, pose_of(plan), seen, air, radiance, work, result)
        assert work.contrast == pytest.approx(wanted, rel=1e-12)


def a_look(radiance, air=None, noise=0.042, distance=20.0, **tables):
    """A standing person straight ahead; (drawn, result row)."""
    plan = plan_of(**tables)
    work = make_work(1, 1, 1, 4, 24, 8)
    x, y = distance * math.sin(math.radians(20.0)), 2.0 + distance * math.cos(math.radians(20.0))
    standing = Body(Motion(x, y, 0.0, 1.0, 0.0, 0.0, 0.0, 0.0, body.STAND), 1.7, 0.51, 0.27)
    optics, air = pose_room.optics_of(plan.cameras, 0), air or air_of(window=1.0)
    drawn = look.look_at_body(plan, optics, pose_of(plan), standing, air, radiances_of(*radiance), noise, work)
    return drawn, work.look.copy()


def test_limits_of_a_look():
    """Catches floors and ceilings in the wrong place. Limits: a person, ground and air that radiate alike are not there; infinite
    contrast passes for certain and resolves all that is in view; a tenth of it, near the threshold, less."""
    assert not a_look([38.0, 38.0, 38.0, 38.0, 0.62])[0]
    drawn, loud = a_look([37.5, 37.5, 1e6, 1e6, 0.62])
    assert drawn
    assert loud[P_LOOK] == 1.0
    # all of the area that the silhouette covers passes, pixels at the rim too
    assert loud[CYCLES] == pytest.approx(0.5 * math.sqrt(loud[AREA_PX]), rel=1e-4)
    _, faint = a_look([37.5, 37.5, 37.5 + 0.25, 37.5 + 0.25, 0.62])
    assert 0.0 < faint[CYCLES] < 0.9 * loud[CYCLES]
    assert faint[CYCLES_PERFECT] == pytest.approx(loud[CYCLES_PERFECT], rel=0.02)


def test_a_shadow_cuts_the_body():
    """Catches a shadow that hides from above, or all or nothing. By hand: similar triangles over the far edge of a hut of 2.6 m,
    seen from 4 m; the seen share is that of the parts above the cut (1e-3: the rim of the cut itself, blurred)."""
    hut = {"name": "hut", "footprint_m": [[-20.0, 10.0], [20.0, 10.0], [20.0, 11.0], [-20.0, 11.0]], "height_m": 2.6}
    drawn, free = a_look([37.5, 37.5, 1e6, 1e6, 0.62])
    drawn_cut, cut = a_look([37.5, 37.5, 1e6, 1e6, 0.62], obstacle=[hut])
    assert drawn
    assert drawn_cut
    # the far face is met at (11 - 2) / (20 cos 20 deg) of the way
    shadow = 4.0 - 1.4 * 20.0 * math.cos(math.radians(20.0)) / 9.0
    assert cut[SHADOW_M] == pytest.approx(shadow, rel=1e-9)
    hidden = shadow / 1.7
    areas = [(p[1] - p[0]) * (p[3] - p[2]) for p in SILHOUETTES[0]]
    left = [(p[1] - p[0]) * max(min(p[3], 1.0 - hidden) - p[2], 0.0) for p in SILHOUETTES[0]]
    assert cut[SEEN_SHARE] / free[SEEN_SHARE] == pytest.approx(sum(left) / sum(areas), rel=1e-3)
    tall = {**hut, "height_m": 3.6}
    assert not a_look([37.5, 37.5, 1e6, 1e6, 0.62], obstacle=[tall])[0]


def test_radiances_against_plain_arithmetic():
    """Catches ground that does not reflect the low sky, clothing that reflects the sky alone, a head all skin. Source: section
    4 in float64 with Planck's law summed over wavelengths (2,000 steps, relative 1e-6)."""
    plan = plan_of()
    table = np.zeros((1, state.RADIANCES))
    state.fill_radiances(table, plan.bands, air_of(wetness=0.3), 0.98, 281.0, 297.0, 0.87, 0.25)

    def planck(kelvin):
        edges = np.linspace(8e-6, 14e-6, 2001)
        w = 0.5 * (edges[1:] + edges[:-1])
        return np.sum(1.191042972e-16 / w**5 / np.expm1(1.438776877e-2 / w / kelvin)) * (edges[1] - edges[0])

    sky = planck(268.15)
    ground = 0.98 * planck(276.15) + 0.02 * sky
    around = 0.5 * ground + 0.5 * sky
    e = 0.87 + 0.3 * (0.96 - 0.87)
    cloth = e * planck(281.0) + (1.0 - e) * around
    skin = 0.98 * planck(297.0) + 0.02 * around
    slope = (planck(276.15 + 0.01) - planck(276.15 - 0.01)) / 0.02
    wanted = radiances_of(planck(278.15), ground, cloth, 0.25 * skin + 0.75 * cloth, slope)
    assert table == pytest.approx(wanted, rel=2e-6)  # and no legs: a person's are clothed


def test_drawn_air_and_clothing_take_their_own_numbers():
    """Catches two draws exchanged. Every quantity is uniform over an interval of its own, every draw different: each value
    must come from its own draw. Source: by hand, low + u (high - low)."""

    def between(low, high):
        return {"dist": "uniform", "low": low, "high": high}

    weather = {
        **NIGHT,
        "air_temperature_c": between(-10.0, 30.0),
        "relative_humidity": between(0.2, 1.0),
        "wind_m_s": between(0.0, 5.0),
        "ground_minus_air_k": between(-8.0, 8.0),
        "clutter_k": between(0.0, 2.0),
        "wetness": between(0.0, 1.0),
    }
    intruder = {"clo": between(0.5, 3.0), "clothing_emissivity": between(0.8, 0.95), "bare_head_share": between(0.0, 1.0)}
    plan = plan_of(weather=[weather], intruder=intruder)
    u = SimpleNamespace(air=0.11, rh=0.22, wind=0.33, vis=0.5, rain=0.5, snow=0.5, ground=0.66, clutter=0.77, wet=0.88, drop=0.5)
    air = state.draw_air(plan.weather, 0, *vars(u).values())
    assert air.air_temperature_k == pytest.approx(273.15 - 10.0 + 40.0 * u.air)
    assert air.relative_humidity == pytest.approx(0.2 + 0.8 * u.rh)
    assert air.wind_m_s == pytest.approx(5.0 * u.wind)
    assert air.ground_temperature_k == pytest.approx(air.air_temperature_k - 8.0 + 16.0 * u.ground)
    assert air.clutter_k == pytest.approx(2.0 * u.clutter)
    assert air.wetness == pytest.approx(u.wet)
    assert air.low_sky_k == pytest.approx(air.air_temperature_k - 10.0)
    assert air.window == 1.0
    found = state.draw_clothing(plan.intruder, air, 0.2, 0.4, 0.6)
    assert found == pytest.approx((0.5 + 2.5 * 0.2, 0.8 + 0.15 * 0.4, 0.6))


def test_clothing_left_out_follows_the_air():
    """Catches a default that does not dress for the weather. Source: the model: median 1.5 clo at 5 C, spread sigma_ln 0.2; the
    quantile at 0.5 and at one sd (0.8413)."""
    plan = plan_of()
    air = air_of()
    assert state.draw_clothing(plan.intruder, air, 0.5, 0.5, 0.5)[0] == pytest.approx(1.5, rel=1e-9)
    assert state.draw_clothing(plan.intruder, air, 0.8413447460685429, 0.5, 0.5)[0] == pytest.approx(
        1.5 * math.exp(0.2), rel=1e-9
    )
