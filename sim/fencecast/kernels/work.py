"""The scratch of one thread: every array that a crossing needs, made once per block of crossings."""

from typing import NamedTuple

import numpy as np

from fencecast.jit import compiled
from fencecast.kernels.accept import JUDGED
from fencecast.kernels.arming import EVENT_WIDTH, MAX_EVENTS
from fencecast.kernels.integrate import RESULTS
from fencecast.kernels.look import LOOK_RESULTS
from fencecast.kernels.pose import make_poses
from fencecast.kernels.scratch import LANES, MAX_STRIPS, PARTS, SCRATCH_SIZE
from fencecast.kernels.state import RADIANCES
from fencecast.kernels.types import Pose

# Looks of one path that are followed, at least: 13 minutes at five a second. Past that a stay in a area is cut.
MAX_LOOKS = 4096
# Two windows of one path may lie this far apart [s] before the later one is cut, whatever the rate of looks.
_APART_S = 120.0


def look_capacity(plan) -> int:
    """Looks of one path that the scratch must hold: the widest line window on both sides and what lies between two of them."""
    time_window_s = float(plan.scene.rule_time_window_s.max(initial=0.0))
    wanted = plan.decision.looks_per_s * (2.0 * time_window_s + _APART_S) + plan.decision.confirm_n
    return max(MAX_LOOKS, int(wanted) + 1)


class Work(NamedTuple):
    """See `make_work` for shapes."""

    pixels: np.ndarray
    edges: np.ndarray
    moved_edges: np.ndarray
    contrast: np.ndarray
    fence_top: np.ndarray
    strip_height: np.ndarray
    strip_passed: np.ndarray
    strips: np.ndarray
    part_height: np.ndarray
    part_stretch: np.ndarray
    part_stretch_power: np.ndarray
    kept_pose: np.ndarray
    look: np.ndarray
    poses: Pose
    radiance: np.ndarray
    events: np.ndarray
    alarm_time: np.ndarray
    depth: np.ndarray
    delay: np.ndarray
    armed: np.ndarray
    needed: np.ndarray
    watched: np.ndarray
    cycles: np.ndarray
    passes: np.ndarray
    perfect: np.ndarray
    in_view: np.ndarray
    judged: np.ndarray
    accept: np.ndarray
    active: np.ndarray
    order: np.ndarray
    bucket_of: np.ndarray
    bucket_time: np.ndarray
    bucket_depth: np.ndarray
    bucket_delay: np.ndarray
    alarm_now: np.ndarray
    alarm_before: np.ndarray
    given_z: np.ndarray
    survive: np.ndarray
    survive_resolved: np.ndarray
    survive_confirmed: np.ndarray
    post_z: np.ndarray
    post_resolved: np.ndarray
    post_confirmed: np.ndarray
    survive_ungated: np.ndarray
    post_ungated: np.ndarray
    row: np.ndarray
    group: np.ndarray
    state: np.ndarray
    spare: np.ndarray
    units: np.ndarray
    keys: np.ndarray
    result: np.ndarray
    camera_pd: np.ndarray


@compiled
def aligned_pixels():
    """The pixel scratch, its first number on a cache line: a vector that straddles two lines costs two accesses."""
    raw = np.zeros(SCRATCH_SIZE + LANES, dtype=np.float32)
    start = (-(raw.ctypes.data // 4)) % LANES
    return raw[start : start + SCRATCH_SIZE]


@compiled
def make_work(cameras, bands, nodes, history, variables, looks):
    """Allocate the scratch for `cameras` cameras, `bands` bands, `nodes` nodes of z and paths of up to `looks` armed looks."""
    return Work(
        aligned_pixels(),
        np.zeros((PARTS + 1, 4)),
        np.zeros((PARTS + 1, 4)),
        np.zeros(PARTS),
        np.zeros(MAX_STRIPS - 1),
        np.zeros(MAX_STRIPS),
        np.zeros(MAX_STRIPS),
        np.zeros((MAX_STRIPS, 3)),
        np.zeros(PARTS),
        np.ones(PARTS),
        np.ones(PARTS),
        np.full(4, -1.0),
        np.zeros(LOOK_RESULTS),
        make_poses(cameras),
        np.zeros((bands, RADIANCES)),
        np.zeros((MAX_EVENTS, EVENT_WIDTH)),
        np.zeros((cameras, looks)),
        np.zeros((cameras, looks)),
        np.zeros((cameras, looks)),
        np.zeros((cameras, looks), dtype=np.uint8),
        np.zeros((cameras, looks), dtype=np.uint8),
        np.zeros(looks, dtype=np.uint8),
        np.zeros((cameras, looks)),
        np.zeros((cameras, looks)),
        np.zeros((cameras, looks)),
        np.zeros(cameras, dtype=np.uint8),
        np.zeros((cameras, JUDGED)),
        np.ones(cameras),
        np.zeros(looks, dtype=np.uint8),
        np.zeros(looks, dtype=np.int64),
        np.zeros((cameras, looks), dtype=np.int64),
        np.zeros(looks + MAX_EVENTS),
        np.zeros(looks + MAX_EVENTS),
        np.zeros(looks + MAX_EVENTS),
        np.zeros(looks + MAX_EVENTS),
        np.zeros(looks + MAX_EVENTS),
        np.zeros((looks + MAX_EVENTS, nodes)),
        np.zeros((looks + MAX_EVENTS, nodes)),
        np.zeros(nodes),
        np.zeros(nodes),
        np.zeros((looks + MAX_EVENTS, nodes)),
        np.zeros(nodes),
        np.zeros(nodes),
        np.zeros(nodes),
        np.zeros(nodes),
        np.zeros(nodes),
        np.zeros(nodes),
        np.zeros(1 << history),
        np.zeros(1 << history),
        np.zeros(variables),
        np.zeros(variables, dtype=np.uint64),
        np.zeros(RESULTS),
        np.zeros(cameras),
    )
