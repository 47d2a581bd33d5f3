"""Roll and errors of a camera's own, wherever a site is looked at: one turn, the same everywhere."""

import math

import numpy as np
import pytest

from fencecast.camera import camera_geometry
from fencecast.decide.place.joint import _half_azimuth
from fencecast.findings.sitewarnings import site_warnings
from fencecast.kernels.pack import pack_plan
from fencecast.kernels.pose import fill_drawn_pose, fill_pose, make_poses, pose_of
from fencecast.prove.mount import horizon_row, mount_of
from fencecast.review.optics import eyes_of
from prove.aimyards import camera, yard
from prove.built.builtyards import turn_of

ROLLED = {"bearing_deg": 35.0, "depression_deg": 15.0, "roll_deg": 7.0, "lens": "three"}


def packed(*cameras, **keys):
    site = yard(list(cameras), **keys)
    return site, pack_plan(site, site.weather).cameras


def axes_of(pose) -> np.ndarray:
    return np.array([pose.right, pose.down, pose.forward])


def test_the_kernel_s_pose_is_rolled():
    """Catches: a roll that is packed and not used, or used for another camera."""
    _, cameras = packed(camera("K1"), camera("K2", **ROLLED))
    pose = pose_of(make_poses(2), 1)
    fill_pose(cameras, 1, 0.0, 0.0, 0.0, pose)
    assert axes_of(pose) == pytest.approx(turn_of(35.0, 15.0, 7.0), abs=1e-14)


def test_errors_of_its_own_replace_the_site_s():
    """Each key by itself. Catches: degrees that stay degrees, one camera's errors drawn for another, a zero that is ignored."""
    own = {"bearing_sd_deg": 0.2, "height_sd_m": 0.0}
    _, cameras = packed(camera("K1"), camera("K2", **own), tolerance={"bearing_deg": 2.0, "depression_deg": 1.0, "height_m": 0.1})
    expected = [[math.radians(2.0), math.radians(1.0), 0.1], [math.radians(0.2), math.radians(1.0), 0.0]]
    assert cameras.tolerance == pytest.approx(np.array(expected))
    drawn = []
    for k in range(2):
        pose = pose_of(make_poses(2), k)
        plain = pose_of(make_poses(2), k)
        fill_pose(cameras, k, 0.0, 0.0, 0.0, plain)
        turns, heights = [], []
        for draw in range(200):
            fill_drawn_pose(cameras, k, np.uint64(draw * 7919 + 1), pose)
            turns.append(math.atan2(pose.forward[0], pose.forward[1]) - math.atan2(plain.forward[0], plain.forward[1]))
            heights.append(pose.position[2])
        drawn.append((np.std(turns), np.std(heights)))
    # 200 draws tell a standard deviation to 5 %.
    assert drawn[0] == pytest.approx((math.radians(2.0), 0.1), rel=0.2)
    assert drawn[1][0] == pytest.approx(math.radians(0.2), rel=0.2) and drawn[1][1] == 0.0


def test_review_and_frames_are_rolled_alike():
    """The design review's projection and the geometry of pictures, on points all over the frame."""
    site, _ = packed(camera("K2", **ROLLED), camera("K3", **(ROLLED | {"lens": "fish"})))
    random = np.random.default_rng(1)
    for eye, table in zip(eyes_of(site), site.camera):
        geometry = camera_geometry(site, table)
        assert np.array(geometry.axes).reshape(3, 3) == pytest.approx(turn_of(35.0, 15.0, 7.0), abs=1e-14)
        x, y = random.uniform(2.0, 20.0, 30), random.uniform(4.0, 30.0, 30)
        u, v, mapped = eye.image_of(x, y, 0.0)
        for k in np.flatnonzero(mapped):
            assert geometry.position_px(x[k], y[k], 0.0) == pytest.approx((u[k], v[k]), abs=1e-9)
        turned = eye.turned(0.1, 0.0)
        assert turned.roll_rad == eye.roll_rad == geometry.roll_rad


@pytest.mark.parametrize("roll_deg", [0.0, 12.0, -30.0])
def test_the_widest_angle_of_a_rolled_frame(roll_deg):
    """Against the corners of the frame by scipy's turns. Catches: a crossing that is left out because a rolled corner sees it."""
    _, cameras = packed(camera("K1", **(ROLLED | {"roll_deg": roll_deg})))
    corners = np.array([[u, v, cameras.focal_px[0]] for u in (-80.0, 80.0) for v in (-60.0, 60.0)]) @ turn_of(0.0, 15.0, roll_deg)
    widest = np.abs(np.arctan2(corners[:, 0], corners[:, 1])).max()
    assert _half_azimuth(cameras, 0) == pytest.approx(widest, abs=1e-9)


@pytest.mark.parametrize("lens", ["three", "fish"])
def test_the_horizon_of_a_rolled_camera(lens):
    """In the middle column: a level line far away, by scipy's turns. Without roll as before."""
    site, _ = packed(camera("K1", **(ROLLED | {"lens": lens, "depression_deg": 10.0})))
    geometry = camera_geometry(site, site.camera[0])
    row = horizon_row(geometry)
    turn = turn_of(35.0, 10.0, 7.0)
    right, down, ahead = geometry.ray(0.0, row - 60.0)
    # The ray of that row in the middle column is level.
    assert (np.array([right, down, ahead], dtype=float) @ turn)[2] == pytest.approx(0.0, abs=1e-6)
    assert mount_of(site, site.camera[0]).horizon_row == row


def test_a_camera_that_leans_far_is_warned_of():
    """Eleven degrees; ten are no reason. Catches: a limit in radians, the sign of the roll."""
    leaning = yard([camera("K1", roll_deg=-11.0), camera("K2", roll_deg=10.0)])
    said = [text for text in site_warnings(leaning) if "rolled" in text]
    assert said == [
        'camera "K1": rolled by more than 10 degrees (up to 11); the person\'s rectangle stays upright in the picture, which '
        "makes the resolved cycles up to 2 % too few"
    ]
