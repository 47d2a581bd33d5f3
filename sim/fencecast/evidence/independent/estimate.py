"""Crossings of one segment in one weather class, and their averages."""

from dataclasses import dataclass

import numpy as np
from scipy.special import ndtri

from fencecast.evidence.independent.chain import best_confirmed, first_confirmed
from fencecast.evidence.independent.discrimination import discriminate, encounter_nodes, threshold_below
from fencecast.evidence.independent.explain import conditions_for, weather_values
from fencecast.evidence.independent.look import render
from fencecast.evidence.independent.optics import Eye
from fencecast.evidence.independent.path import Path, events_of, outgoing_run_m, turned
from fencecast.evidence.independent.scene import Scene
from fencecast.evidence.independent.site_reader import read_site
from fencecast.evidence.independent.surfaces import median_clo

CAUSES = ("not in view", "too small", "too brief", "washed out")


@dataclass
class Seen:
    """What one camera makes of one crossing: look times and its chances."""

    times_s: np.ndarray
    alarm_s: np.ndarray  # alarm time if this look is the first confirmed one
    depth_m: np.ndarray
    delay_s: np.ndarray
    armed: np.ndarray
    cycles: np.ndarray
    p_look: np.ndarray
    in_view: np.ndarray
    cycles_perfect: np.ndarray


def draw_person(site, weather_draw, share):
    intruder = site.intruder
    person = {key: quantity.at(share(key)) for key, quantity in intruder["draws"].items()}
    reached = np.cumsum(intruder["gait_shares"]) / np.sum(intruder["gait_shares"])
    gait = min(int(np.searchsorted(reached, share("gait"), side="right")), len(reached) - 1)
    person["gait"] = intruder["gait_names"][gait]
    person["speed_m_s"] = intruder["speed"][person["gait"]].at(share("speed_m_s"))
    if intruder["clo"] is not None:
        person["clo"] = intruder["clo"].at(share("clo"))
    else:
        person["clo"] = median_clo(weather_draw["air_temperature_c"]) * np.exp(0.2 * ndtri(share("clo")))
    person["depth_ratio"] = intruder["depth_ratio"]
    return person


def draw_path(site, scene, segment, person, share):
    section, low, high = segment
    vertex, inward, in_gate = section.place(low + (high - low) * share("position"))
    travel = -inward if share("direction") < site.reversed_share() else inward
    heading_in = turned(travel, np.deg2rad(person["approach_angle_deg"]))
    heading_out = turned(heading_in, np.deg2rad(person["turn_deg"]))
    climb_s = 0.0
    if section.barrier != "none" and not in_gate:
        if site.intruder["climb_s"] is not None:
            climb_s = site.intruder["climb_s"].at(share("climb_s"))
        else:
            climb_s = 6.0 * section.height_m / 2.4 * np.exp(0.4 * ndtri(share("climb_s")))
    run_in = min(site.intruder["path_m"], scene.free_run_m(vertex, -heading_in))
    run_out = outgoing_run_m(site, scene, vertex, heading_out, site.intruder["path_m"])
    return Path(
        vertex,
        heading_in,
        heading_out,
        run_in,
        run_out,
        person["speed_m_s"],
        person["pause_s"],
        climb_s,
        section.height_m,
        person,
    )


def camera_view(site, scene, eye, path, events, phase, conditions):
    """Seen, or None when this camera is never armed in this crossing."""
    mine = [event for event in events if eye.camera.mark in event.cameras]
    rate, last = site.looks_per_s, site.confirm[1]
    ceiling = int(np.floor(path.end_s * rate - phase))
    times = (np.arange(max(ceiling + 1, 0)) + phase) / rate
    alarm = np.full(len(times), np.inf)
    depth, delay = np.zeros(len(times)), np.zeros(len(times))
    for event in mine:
        within = (times >= event.from_s) & (times <= event.to_s)
        at = np.maximum(times, event.armed_s)
        earlier = within & (at < alarm)
        if np.any(earlier):
            place = path.foot_at(at[earlier])
            depth[earlier] = np.maximum((place - event.origin) @ event.normal, 0.0)
            delay[earlier] = at[earlier] - event.armed_s
            alarm[earlier] = at[earlier]
    armed = np.isfinite(alarm)
    if not np.any(armed):
        return None
    needed = armed.copy()
    for back in range(1, last):
        needed[:-back] |= armed[back:]
    index = np.flatnonzero(needed)
    scored = render(eye, scene, path.pose_at(times[index]), conditions)
    full = {name: np.zeros(len(times)) for name in ("cycles", "p_look", "in_view", "cycles_perfect")}
    for name, values in full.items():
        values[index] = scored[name]
    span = slice(index[0], index[-1] + 1)
    return Seen(times[span], alarm[span], depth[span], delay[span], armed[span], **{k: v[span] for k, v in full.items()})


