"""The lens and the body's rectangle in the picture against a computer-vision library."""

from __future__ import annotations

import math

import numpy as np

from fencecast.evidence import yard
from fencecast.evidence.check import Check, outside, relative, with_version
from fencecast.kernels import look
from fencecast.kernels import pose as pose_room
from fencecast.kernels.types import Body, Motion
from fencecast.physics import body, optics

POSES = 200
LEVEL_NORTH = np.array([[1.0, 0.0, 0.0], [0.0, 0.0, -1.0], [0.0, 1.0, 0.0]])


def turn_into_camera(bearing_rad: float, depression_rad: float, roll_rad: float = 0.0) -> np.ndarray:
    """Rotation from the site (east, north, up) to a camera (right, down, forward), as turns about single axes by scipy."""
    rotation = outside("scipy.spatial.transform").Rotation
    about_up = rotation.from_euler("z", bearing_rad).as_matrix()
    aimed = rotation.from_euler("x", depression_rad).as_matrix() @ LEVEL_NORTH @ about_up
    # The camera turns clockwise about its axis, so what it sees turns the other way.
    return rotation.from_euler("z", -roll_rad).as_matrix() @ aimed


def image_by_library(points, position, turn, focal_px: float, projection: str) -> np.ndarray:
    """Image positions [px] from the frame's corner, (points, 2), by OpenCV."""
    cv2 = outside("cv2")
    intrinsic = np.array([[focal_px, 0.0, 0.5 * yard.COLUMNS], [0.0, focal_px, 0.5 * yard.ROWS], [0.0, 0.0, 1.0]])
    vector, shift = cv2.Rodrigues(turn)[0], -turn @ np.asarray(position)
    points = np.asarray(points, dtype=float)
    if projection == "rectilinear":
        return cv2.projectPoints(points, vector, shift, intrinsic, None)[0].reshape(-1, 2)
    return cv2.fisheye.projectPoints(points[:, None, :], vector, shift, intrinsic, np.zeros(4))[0].reshape(-1, 2)


def projection() -> Check:
    """Catches a wrong projection law, swapped axes, a mirrored picture, bearings turned the other way."""
    random = np.random.default_rng(12)
    worst, count = 0.0, 0
    for name, law in optics.PROJECTIONS.items():
        for focal_px in (95.0, 176.5, 1500.0):
            for _ in range(20):
                position = np.array([*random.uniform(-200.0, 200.0, 2), random.uniform(1.5, 20.0)])
                bearing, depression = random.uniform(-math.pi, 3.0 * math.pi), random.uniform(-0.4, 1.5)
                roll = random.uniform(-0.5, 0.5)
                turn = turn_into_camera(bearing, depression, roll)
                # Points that fill the frame and a little more, at 1-300 m.
                picture = (random.uniform(-0.02, 1.02, (40, 2)) - 0.5) * (yard.COLUMNS, yard.ROWS)
                radius = np.hypot(*picture.T)
                angle = np.arctan(radius / focal_px) if name == "rectilinear" else radius / focal_px
                rays = np.stack([*(picture / radius[:, None] * np.sin(angle)[:, None]).T, np.cos(angle)], axis=1)
                points = position + (rays * random.uniform(1.0, 300.0, (40, 1))) @ turn
                axes = np.array(optics.camera_axes(bearing, depression, roll)).reshape(3, 3)
                found = np.array([optics.project(*(axes @ (point - position)), focal_px, law)[:2] for point in points])
                theirs = image_by_library(points, position, turn, focal_px, name)
                worst = max(worst, float(np.abs(found + (0.5 * yard.COLUMNS, 0.5 * yard.ROWS) - theirs).max()))
                count += len(points)
    return Check(
        "projection",
        "Projection over the whole frame, both laws, any pose",
        worst,
        "px",
        1e-8,
        "64-bit rounding at up to 1,500 px",
        f"projectPoints and its fisheye form ({with_version('opencv-python-headless', 'scipy')})",
        count,
    )


def field_of_view() -> Check:
    """Catches half fields for full ones, the arctangent of the whole width."""
    cv2 = outside("cv2")
    ours, theirs = [], []
    for focal_px in (60.0, 176.5, 1000.0):
        intrinsic = np.array([[focal_px, 0.0, 0.5 * yard.COLUMNS], [0.0, focal_px, 0.5 * yard.ROWS], [0.0, 0.0, 1.0]])
        theirs += cv2.calibrationMatrixValues(intrinsic, (yard.COLUMNS, yard.ROWS), 1.0, 1.0)[:2]
        ours += [math.degrees(optics.field_of_view_rad(n, focal_px, optics.RECTILINEAR)) for n in (yard.COLUMNS, yard.ROWS)]
    return Check(
        "field_of_view",
        "Fields of view of rectilinear lenses",
        relative(ours, theirs),
        "relative",
        1e-12,
        "rounding",
        f"calibrationMatrixValues ({with_version('opencv-python-headless')})",
        len(ours),
        note=f"160 px of 17 µm behind 3 mm: {ours[2]:.1f}°",
    )


