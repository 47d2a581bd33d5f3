"""The lens against a computer-vision library, an astronomical image library and rays.

Each test names the defect that it would catch and its source.
"""

from __future__ import annotations

import math

import cv2
import galsim
import numpy as np
import pytest
from scipy.optimize import brentq
from scipy.spatial.transform import Rotation

from fencecast.physics import optics

COLUMNS, ROWS = 160, 120


def turn_into_camera(bearing_rad, depression_rad):
    """Rotation from the site frame to the camera frame (right, down, forward), built from turns about single axes."""
    level_north = np.array([[1.0, 0.0, 0.0], [0.0, 0.0, -1.0], [0.0, 1.0, 0.0]])
    about_up = Rotation.from_euler("z", bearing_rad).as_matrix()
    about_right = Rotation.from_euler("x", depression_rad).as_matrix()
    return about_right @ level_north @ about_up


def ours(bearing_rad, depression_rad, position, points, focal_px, projection):
    """Image positions [px from the axis] of site points by the package's formulas, and whether each is mapped."""
    axes = np.array(optics.camera_axes(bearing_rad, depression_rad, 0.0)).reshape(3, 3)
    found = [optics.project(*(axes @ (point - position)), focal_px, projection) for point in points]
    return np.array([f[:2] for f in found]), np.array([f[2] for f in found])


def random_pose(random):
    position = np.array([*random.uniform(-200.0, 200.0, 2), random.uniform(1.5, 20.0)])
    return random.uniform(-math.pi, 3.0 * math.pi), random.uniform(-0.4, 1.5), position


def test_axes_by_hand():
    """Catches a mirrored picture, bearings turned the other way, depression upwards. Source: the conventions of the site frame
    (bearings clockwise from north, depression positive downwards, u to the right, v downwards), read off for a camera that
    looks east and one that looks straight down with its head to the south."""
    east = np.array(optics.camera_axes(math.radians(90.0), 0.0, 0.0)).reshape(3, 3)
    assert east == pytest.approx(np.array([[0, -1, 0], [0, 0, -1], [1, 0, 0]]), abs=1e-15)
    down = np.array(optics.camera_axes(math.radians(180.0), math.radians(90.0), 0.0)).reshape(3, 3)
    assert down == pytest.approx(np.array([[-1, 0, 0], [0, 1, 0], [0, 0, -1]]), abs=1e-15)


def test_axes_are_turns_of_a_level_camera():
    """Catches a slip of sign in any of the nine numbers. Source: a rotation library, turns composed; 1e-14 is rounding."""
    random = np.random.default_rng(11)
    for _ in range(50):
        bearing, depression = random.uniform(-4.0, 4.0), random.uniform(-1.6, 1.6)
        axes = np.array(optics.camera_axes(bearing, depression, 0.0)).reshape(3, 3)
        assert axes == pytest.approx(turn_into_camera(bearing, depression), abs=1e-14)
        assert np.linalg.det(axes) == pytest.approx(1.0, abs=1e-14)  # right-handed: nothing is mirrored


@pytest.mark.parametrize("projection", [optics.RECTILINEAR, optics.EQUIDISTANT])
@pytest.mark.parametrize("focal_px", [95.0, 176.5, 1500.0])
def test_projection_against_a_vision_library(projection, focal_px):
    """Catches a wrong projection law, swapped axes, a wrong pose. Source: OpenCV, projectPoints and, without distortion
    coefficients, fisheye.projectPoints (its law is then the equidistant one; it maps what is in front only). The points fill
    the whole frame. 1e-8 px: both work in float64 at up to 1,500 px."""
    random = np.random.default_rng(12)
    intrinsic = np.array([[focal_px, 0.0, 0.5 * COLUMNS], [0.0, focal_px, 0.5 * ROWS], [0.0, 0.0, 1.0]])
    for _ in range(20):
        bearing, depression, position = random_pose(random)
        turn = turn_into_camera(bearing, depression)
        picture = random.uniform(-0.02, 1.02, (40, 2)) * (COLUMNS, ROWS) - (0.5 * COLUMNS, 0.5 * ROWS)
        radius = np.hypot(*picture.T)
        angle = np.arctan(radius / focal_px) if projection == optics.RECTILINEAR else radius / focal_px
        assert angle.max() < 0.5 * math.pi
        rays = np.stack([*(picture / radius[:, None] * np.sin(angle)[:, None]).T, np.cos(angle)], axis=1)
        points = position + (rays * random.uniform(1.0, 300.0, (40, 1))) @ turn
        turn_vector, shift = cv2.Rodrigues(turn)[0], -turn @ position
        if projection == optics.RECTILINEAR:
            theirs = cv2.projectPoints(points, turn_vector, shift, intrinsic, None)[0]
        else:
            theirs = cv2.fisheye.projectPoints(points[:, None, :], turn_vector, shift, intrinsic, np.zeros(4))[0]
        found, mapped = ours(bearing, depression, position, points, focal_px, projection)
        assert mapped.all()
        assert found + (0.5 * COLUMNS, 0.5 * ROWS) == pytest.approx(theirs.reshape(-1, 2), abs=1e-8)