def alarm_steps(site, seen):
    """(levels, first): N_th levels (k,) in rising order, and for N_th just at each level the chance that the first
    confirmed look is look j (k, looks)."""
    counting = (seen.p_look > 0.0) & (seen.cycles > 0.0)
    levels = np.unique(seen.cycles[counting])
    hit = np.where(seen.cycles[None, :] >= levels[:, None], seen.p_look[None, :], 0.0)
    return levels, first_confirmed(hit, seen.armed, site.confirm)


def crossing_outcome(site, views):
    """Pd, camera Pds and ladder of one crossing with N_th integrated.

    views: {mark: Seen or None}. Returns dict with pd, camera {mark: pd}, V, R, B, depth and delay (both times the
    alarm's probability)."""
    z, weight = encounter_nodes(site.correlation)
    missed = np.ones(len(z))
    not_recognised, not_brief = np.ones(len(z)), np.ones(len(z))
    viewed, camera, masses = 0.0, {}, []
    for mark, seen in views.items():
        camera[mark] = 0.0
        if seen is None:
            continue
        levels, first = alarm_steps(site, seen)
        if len(levels):
            marginal = np.diff(discriminate(levels / site.cycles_50), prepend=0.0)
            camera[mark] = float(marginal @ first.sum(axis=1))
            share = np.diff(threshold_below(levels, site.cycles_50, site.correlation, z), axis=1, prepend=0.0)
            by_look = share @ first
            missed *= 1.0 - np.minimum(by_look.sum(axis=1), 1.0)
            masses.append((seen, by_look))
        enough = seen.in_view >= site.min_pixels
        viewed = max(viewed, float(np.any(enough)))
        perfect = np.where(enough, seen.cycles_perfect, 0.0)
        limits = [np.max(perfect), best_confirmed(perfect, seen.armed, site.confirm)]
        reach = threshold_below(np.array(limits), site.cycles_50, site.correlation, z)
        not_recognised *= 1.0 - reach[:, 0]
        not_brief *= 1.0 - reach[:, 1]
    depth, delay = alarm_moments(masses, weight)
    return {
        "pd": float(weight @ (1.0 - missed)),
        "camera": camera,
        "V": viewed,
        "R": float(weight @ (1.0 - not_recognised)),
        "B": float(weight @ (1.0 - not_brief)),
        "depth": depth,
        "delay": delay,
    }


def alarm_moments(masses, weight):
    """Sums of depth and delay over alarm times, weighted by the chance that the earliest camera alarms then."""
    if not masses:
        return 0.0, 0.0
    moments = {}
    for seen, _ in masses:
        for at, depth, delay in zip(seen.alarm_s[seen.armed], seen.depth_m[seen.armed], seen.delay_s[seen.armed]):
            moments.setdefault(float(at), (depth, delay))
    times = np.array(sorted(moments))
    silent = np.ones((len(weight), len(times)))
    for seen, by_look in masses:
        slot = np.searchsorted(times, seen.alarm_s[seen.armed])
        added = np.zeros((len(weight), len(times)))
        np.add.at(added, (slice(None), slot), by_look[:, seen.armed])
        silent *= 1.0 - np.minimum(np.cumsum(added, axis=1), 1.0)
    here = -np.diff(silent, axis=1, prepend=1.0)
    chance = weight @ here
    depths, delays = np.array([moments[t] for t in times]).T
    return float(chance @ depths), float(chance @ delays)