def random_body(random, bearing_rad: float, reach_m=(5.0, 60.0)):
    """(x, y, heading x, heading y, gait, speed, sizes) of a body inside the field of a camera over the origin."""
    distance, angle = random.uniform(*reach_m), bearing_rad + random.uniform(-0.35, 0.35)
    heading, gait = random.uniform(0.0, 2.0 * math.pi), int(random.integers(0, 6))
    place = distance * math.sin(angle), distance * math.cos(angle)
    sizes = body.body_size_m(gait, random.uniform(1.5, 1.95), math.nan)
    return *place, math.cos(heading), math.sin(heading), gait, random.uniform(0.3, 5.0), sizes


def image_of_body(cameras, errors, seen: Body) -> tuple[np.ndarray, np.ndarray]:
    """The product's rectangles (5, 4) and result row of a body before the first camera, mounted with these errors."""
    pose, edges, result = pose_room.pose_of(pose_room.make_poses(1), 0), np.zeros((5, 4)), np.zeros(look.LOOK_RESULTS)
    pose_room.fill_pose(cameras, 0, *errors, pose)
    look.fill_body_image(pose_room.optics_of(cameras, 0), pose, seen, edges, result)
    return edges, result


def rectangles() -> Check:
    """Catches a body turned the wrong way, breadth for depth, near and far exchanged, rows upside down, pose errors reversed."""
    random = np.random.default_rng(101)
    worst = 0.0
    for case in range(POSES):
        name = ("rectilinear", "equidistant")[case % 2]
        cameras = yard.looking_about(name).cameras
        errors = (random.uniform(-3.0, 3.0), random.uniform(-0.1, 0.15), random.uniform(-1.0, 1.0))
        bearing, depression, height_m = errors[0], math.radians(14.0) + errors[1], 4.0 + errors[2]
        x, y, hx, hy, gait, speed, (height, breadth, depth) = random_body(random, bearing)
        seen = Body(Motion(x, y, 0.0, hx, hy, speed * hx, speed * hy, 0.0, gait), height, breadth, depth)
        edges, _ = image_of_body(cameras, errors, seen)
        ground = math.hypot(x, y)
        ahead, right = np.array([x, y]) / ground, np.array([y, -x]) / ground
        cosine, sine = abs(np.dot((hx, hy), ahead)), abs(np.dot((hx, hy), right))
        width, thickness = cosine * breadth + sine * depth, sine * breadth + cosine * depth
        foot = np.array([x, y])
        corners = [
            [*(foot - 0.5 * width * right), 0.5 * height],
            [*(foot + 0.5 * width * right), 0.5 * height],
            [*(foot - 0.5 * thickness * ahead), 0.0],
            [*(foot + 0.5 * thickness * ahead), height],
        ]
        turn = turn_into_camera(bearing, depression)
        left, far_right, low, top = image_by_library(corners, [0.0, 0.0, height_m], turn, 3.0e-3 / 17e-6, name)
        theirs = [left[0], far_right[0], top[1], low[1]]
        worst = max(worst, float(np.abs(edges[4] - theirs).max()))
    return Check(
        "rectangles",
        "A body's rectangle in the picture, 200 random poses",
        worst,
        "px",
        1e-6,
        "64-bit rounding at a hundred pixels",
        f"projectPoints on the corners of its box ({with_version('opencv-python-headless')})",
        POSES,
    )


def blur() -> Check:
    """Catches a motion blur of the wrong size or axis, diffraction with the wrong wavelength, sums of sds for sums of squares."""
    random = np.random.default_rng(102)
    ours, theirs = [], []
    for case in range(POSES // 2):
        name = ("rectilinear", "equidistant")[case % 2]
        cameras = yard.looking_about(name).cameras
        x, y, hx, hy, gait, speed, sizes = random_body(random, 0.0)
        seen = Body(Motion(x, y, 0.0, hx, hy, speed * hx, speed * hy, 0.0, gait), *sizes)
        _, result = image_of_body(cameras, (0.0, 0.0, 0.0), seen)
        step = 1e-4
        middles = [[x + k * step * speed * hx, y + k * step * speed * hy, 0.5 * sizes[0]] for k in (-0.5, 0.5)]
        turn = turn_into_camera(0.0, math.radians(14.0))
        before, after = image_by_library(middles, [0.0, 0.0, 4.0], turn, 3.0e-3 / 17e-6, name)
        still = (0.45 * 10.0 * 1.0 / 17.0) ** 2 + 0.3**2
        ours += [result[look.BLUR_U], result[look.BLUR_V]]
        theirs += list(np.sqrt(still + (0.010 * (after - before) / step) ** 2))
    return Check(
        "blur",
        "Blur of a moving body: diffraction, aberration, 10 ms of motion",
        relative(ours, theirs),
        "relative",
        1e-3,
        "two difference quotients of the motion",
        f"speed of the image by projectPoints ({with_version('opencv-python-headless')})",
        len(ours),
    )


CHECKS = (projection, field_of_view, rectangles, blur)
