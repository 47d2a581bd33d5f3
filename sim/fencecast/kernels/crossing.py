"""One crossing from its draws to its alarm probability, and the loop over the crossings of a block of jobs.

A job is (cell, replicate, first point, last point). Each job adds to a row of sums of its own, in the order of its points, so
that results do not depend on how jobs are spread over threads or cut into blocks.
"""

import math

import numpy as np

from fencecast.jit import borrow, compiled_alone, compiled_inline, keep_alive
from fencecast.kernels.accept import forget_looks, gated, judge, note_look
from fencecast.kernels.arming import arm_looks, find_events
from fencecast.kernels.decided import decide
from fencecast.kernels.draw import quantile
from fencecast.kernels.integrate import (
    ANY_VIEW,
    ARMED,
    CONFIRMED,
    DELAY,
    DEPTH,
    IN_VIEW,
    PD,
    RESOLVED,
    UNGATED,
    integrate_crossing,
)
from fencecast.kernels.look import CYCLES, CYCLES_PERFECT, P_LOOK, PIXELS_IN_VIEW, look_at_body
from fencecast.kernels.path import draw_speed, draw_track, place_at
from fencecast.kernels.pose import fill_drawn_pose, optics_of, pose_of
from fencecast.kernels.state import draw_air, draw_clothing, draw_state, fill_radiances, surface_temperatures, with_clutter
from fencecast.kernels.types import STATURE_M, Body, Plan
from fencecast.kernels.work import make_work
from fencecast.physics.body import CROUCH, GAITS, body_size_m
from fencecast.physics.detector import temporal_noise_radiance
from fencecast.physics.discrimination import normal_quantile
from fencecast.sampling.sobol import combine_keys, hashed_unit, owen_scramble, to_unit
from fencecast.sampling.variables import CAMERA_VARIABLES, DIMENSION

_GAITS = len(GAITS)
_NETD = CAMERA_VARIABLES.index("netd")
_D_POSITION = DIMENSION["position"]
_D_ANGLE = DIMENSION["approach_angle"]
_D_GAIT = DIMENSION["gait"]
_D_SPEED = DIMENSION["speed"]
_D_VISIBILITY = DIMENSION["visibility"]
_D_DROP = DIMENSION["drop_radius"]
_D_PHASE = DIMENSION["look_phase"]
_D_STATURE = DIMENSION["stature"]
_D_CLO = DIMENSION["clo"]
_D_GROUND = DIMENSION["ground_minus_air"]
_D_AIR = DIMENSION["air_temperature"]
_D_WIND = DIMENSION["wind"]
_D_EMISSIVITY = DIMENSION["clothing_emissivity"]
_D_RAIN = DIMENSION["rain"]
_D_CLUTTER = DIMENSION["clutter"]
_D_WETNESS = DIMENSION["wetness"]
_D_HUMIDITY = DIMENSION["relative_humidity"]
_D_SNOW = DIMENSION["snow"]
_D_BARE = DIMENSION["bare_head_share"]
_D_TURN = DIMENSION["turn"]
_D_PAUSE = DIMENSION["pause"]
_D_CLIMB = DIMENSION["climb"]
_D_DIRECTION = DIMENSION["direction"]
_D_DEPTH = DIMENSION["depth_ratio"]
_D_HOUR = DIMENSION["hour"]

# Columns of a job's sums; the cameras' own Pd follow.
SUM_PD, SUM_IN_VIEW, SUM_RESOLVED, SUM_CONFIRMED, SUM_DEPTH, SUM_DELAY, SUM_LOOKS, SUM_ARMED, SUM_ANY_VIEW, SUM_UNGATED = range(
    10
)
SUM_CAMERA = 10


@compiled_inline
def draw_units(work, table_row, variables):
    """All site variables of one crossing as numbers in (0, 1): the shared Sobol point, scrambled by the stratum's keys."""
    for v in range(variables):
        work.units[v] = to_unit(owen_scramble(table_row[v], work.keys[v]))


