"""One encounter with a body that is no intruder, from its draws to its alarm probability, and the loop over blocks of jobs.

As `crossing`, with three differences: a straight way (`ways`), rules that each camera judges by where the body seems to stand
(`seen`), and one number instead of a ladder. Compiled when first called, which takes as long as the crossing loop does: a site
without stimuli never asks.
"""

import math

import numpy as np

from fencecast.jit import borrow, compiled_alone, compiled_inline, keep_alive
from fencecast.kernels.accept import forget_looks, judge, note_look
from fencecast.kernels.crossing import draw_units
from fencecast.kernels.decided import decide
from fencecast.kernels.integrate import camera_alarm
from fencecast.kernels.look import CYCLES, P_LOOK, PIXELS_IN_VIEW, look_at_body
from fencecast.kernels.pose import fill_drawn_pose, optics_of, pose_of
from fencecast.kernels.seen import arm_seen_looks, find_seen_events, may_be_in_frame, seen_ground
from fencecast.kernels.state import draw_air, draw_state, with_clutter
from fencecast.kernels.stimulus import activity, draw_quantities, draw_size, warm_up_body
from fencecast.kernels.types import STIMULUS_QUANTITIES, Body, Plan
from fencecast.kernels.ways import draw_way, place_on_way
from fencecast.kernels.work import make_work
from fencecast.physics.detector import temporal_noise_radiance
from fencecast.physics.discrimination import normal_quantile
from fencecast.sampling.sobol import combine_keys, hashed_unit
from fencecast.sampling.variables import CAMERA_VARIABLES, DIMENSION, FOOT_POINT_VARIABLES, key64

_NETD = CAMERA_VARIABLES.index("netd")
_FOOT_U, _FOOT_V = (np.uint64(key64("camera", name)) for name in FOOT_POINT_VARIABLES)
_D_POSITION = DIMENSION["position"]
_D_VISIBILITY = DIMENSION["visibility"]
_D_DROP = DIMENSION["drop_radius"]
_D_PHASE = DIMENSION["look_phase"]
_D_GROUND = DIMENSION["ground_minus_air"]
_D_AIR = DIMENSION["air_temperature"]
_D_WIND = DIMENSION["wind"]
_D_RAIN = DIMENSION["rain"]
_D_CLUTTER = DIMENSION["clutter"]
_D_WETNESS = DIMENSION["wetness"]
_D_HUMIDITY = DIMENSION["relative_humidity"]
_D_SNOW = DIMENSION["snow"]
_D_DIRECTION = DIMENSION["direction"]
_D_HOUR = DIMENSION["hour"]
_D_WAY = DIMENSION["way"]

# Columns of a job's sums, all but LOOKS weighted by the stimulus's activity in the weather drawn, which ACTIVE adds up; the
# cameras' own alarm probabilities follow. BELIEVED: some camera takes it to cross an armed line or to stay in an armed area.
ENCOUNTER_ALARM, ENCOUNTER_IN_VIEW, ENCOUNTER_BELIEVED, ENCOUNTER_ACTIVE, ENCOUNTER_LOOKS = range(5)
ENCOUNTER_CAMERA = 5

_FRAME_MARGIN_M = 3.0  # beyond a body's own size: blur, and what a foot point does not say of the rest