def one_crossing(site, scene, weather, segment, share):
    """Outcome of one crossing. share: function from the name of a variable (and a camera's mark) to a number in (0, 1),
    the share of its distribution that lies below the drawn value: fresh random numbers, or chosen ones."""
    values = weather_values(weather, share)
    person = draw_person(site, values, share)
    path = draw_path(site, scene, segment, person, share)
    phase = share("look_phase")
    events = events_of(site, path)
    views = {}
    for camera in site.cameras:
        errors = ndtri([share(name, camera.mark) for name in ("bearing", "depression", "height", "netd")])
        if not any(camera.mark in event.cameras for event in events):
            views[camera.mark] = None
            continue
        eye = Eye(
            camera,
            camera.bearing + site.tolerance["bearing"] * errors[0],
            camera.depression + site.tolerance["depression"] * errors[1],
            camera.height_m + site.tolerance["height_m"] * errors[2],
        )
        netd_factor = np.exp(camera.netd_spread * errors[3])
        conditions = conditions_for(site, camera, values, person, person["speed_m_s"], netd_factor)
        views[camera.mark] = camera_view(site, scene, eye, path, events, phase, conditions)
    return crossing_outcome(site, views)


def simulate(site, weather_name, segment_index, crossings, rng):
    """Averages over random crossings of one segment in one weather class.

    site: path, dict or SiteNumbers; segment_index counts over the sections in file order, then by chainage; rng: numpy
    Generator. Returns pd, se, pd_camera {mark: (pd, se)}, miss_share {cause: share}, alarm_depth_m, alarm_delay_s (means
    given an alarm; NaN when none), their standard errors, crossings. All NaN for a section that no rule watches."""
    site = read_site(site)
    segment = site.segments[segment_index]
    marks = [camera.mark for camera in site.cameras]
    if not any(segment[0].name in rule.watches for rule in site.rules):
        return no_data(marks)
    scene, weather = Scene(site), site.weather[weather_name]
    outcomes = [one_crossing(site, scene, weather, segment, lambda *name: rng.random()) for _ in range(crossings)]
    return averages(outcomes, marks)


def averages(outcomes, marks):
    """The dict of simulate() from the outcomes of single crossings."""
    root = np.sqrt(len(outcomes))
    column = {key: np.array([outcome[key] for outcome in outcomes]) for key in ("pd", "V", "R", "B", "depth", "delay")}
    pd = column["pd"]
    rungs = [np.ones(len(pd)), column["V"], column["R"], column["B"], pd]
    lost = {cause: rungs[k] - rungs[k + 1] for k, cause in enumerate(CAUSES)}

    def mean_and_error(values):
        return float(np.mean(values)), float(np.std(values, ddof=1) / root)

    def given_alarm(values):
        if np.sum(pd) <= 0.0:
            return float("nan"), float("nan")
        ratio = np.sum(values) / np.sum(pd)
        return float(ratio), float(np.std(values - ratio * pd, ddof=1) / np.mean(pd) / root)

    depth, delay = given_alarm(column["depth"]), given_alarm(column["delay"])
    mean, error = mean_and_error(pd)
    return {
        "pd": mean,
        "se": error,
        "pd_camera": {mark: mean_and_error(np.array([outcome["camera"][mark] for outcome in outcomes])) for mark in marks},
        "miss_share": {cause: float(np.mean(values)) for cause, values in lost.items()},
        "miss_share_se": {cause: mean_and_error(values)[1] for cause, values in lost.items()},
        "alarm_depth_m": depth[0],
        "alarm_depth_se_m": depth[1],
        "alarm_delay_s": delay[0],
        "alarm_delay_se_s": delay[1],
        "crossings": len(pd),
    }


def no_data(marks):
    """What simulate() gives for a section that no rule watches."""
    nan = float("nan")
    result = dict.fromkeys(("pd", "se", "alarm_depth_m", "alarm_depth_se_m", "alarm_delay_s", "alarm_delay_se_s"), nan)
    result["pd_camera"] = dict.fromkeys(marks, (nan, nan))
    result["miss_share"], result["miss_share_se"] = dict.fromkeys(CAUSES, nan), dict.fromkeys(CAUSES, nan)
    result["crossings"] = 0
    return result