@compiled_inline
def render_crossing(plan, cells, cell, point, keys, netd_scale, all_cameras, work):
    """The looks of one crossing, of every camera: all that is known of it before anybody asks for an alarm.

    Returns (Decision of this crossing, first look, last look, looks rendered, whether some camera had the intruder in view); the
    looks' numbers are -1 when nothing is armed. Left in work, per camera and look from `first` on: needed, armed, alarm_time,
    depth, delay, cycles, passes, perfect; per camera: in_view, and accept when the site has a size gate.

    keys: three uint64 that with `point` key the hashed draws of cameras, of the decision, and of the factor on clutter (of one
    stratum and replicate all the same). all_cameras: when no camera that an armed rule hears has the intruder in view, ask the
    others too.
    """
    scene, cameras, intruder = plan.scene, plan.cameras, plan.intruder
    decision, clutter_factor = decide(plan.decision, keys[1], keys[2], point)
    plan = Plan(scene, cameras, plan.bands, plan.weather, intruder, decision)
    u = work.units
    state = draw_state(plan.weather, cells.weather[cell], u[_D_HOUR])
    air = draw_air(
        plan.weather, state, u[_D_AIR], u[_D_HUMIDITY], u[_D_WIND], u[_D_VISIBILITY], u[_D_RAIN], u[_D_SNOW],
        u[_D_GROUND], u[_D_CLUTTER], u[_D_WETNESS], u[_D_DROP],
    )  # fmt: skip
    air = with_clutter(air, clutter_factor)
    gait = 0
    while gait < _GAITS - 1 and u[_D_GAIT] >= intruder.gait_cumulative[gait]:
        gait += 1
    speed = draw_speed(intruder.speed[gait], intruder.choice, u[_D_SPEED])
    track = draw_track(
        scene, intruder, cells.section[cell], cells.start_m[cell], cells.end_m[cell], gait, speed,
        u[_D_POSITION], u[_D_ANGLE], u[_D_TURN], u[_D_PAUSE], u[_D_CLIMB], u[_D_DIRECTION],
    )  # fmt: skip
    for k in range(work.result.size):
        work.result[k] = 0.0
    camera_count = cameras.bearing_rad.size
    for camera in range(camera_count):
        work.camera_pd[camera] = 0.0
        work.in_view[camera] = 0
    event_count = find_events(scene, track, work.events)
    phase = u[_D_PHASE]
    first, last = arm_looks(plan, track, phase, event_count, work)
    if first < 0:
        return decision, first, last, 0, False
    stature = quantile(intruder.quantity[STATURE_M], intruder.choice, u[_D_STATURE])
    depth_share = math.nan
    if gait <= CROUCH:
        depth_share = quantile(intruder.depth_share[gait], intruder.choice, u[_D_DEPTH])
    clo, dry_emissivity, bare = draw_clothing(intruder, air, u[_D_CLO], u[_D_EMISSIVITY], u[_D_BARE])
    clothing_k, skin_k = surface_temperatures(air, speed, clo, dry_emissivity)
    fill_radiances(work.radiance, plan.bands, air, scene.ground_emissivity, clothing_k, skin_k, dry_emissivity, bare)
    work.result[ARMED] = 1.0
    rendered = 0
    seen = False
    judged = gated(decision)
    # First what the rules hear; then, only when that saw nothing, what they do not: one loop, because its body is inlined once.
    for turn in range(2 * camera_count if all_cameras else camera_count):
        unheard = turn >= camera_count
        if unheard and seen:
            break
        camera = turn - camera_count if unheard else turn
        watching = False
        for look in range(last - first + 1):
            if unheard:
                watching = watching or work.watched[look] > work.needed[camera, look]
            else:
                watching = watching or work.needed[camera, look] != 0
        if not watching:
            continue
        draw = np.uint64(combine_keys(keys[0], np.uint64(point)))
        netd = cameras.netd_k[camera] * netd_scale
        if cameras.netd_spread[camera] > 0.0:
            z = normal_quantile(hashed_unit(cameras.key[camera, _NETD], draw))
            netd *= math.exp(cameras.netd_spread[camera] * z)
        noise = temporal_noise_radiance(netd, plan.bands.slope_300k[cameras.band[camera]], 1.0, 0.0, 1.0)
        pose, optics = pose_of(work.poses, camera), optics_of(cameras, camera)
        fill_drawn_pose(cameras, camera, draw, pose)
        forget_looks(work, camera)
        for look in range(last - first + 1):
            if unheard:
                if seen or work.watched[look] <= work.needed[camera, look]:
                    continue
            else:
                work.cycles[camera, look] = 0.0
                work.passes[camera, look] = 0.0
                work.perfect[camera, look] = 0.0
                if not work.needed[camera, look]:
                    continue
            motion = place_at(track, (phase + first + look) / decision.looks_per_s)
            body_height, breadth, depth = body_size_m(motion.posture, stature, depth_share)
            body = Body(motion, body_height, breadth, depth)
            if not look_at_body(plan, optics, pose, body, air, work.radiance, noise, work):
                continue
            rendered += 1
            seen = seen or work.look[PIXELS_IN_VIEW] >= decision.min_pixels
            if unheard:
                continue
            work.cycles[camera, look] = work.look[CYCLES]
            work.passes[camera, look] = work.look[P_LOOK]
            work.perfect[camera, look] = work.look[CYCLES_PERFECT]
            if work.look[PIXELS_IN_VIEW] >= decision.min_pixels:
                work.in_view[camera] = 1
            if judged and motion.base < pose.position[2]:
                # Somebody up on the fence seems to stand farther out, as in `seen.seen_ground`; as high as the camera, nowhere.
                stretch = pose.position[2] / (pose.position[2] - motion.base)
                x = pose.position[0] + (motion.x - pose.position[0]) * stretch
                y = pose.position[1] + (motion.y - pose.position[1]) * stretch
                note_look(work, camera, work.look[CYCLES], motion.base <= 0.0, x, y)
        if judged:
            judge(work, camera, pose, optics, decision, 1.0, 1.0)
    return decision, first, last, rendered, seen


