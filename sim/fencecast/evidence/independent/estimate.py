"""Crossings of one segment in one weather class, and their averages."""

from dataclasses import dataclass

import numpy as np
from scipy.special import ndtri

from fencecast.evidence.independent.combine import crossing_outcome
from fencecast.evidence.independent.corners import inner_angle_deg
from fencecast.evidence.independent.explain import conditions_for, weather_values
from fencecast.evidence.independent.look import render
from fencecast.evidence.independent.optics import Eye
from fencecast.evidence.independent.path import Path, events_of, outgoing_run_m, turned
from fencecast.evidence.independent.scene import Scene
from fencecast.evidence.independent.site_reader import DECISION, read_site
from fencecast.evidence.independent.surfaces import median_clo

CAUSES = ("no rule there", "not in view", "too small", "too brief", "washed out")
# Drawn once for an installation: the first four for each camera.
INSTALLATION = ("bearing", "depression", "height", "netd", *DECISION)


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
    shares = {key: share(key) for key in intruder["draws"]}
    person = {key: quantity.at(shares[key]) for key, quantity in intruder["draws"].items()}
    person["approach_share"] = shares["approach_angle_deg"]
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
    vertex, edge, inward, in_gate = section.place(low + (high - low) * share("position"))
    outwards = share("direction") < site.reversed_share()
    heading_in = turned(-inward if outwards else inward, np.deg2rad(person["approach_angle_deg"]))
    heading_out = turned(heading_in, np.deg2rad(person["turn_deg"]))
    # Only the inner leg is kept inside; the path bends at the vertex where that changes it.
    turn_deg = 0.0 if outwards else person["turn_deg"]
    angle = site.intruder["draws"]["approach_angle_deg"]
    inner_deg = inner_angle_deg(angle, person["approach_share"], turn_deg, site.corners[section.name, edge], vertex)
    if inner_deg != person["approach_angle_deg"] + turn_deg:
        to_inside = turned(inward, np.deg2rad(inner_deg))
        if outwards:
            heading_in = -to_inside
        else:
            heading_out = to_inside
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


def look_times_s(site, path, phase):
    """Times of all looks of a crossing (n,)."""
    ceiling = int(np.floor(path.end_s * site.looks_per_s - phase))
    return (np.arange(max(ceiling + 1, 0)) + phase) / site.looks_per_s


def with_looks_before(armed, confirm):
    """Which looks matter: the armed ones (n,) and the n - 1 before each."""
    needed = armed.copy()
    for back in range(1, confirm[1]):
        needed[:-back] |= armed[back:]
    return needed


def camera_view(site, scene, eye, path, events, phase, conditions):
    """Seen, or None when this camera is never armed in this crossing."""
    mine = [event for event in events if eye.camera.mark in event.cameras]
    times = look_times_s(site, path, phase)
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
    index = np.flatnonzero(with_looks_before(armed, site.confirm))
    scored = render(eye, scene, path.pose_at(times[index]), conditions)
    full = {name: np.zeros(len(times)) for name in ("cycles", "p_look", "in_view", "cycles_perfect")}
    for name, values in full.items():
        values[index] = scored[name]
    span = slice(index[0], index[-1] + 1)
    return Seen(times[span], alarm[span], depth[span], delay[span], armed[span], **{k: v[span] for k, v in full.items()})


def armed_looks(site, path, events, phase):
    """Which looks some rule is armed at, whichever cameras it hears (n,)."""
    times = look_times_s(site, path, phase)
    armed = np.zeros(len(times), bool)
    for event in events:
        armed |= (times >= event.from_s) & (times <= event.to_s)
    return armed


def in_view_of_any(site, scene, eyes, path, armed, phase):
    """Whether any camera, heard or not, has the body in view at an armed look or one of the n - 1 before."""
    times = look_times_s(site, path, phase)[with_looks_before(armed, site.confirm)]
    pose = path.pose_at(times)
    return any(np.any(render(eye, scene, pose, conditions)["in_view"] >= site.min_pixels) for eye, conditions in eyes.values())


def one_crossing(site, scene, weather, segment, share):
    """Outcome of one crossing. share: function from the name of a variable (and a camera's mark) to a number in (0, 1),
    the share of its distribution that lies below the drawn value: fresh random numbers, or chosen ones. Answering for
    `INSTALLATION` always with the same numbers makes crossings of one installation."""
    values = weather_values(weather, share)
    person = draw_person(site, values, share)
    path = draw_path(site, scene, segment, person, share)
    phase = share("look_phase")
    decided = site.decide(share)
    events = events_of(site, path)
    views, eyes = {}, {}
    for camera in site.cameras:
        errors = ndtri([share(name, camera.mark) for name in ("bearing", "depression", "height", "netd")])
        spread = site.tolerance | camera.own_errors
        eye = Eye(
            camera,
            camera.bearing + spread["bearing"] * errors[0],
            camera.depression + spread["depression"] * errors[1],
            camera.height_m + spread["height_m"] * errors[2],
        )
        netd_factor = np.exp(camera.netd_spread * errors[3])
        conditions = conditions_for(site, camera, values, person, person["speed_m_s"], netd_factor, decided)
        eyes[camera.mark] = (eye, conditions)
        views[camera.mark] = camera_view(site, scene, eye, path, events, phase, conditions)
    outcome = crossing_outcome(site, views, decided)
    armed = armed_looks(site, path, events, phase)
    outcome["A"] = float(np.any(armed))
    outcome["V_all"] = outcome["V"]
    if outcome["A"] > outcome["V"]:
        outcome["V_all"] = float(in_view_of_any(site, scene, eyes, path, armed, phase))
    return outcome


def simulate(site, weather_name, segment_index, crossings, rng, installation=None):
    """Averages over random crossings of one segment in one weather class.

    site: path, dict or SiteNumbers; segment_index counts over the sections in file order, then by chainage; rng: numpy
    Generator; installation: share function for the variables of `INSTALLATION`, the same in all crossings (None: an
    installation per crossing). Returns pd, se, pd_camera {mark: (pd, se)}, miss_share {cause: share}, alarm_depth_m,
    alarm_delay_s (means given an alarm; NaN when none), their standard errors, crossings. All NaN for a section that no rule
    watches."""
    site = read_site(site)
    segment = site.segments[segment_index]
    marks = [camera.mark for camera in site.cameras]
    if not any(segment[0].name in rule.watches for rule in site.rules):
        return no_data(marks)
    scene, weather = Scene(site), site.weather[weather_name]

    def share(name, mark=None):
        return installation(name, mark) if installation is not None and name in INSTALLATION else rng.random()

    return averages([one_crossing(site, scene, weather, segment, share) for _ in range(crossings)], marks)


def averages(outcomes, marks):
    """The dict of simulate() from the outcomes of single crossings."""
    root = np.sqrt(len(outcomes))
    column = {
        key: np.array([outcome[key] for outcome in outcomes]) for key in ("pd", "A", "V_all", "V", "R", "B", "depth", "delay")
    }
    pd = column["pd"]
    lost = {
        "no rule there": (1.0 - column["A"]) + (column["V_all"] - column["V"]),
        "not in view": column["A"] - column["V_all"],
        "too small": column["V"] - column["R"],
        "too brief": column["R"] - column["B"],
        "washed out": column["B"] - pd,
    }

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
