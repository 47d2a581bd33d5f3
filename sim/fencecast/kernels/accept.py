"""Acceptance in the crossing loop: which look is judged, how large a person would be there, and the chance to be accepted.

The judged look of a camera is, among those that count, the one with the most resolved cycles; one with the feet on the ground
goes before all without. Acceptance is not monotone in cycles (small: not resolved; large: the shape tells), so it cannot be part
of the sorted integral over N_th: it is one factor per encounter and camera, `work.accept`.
"""

import math

from fencecast.jit import compiled, compiled_inline
from fencecast.kernels.look import image_of
from fencecast.physics.acceptance import PERSON_M, shape_acceptance, size_acceptance, size_ratio

# Columns of work.judged: N of the judged look (0 before any), whether its feet are on the ground, the ground point seen there.
JUDGED_CYCLES, JUDGED_FEET, JUDGED_X, JUDGED_Y = range(4)
JUDGED = 4
_HEIGHT_M, _BREADTH_M, _DEPTH_M = PERSON_M


@compiled_inline
def gated(decision):
    """Whether the site's analytics have a size gate at all: without one a person is always accepted."""
    return decision.size_gate[0] > 0.0 or decision.size_gate[1] > 0.0


@compiled
def person_area_px(pose, optics, x, y):
    """Rectangle [px^2] that the upright person of `PERSON_M` fills when it stands at (x, y) [m], facing the camera; 0 when a
    corner cannot be pictured. As `look.fill_body_image` draws bodies."""
    dx, dy = x - pose.position[0], y - pose.position[1]
    ground = math.sqrt(dx * dx + dy * dy)
    if ground < 1.0e-3:
        return 0.0
    sx, sy = dx / ground, dy / ground
    rx, ry = 0.5 * _BREADTH_M * sy, -0.5 * _BREADTH_M * sx
    sx, sy = 0.5 * _DEPTH_M * sx, 0.5 * _DEPTH_M * sy
    u_left, _, ok_left = image_of(pose, optics, x - rx, y - ry, 0.5 * _HEIGHT_M)
    u_right, _, ok_right = image_of(pose, optics, x + rx, y + ry, 0.5 * _HEIGHT_M)
    _, v_low, ok_low = image_of(pose, optics, x - sx, y - sy, 0.0)
    _, v_top, ok_top = image_of(pose, optics, x + sx, y + sy, _HEIGHT_M)
    if not (ok_left and ok_right and ok_low and ok_top):
        return 0.0
    return abs((u_right - u_left) * (v_top - v_low))


@compiled_inline
def forget_looks(work, camera):
    """Begin a camera's encounter: nothing judged yet, everything accepted."""
    work.accept[camera] = 1.0
    work.judged[camera, JUDGED_CYCLES] = 0.0
    work.judged[camera, JUDGED_FEET] = 0.0


@compiled_inline
def note_look(work, camera, cycles, feet_on_ground, x, y):
    """Keep this look when it is to be judged before the one kept so far; (x, y): the ground point seen under its feet [m]."""
    kept = work.judged[camera]
    feet = 1.0 if feet_on_ground else 0.0
    if cycles > 0.0 and (feet > kept[JUDGED_FEET] or (feet == kept[JUDGED_FEET] and cycles > kept[JUDGED_CYCLES])):
        kept[JUDGED_CYCLES], kept[JUDGED_FEET], kept[JUDGED_X], kept[JUDGED_Y] = cycles, feet, x, y


@compiled_inline
def judge(work, camera, pose, optics, decision, confused, shape_cycles):
    """A = S G of the kept look into work.accept[camera]; 1 when no look was kept, for then nothing alarms.

    confused, shape_cycles: of the body, see `physics.acceptance.shape_acceptance`; a person has 1.
    """
    kept = work.judged[camera]
    cycles = kept[JUDGED_CYCLES]
    if cycles <= 0.0:
        return
    ratio = size_ratio(cycles, person_area_px(pose, optics, kept[JUDGED_X], kept[JUDGED_Y]))
    size = size_acceptance(ratio, cycles, decision.size_gate[0], decision.size_gate[1], decision.size_spread)
    work.accept[camera] = size * shape_acceptance(cycles, shape_cycles, confused)