@compiled_inline
def cross_once(plan, cells, cell, point, keys, netd_scale, all_cameras, work):
    """One crossing into work.result and work.camera_pd; returns the number of looks rendered. Arguments: `render_crossing`."""
    decision, first, last, rendered, seen = render_crossing(plan, cells, cell, point, keys, netd_scale, all_cameras, work)
    if first < 0:
        return 0
    cameras = plan.cameras
    integrate_crossing(
        work, cameras.bearing_rad.size, cameras.post, np.int64(0), last - first, decision, gated(decision), work.result,
        work.camera_pd,
    )  # fmt: skip
    work.result[ANY_VIEW] = 1.0 if seen else work.result[IN_VIEW]
    return rendered


@compiled_alone
def run_jobs(plan, cells, variable_keys, sobol, job_cell, job_replicate, job_first, job_last, netd_scale, max_looks, sums):
    """Run jobs one after another, adding to sums (jobs, SUM_CAMERA + cameras): row j belongs to job j alone."""
    plan, cells = borrow(plan), borrow(cells)
    camera_count = plan.cameras.bearing_rad.size
    variables = variable_keys.size
    owned = make_work(
        camera_count, plan.bands.low_um.size, plan.decision.node_z.size, plan.decision.confirm_n - 1, variables, max_looks
    )
    work = borrow(owned)
    for job in range(job_cell.size):
        cell = job_cell[job]
        replicate_key = np.uint64(combine_keys(cells.key[cell], np.uint64(job_replicate[job])))
        stratum = (replicate_key, replicate_key, replicate_key)
        for v in range(variables):
            work.keys[v] = combine_keys(replicate_key, variable_keys[v])
        row = sums[job]
        for point in range(job_first[job], job_last[job]):
            draw_units(work, sobol[point], variables)
            rendered = cross_once(plan, cells, cell, point, stratum, netd_scale, True, work)
            row[SUM_PD] += work.result[PD]
            row[SUM_IN_VIEW] += work.result[IN_VIEW]
            row[SUM_RESOLVED] += work.result[RESOLVED]
            row[SUM_CONFIRMED] += work.result[CONFIRMED]
            row[SUM_DEPTH] += work.result[DEPTH]
            row[SUM_DELAY] += work.result[DELAY]
            row[SUM_LOOKS] += rendered
            row[SUM_ARMED] += work.result[ARMED]
            row[SUM_ANY_VIEW] += work.result[ANY_VIEW]
            row[SUM_UNGATED] += work.result[UNGATED]
            for camera in range(camera_count):
                row[SUM_CAMERA + camera] += work.camera_pd[camera]
    keep_alive(owned)