def test_equidistant_beyond_a_right_angle():
    """Catches an arctangent that folds what is behind the camera to the front. Source: r = f theta, the definition."""
    for degrees in (91.0, 120.0, 179.9):
        theta = math.radians(degrees)
        u, v, mapped = optics.project(3.0 * math.sin(theta), 4.0 * math.sin(theta), 5.0 * math.cos(theta), 100.0, 1)
        assert mapped
        assert (u, v) == pytest.approx((60.0 * theta, 80.0 * theta), rel=1e-12)


def test_points_that_no_lens_can_map():
    """Catches a tangent that runs away, and people behind the camera drawn upside down. Source: the 89 degree rule of the
    model; an equidistant lens maps every direction but straight back."""
    for degrees, wanted in ((88.9, True), (89.1, False), (90.0, False), (135.0, False), (180.0, False)):
        theta = math.radians(degrees)
        mapped = optics.project(math.sin(theta), 0.0, math.cos(theta), 100.0, optics.RECTILINEAR)[2]
        assert mapped is wanted, degrees
    assert optics.project(0.0, 0.0, 2.0, 100.0, optics.EQUIDISTANT) == (0.0, 0.0, True)
    assert optics.project(0.0, 0.0, -2.0, 100.0, optics.EQUIDISTANT)[2] is False


def test_rectilinear_field_against_a_vision_library():
    """Catches half fields for full ones, atan of the whole width. Source: OpenCV calibrationMatrixValues."""
    for focal_px in (60.0, 176.5, 1000.0):
        intrinsic = np.array([[focal_px, 0.0, 0.5 * COLUMNS], [0.0, focal_px, 0.5 * ROWS], [0.0, 0.0, 1.0]])
        across, upright, *_ = cv2.calibrationMatrixValues(intrinsic, (COLUMNS, ROWS), 1.0, 1.0)
        assert math.degrees(optics.field_of_view_rad(COLUMNS, focal_px, 0)) == pytest.approx(across, rel=1e-12)
        assert math.degrees(optics.field_of_view_rad(ROWS, focal_px, 0)) == pytest.approx(upright, rel=1e-12)


@pytest.mark.parametrize("projection", [0, 1])
def test_field_and_angle_undo_the_projection(projection):
    """Catches a field or an off-axis angle by another law than the projection's. Metamorphic: the ray at half the field lands on
    the frame's edge, and the angle of a picture point is the angle of its ray."""
    focal_px = 140.0
    half = 0.5 * optics.field_of_view_rad(COLUMNS, focal_px, projection)
    u, _, _ = optics.project(math.sin(half), 0.0, math.cos(half), focal_px, projection)
    assert u == pytest.approx(0.5 * COLUMNS, rel=1e-12)
    for theta in (0.0, 0.2, 0.8, 1.4):
        u, v, _ = optics.project(0.6 * math.sin(theta), -0.8 * math.sin(theta), math.cos(theta), focal_px, projection)
        assert optics.off_axis_angle_rad(math.hypot(u, v), focal_px, projection) == pytest.approx(theta, abs=1e-12)


def test_illumination_is_the_fourth_power_of_the_cosine():
    """Catches cos^2, cos of the wrong angle, a flat rectilinear lens. Source: the cosine-fourth law with the ray's own cosine
    f / sqrt(f^2 + r^2); the floor is the documented 1e-6."""
    radius = np.array([0.0, 10.0, 57.0, 100.0, 400.0])
    cosine = 120.0 / np.hypot(120.0, radius)
    assert optics.relative_illumination_array(radius, 120.0, 0, True) == pytest.approx(cosine**4, rel=1e-12)
    assert optics.relative_illumination_array(radius[:4], 120.0, 1, True) == pytest.approx(
        np.cos(radius[:4] / 120.0) ** 4, rel=1e-12
    )
    assert optics.relative_illumination_array(radius, 120.0, 1, False) == pytest.approx(np.ones(5))
    assert optics.relative_illumination(120.0 * 0.5 * math.pi, 120.0, 1, True) == 1e-6
    assert optics.relative_illumination(120.0 * 3.0, 120.0, 1, True) == 1e-6


