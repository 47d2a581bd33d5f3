"""One camera in one crossing: its lens and noise, and where it stands and looks, mounting errors included."""

import numpy as np

from fencecast.jit import compiled, compiled_inline
from fencecast.kernels.types import Optics, Pose
from fencecast.physics.discrimination import normal_quantile
from fencecast.physics.optics import camera_axes
from fencecast.sampling.sobol import hashed_unit
from fencecast.sampling.variables import CAMERA_VARIABLES

_BEARING = CAMERA_VARIABLES.index("bearing")
_DEPRESSION = CAMERA_VARIABLES.index("depression")
_HEIGHT = CAMERA_VARIABLES.index("height")


@compiled_inline
def optics_of(cameras, camera):
    """The Optics of one camera."""
    return Optics(
        cameras.focal_px[camera],
        cameras.projection[camera],
        cameras.noise_law[camera],
        cameras.illumination_focal_px[camera],
        cameras.columns[camera],
        cameras.rows[camera],
        cameras.blur_px2[camera],
        cameras.time_constant_s[camera],
        cameras.fixed_pattern[camera],
        cameras.band[camera],
    )


@compiled
def make_poses(cameras):
    """Room for the poses of that many cameras, zeros."""
    return Pose(np.zeros((cameras, 3)), np.zeros((cameras, 3)), np.zeros((cameras, 3)), np.zeros((cameras, 3)))


@compiled_inline
def pose_of(poses, camera):
    """The Pose of one camera out of those of all: rows, not copies."""
    return Pose(poses.position[camera], poses.right[camera], poses.down[camera], poses.forward[camera])


@compiled_inline
def fill_pose(cameras, camera, bearing_error, depression_error, height_error, pose):
    """The camera's pose in this crossing, as mounted and with errors [rad, rad, m], into pose; never lower than 0.1 m."""
    position, right, down, forward = pose
    position[0] = cameras.position[camera, 0]
    position[1] = cameras.position[camera, 1]
    position[2] = max(cameras.position[camera, 2] + height_error, 0.1)
    axes = camera_axes(
        cameras.bearing_rad[camera] + bearing_error, cameras.depression_rad[camera] + depression_error, cameras.roll_rad[camera]
    )
    right[0], right[1], right[2], down[0], down[1], down[2], forward[0], forward[1], forward[2] = axes


@compiled_inline
def fill_drawn_pose(cameras, camera, draw, pose):
    """The same with errors of mounting drawn for one crossing; draw, uint64, keys what is hashed."""
    bearing, depression, height = 0.0, 0.0, 0.0
    if cameras.tolerance[camera, 0] > 0.0:
        bearing = cameras.tolerance[camera, 0] * normal_quantile(hashed_unit(cameras.key[camera, _BEARING], draw))
    if cameras.tolerance[camera, 1] > 0.0:
        depression = cameras.tolerance[camera, 1] * normal_quantile(hashed_unit(cameras.key[camera, _DEPRESSION], draw))
    if cameras.tolerance[camera, 2] > 0.0:
        height = cameras.tolerance[camera, 2] * normal_quantile(hashed_unit(cameras.key[camera, _HEIGHT], draw))
    fill_pose(cameras, camera, bearing, depression, height, pose)