@compiled_inline
def meet_once(plan, stimuli, stimulus, cells, cell, point, key, work, scratch, row):
    """One encounter, added to row (ENCOUNTER_CAMERA + cameras,).

    key: uint64 that with `point` keys the hashed draws of cameras and decision. scratch: (entered (rules,), at_post
    (cameras, nodes), drawn (STIMULUS_QUANTITIES,)).
    """
    scene, cameras, intruder = plan.scene, plan.cameras, plan.intruder
    entered, at_post, drawn = scratch
    u = work.units
    state = draw_state(plan.weather, cells.weather[cell], u[_D_HOUR])
    about = activity(plan.weather, state, stimuli, stimulus, u)
    if about <= 0.0:
        return
    row[ENCOUNTER_ACTIVE] += about
    decision, clutter_factor = decide(plan.decision, key, key, point)
    plan = Plan(scene, cameras, plan.bands, plan.weather, intruder, decision)
    draw_quantities(stimuli, stimulus, u, drawn)
    way, free = draw_way(
        scene, stimuli, stimulus, cells.section[cell], cells.start_m[cell], cells.end_m[cell], drawn,
        u[_D_POSITION], u[_D_DIRECTION], u[_D_WAY],
    )  # fmt: skip
    phase, rate = u[_D_PHASE], decision.looks_per_s
    last_of_way = int(math.floor(way.end_s * rate - phase))
    if not free or last_of_way < 0:
        return
    posture = stimuli.posture[stimulus]
    height, breadth, depth = draw_size(stimuli, stimulus, intruder, drawn, u)
    camera_count, nodes = cameras.bearing_rad.size, decision.node_z.size
    for camera in range(camera_count):
        for k in range(nodes):
            at_post[camera, k] = 0.0
    warm, believed, in_view, rendered = False, False, False, 0
    air = draw_air(
        plan.weather, state, u[_D_AIR], u[_D_HUMIDITY], u[_D_WIND], u[_D_VISIBILITY], u[_D_RAIN], u[_D_SNOW],
        u[_D_GROUND], u[_D_CLUTTER], u[_D_WETNESS], u[_D_DROP],
    )  # fmt: skip
    air = with_clutter(air, clutter_factor)
    draw = np.uint64(combine_keys(key, np.uint64(point)))
    for camera in range(camera_count):
        pose, optics = pose_of(work.poses, camera), optics_of(cameras, camera)
        fill_drawn_pose(cameras, camera, draw, pose)
        if way.base_m >= pose.position[2] or not may_be_in_frame(pose, optics, way, _FRAME_MARGIN_M + height + breadth + depth):
            continue
        error_u, error_v = 0.0, 0.0
        if stimuli.foot_point_px > 0.0:
            own = cameras.key[camera, _NETD]
            error_u = stimuli.foot_point_px * normal_quantile(hashed_unit(combine_keys(own, _FOOT_U), draw))
            error_v = stimuli.foot_point_px * normal_quantile(hashed_unit(combine_keys(own, _FOOT_V), draw))
        count = find_seen_events(
            scene, camera, pose, optics, way, phase, rate, last_of_way, error_u, error_v, entered, work.events
        )
        first, looks = arm_seen_looks(
            work.events, count, phase, rate, decision.confirm_n, last_of_way, work.armed[camera], work.needed[camera],
            work.bucket_of[camera],
        )  # fmt: skip
        if looks == 0:
            continue
        believed = True
        if not warm:
            warm = True
            warm_up_body(plan, stimuli, stimulus, air, way.speed_m_s, drawn, u, work.radiance)
        netd = cameras.netd_k[camera]
        if cameras.netd_spread[camera] > 0.0:
            netd *= math.exp(cameras.netd_spread[camera] * normal_quantile(hashed_unit(cameras.key[camera, _NETD], draw)))
        noise = temporal_noise_radiance(netd, plan.bands.slope_300k[cameras.band[camera]], 1.0, 0.0, 1.0)
        seen = False
        forget_looks(work, camera)
        for look in range(looks):
            work.cycles[camera, look] = 0.0
            work.passes[camera, look] = 0.0
            if not work.needed[camera, look]:
                continue
            motion = place_on_way(way, (phase + first + look) / rate, posture)
            body = Body(motion, height, breadth, depth)
            if not look_at_body(plan, optics, pose, body, air, work.radiance, noise, work):
                continue
            rendered += 1
            work.cycles[camera, look] = work.look[CYCLES]
            work.passes[camera, look] = work.look[P_LOOK]
            seen = seen or work.look[PIXELS_IN_VIEW] >= decision.min_pixels
            x, y, stands = seen_ground(pose, optics, motion.x, motion.y, motion.base, error_u, error_v)
            if stands:
                note_look(work, camera, work.look[CYCLES], motion.base <= 0.0, x, y)
        if not seen:
            continue
        in_view = True
        judge(work, camera, pose, optics, decision, stimuli.confused[stimulus], stimuli.shape_cycles[stimulus])
        alone = camera_alarm(work, camera, 0, looks - 1, 1, decision)
        row[ENCOUNTER_CAMERA + camera] += about * work.accept[camera] * alone
        post = cameras.post[camera]
        for k in range(nodes):
            at_post[post, k] = max(at_post[post, k], work.accept[camera] * work.given_z[0, k])
    alarm = 0.0
    for k in range(nodes):
        silent = 1.0
        for camera in range(camera_count):
            silent *= 1.0 - at_post[camera, k]
        alarm += decision.node_weight[k] * (1.0 - silent)
    row[ENCOUNTER_ALARM] += about * min(alarm, 1.0)
    row[ENCOUNTER_IN_VIEW] += about if in_view else 0.0
    row[ENCOUNTER_BELIEVED] += about if believed else 0.0
    row[ENCOUNTER_LOOKS] += rendered


@compiled_alone
def run_encounters(
    plan, stimuli, cells, cell_stimulus, variable_keys, sobol, job_cell, job_replicate, job_first, job_last, max_looks, sums
):
    """Run jobs one after another, adding to sums (jobs, ENCOUNTER_CAMERA + cameras): row j belongs to job j alone.

    cell_stimulus (cells,): the stimulus of each cell; its cells have keys of their own, so that a stimulus more leaves the
    others' draws alone.
    """
    plan, stimuli, cells = borrow(plan), borrow(stimuli), borrow(cells)
    camera_count = plan.cameras.bearing_rad.size
    variables = variable_keys.size
    owned = make_work(
        camera_count, plan.bands.low_um.size, plan.decision.node_z.size, plan.decision.confirm_n - 1, variables, max_looks
    )
    own_scratch = (
        np.zeros(plan.scene.rule_kind.size),
        np.zeros((camera_count, plan.decision.node_z.size)),
        np.zeros(STIMULUS_QUANTITIES),
    )
    work, scratch = borrow(owned), borrow(own_scratch)
    for job in range(job_cell.size):
        cell = job_cell[job]
        replicate_key = np.uint64(combine_keys(cells.key[cell], np.uint64(job_replicate[job])))
        for v in range(variables):
            work.keys[v] = combine_keys(replicate_key, variable_keys[v])
        for point in range(job_first[job], job_last[job]):
            draw_units(work, sobol[point], variables)
            meet_once(plan, stimuli, cell_stimulus[cell], cells, cell, point, replicate_key, work, scratch, sums[job])
    keep_alive(owned)
    keep_alive(own_scratch)