def test_diffraction_blur_is_that_of_a_round_pupil():
    """Catches a radius for a diameter, a wavelength in micrometres, F squared. Source: GalSim's Airy pattern; the Gaussian with
    the same full width at half maximum has sd 0.437 lambda F, and 0.45 is the model's rounded choice (3 % more)."""
    airy_sd = galsim.Airy(lam_over_diam=1.0).calculateFWHM() / (2.0 * math.sqrt(2.0 * math.log(2.0)))
    for f_number, pitch_m in ((1.0, 17e-6), (1.4, 12e-6)):
        found = math.sqrt(optics.static_blur_variance_px2(f_number, pitch_m, 0.0))
        assert found == pytest.approx(airy_sd * 10e-6 * f_number / pitch_m, rel=0.04)
        assert found == pytest.approx(0.45 * 10e-6 * f_number / pitch_m, rel=1e-12)
    both = optics.static_blur_variance_px2(1.0, 17e-6, 0.3)
    assert both == pytest.approx(optics.static_blur_variance_px2(1.0, 17e-6, 0.0) + 0.09, rel=1e-12)


@pytest.mark.parametrize("projection", [0, 1])
@pytest.mark.parametrize("point_height_m", [0.0, 1.0, 1.8])
@pytest.mark.parametrize("depression_deg", [14.0, 30.0, 45.0])
def test_blind_ground_is_where_the_projection_leaves_the_frame(projection, point_height_m, depression_deg):
    """Catches (h + z), a whole field for half of it, sine for tangent. Source: the projection itself (checked against a vision
    library above): the distance at which the point's row is the frame's lower edge, found by root search."""
    height_m, focal_px, depression = 4.0, 176.5, math.radians(depression_deg)
    field = optics.field_of_view_rad(ROWS, focal_px, projection)

    def row(distance_m):
        point = np.array([0.0, distance_m, point_height_m])
        return ours(0.0, depression, np.array([0.0, 0.0, height_m]), [point], focal_px, projection)[0][0, 1]

    found = optics.blind_distance_m(height_m, depression, field, point_height_m)
    assert found == pytest.approx(brentq(lambda d: row(d) - 0.5 * ROWS, 0.3, 200.0, xtol=1e-12), rel=1e-9)
    assert row(0.9 * found) > 0.5 * ROWS > row(1.1 * found)
    top = optics.top_of_frame_distance_m(height_m, depression, field, point_height_m)
    if depression > 0.5 * field:
        assert top == pytest.approx(brentq(lambda d: row(d) + 0.5 * ROWS, 0.3, 2000.0, xtol=1e-12), rel=1e-9)
    else:
        assert top == math.inf
        assert row(1e6) > -0.5 * ROWS


def test_blind_ground_at_its_limits():
    """Catches a division by a vanishing tangent, and a camera over the horizon that claims to see the ground. Source: the model:
    none when t + v/2 >= 90 degrees, undefined when t + v/2 <= 0; a head above a camera whose upper edge points down is out of
    the frame at every distance."""
    field = math.radians(40.0)
    assert optics.blind_distance_m(4.0, math.radians(70.0), field, 0.0) == 0.0
    assert optics.blind_distance_m(4.0, math.radians(75.0), field, 0.0) == 0.0
    assert 0.0 < optics.blind_distance_m(4.0, math.radians(69.9), field, 0.0) < 0.01
    assert math.isnan(optics.blind_distance_m(4.0, math.radians(-20.0), field, 0.0))
    assert math.isnan(optics.blind_distance_m(4.0, math.radians(-25.0), field, 0.0))
    assert optics.blind_distance_m(1.5, math.radians(10.0), field, 1.8) == 0.0
    assert optics.top_of_frame_distance_m(4.0, math.radians(20.0), field, 1.8) == math.inf
    assert optics.top_of_frame_distance_m(1.8, math.radians(30.0), field, 1.8) == 0.0
    assert optics.top_of_frame_distance_m(1.5, math.radians(30.0), field, 1.8) == 0.0
    assert optics.top_of_frame_distance_m(1.5, math.radians(10.0), field, 1.8) == math.inf
