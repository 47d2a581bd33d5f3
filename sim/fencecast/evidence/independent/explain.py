"""One look at medians, and what each camera's lens can do."""

import numpy as np
from scipy.special import comb, ndtr
from scipy.stats import binom

from fencecast.evidence.independent.air import extinctions, gas_transmission, water_vapour_g_m3, window_transmission
from fencecast.evidence.independent.body import PART_NAMES, box, silhouette
from fencecast.evidence.independent.discrimination import cycles_ratio_at, discriminate
from fencecast.evidence.independent.look import (
    Conditions,
    Pose,
    fence_bands,
    geometry,
    mean_slope_weight,
    noise_at,
    part_contrasts,
    part_passed,
    render,
    transmission,
)
from fencecast.evidence.independent.optics import Eye
from fencecast.evidence.independent.scene import Scene
from fencecast.evidence.independent.site_reader import read_site
from fencecast.evidence.independent.surfaces import Surfaces, median_clo


def weather_values(weather, share):
    """One draw of a weather class; share: function from the name of a variable to the share of its distribution below."""
    values = {key: quantity.at(share(key)) for key, quantity in weather["draws"].items()}
    values.update(weather["plain"])
    return values


def conditions_for(site, camera, values, person, speed_m_s, netd_factor, decided):
    """What one camera has, from drawn (or median) values. decided: drawn decision values, see SiteNumbers.decide."""
    surfaces = Surfaces(values, person, speed_m_s, site.ground_emissivity, camera.band_um)
    return Conditions(
        surfaces,
        water_vapour_g_m3(values["air_temperature_c"], values["relative_humidity"]),
        extinctions(values),
        window_transmission(values["window"], camera.band_um, mean_slope_weight),
        values["clutter_k"] * decided["clutter_factor"],
        camera.netd_k * netd_factor,
        decided["threshold_sigma"],
        site.min_pixels,
    )


def one_pose(foot, heading, speed_m_s, gait, stature_m, depth_ratio):
    velocity = np.array([[heading[0] * speed_m_s, heading[1] * speed_m_s, 0.0]])
    return Pose(
        np.array([foot]),
        np.zeros(1),
        np.array([heading]),
        velocity,
        np.array([box(gait, stature_m, depth_ratio)]),
        silhouette(gait)[None],
    )


def explain(site, camera, weather, distance, gait="walk"):
    """One look, every varying quantity at its median: the person on the camera's bearing at `distance` metres along
    the ground, moving across the view to the right. The contract's keys without `rungs` (a matter of presentation)."""
    site = read_site(site)
    chosen = next(item for item in site.cameras if item.mark == camera)
    values = weather_values(site.weather[weather], lambda name: 0.5)
    person = {key: quantity.middle() for key, quantity in site.intruder["draws"].items()}
    clo = site.intruder["clo"]
    person["clo"] = median_clo(values["air_temperature_c"]) if clo is None else clo.middle()
    speed = site.intruder["speed"][gait].middle()
    decided = site.decide(lambda name: 0.5)
    conditions = conditions_for(site, chosen, values, person, speed, 1.0, decided)
    eye, scene = Eye(chosen), Scene(site)
    foot = chosen.position + distance * np.array([np.sin(chosen.bearing), np.cos(chosen.bearing)])
    pose = one_pose(foot, eye.right[:2], speed, gait, person["stature_m"], site.intruder["depth_ratio"])
    geo = geometry(eye, pose)
    contrast, shadow, behind, _ = part_contrasts(eye, scene, pose, geo, conditions)
    arriving = contrast * part_passed(pose, *fence_bands(eye, scene, pose))
    scored = render(eye, scene, pose, conditions)
    surfaces = conditions.surfaces
    range_m = float(geo["range_m"][0])
    middle_z = 0.5 * pose.box[0, 2]
    fog, rain, snow = conditions.extinction
    temperatures = [surfaces.head_c] + [surfaces.cloth_c] * 3
    emissivities = [surfaces.head_emissivity] + [surfaces.cloth_emissivity] * 3
    tau = float(transmission(conditions, range_m))
    return {
        "range_m": range_m,
        "water_vapour_g_m3": conditions.vapour_g_m3,
        "tau_gas": float(gas_transmission(range_m, conditions.vapour_g_m3)),
        "tau_fog": float(np.exp(-fog * range_m)),
        "tau_rain": float(np.exp(-rain * range_m)),
        "tau_snow": float(np.exp(-snow * range_m)),
        "tau_window": conditions.window,
        "tau": tau,
        "background_range_m": range_m * eye.height_m / (eye.height_m - middle_z) if eye.height_m > middle_z else None,
        "air_temperature_c": surfaces.air_c,
        "ground_temperature_c": surfaces.ground_c,
        "parts": [
            {
                "name": name,
                "temperature_c": float(temperatures[k]),
                "emissivity": float(emissivities[k]),
                "contrast_w_m2_sr": float(arriving[0, k]),
            }
            for k, name in enumerate(PART_NAMES)
        ],
        "noise_w_m2_sr": float(noise_at(eye, conditions, *geo["mid_uv"])[0]),
        "clutter_w_m2_sr": tau * conditions.clutter_k * surfaces.ground_slope,
        "pixels_wide": float(geo["wide_px"][0]),
        "pixels_tall": float(geo["tall_px"][0]),
        "peak_snr": float(scored["peak_snr"][0]),
        "seen_share": float(scored["seen_share"][0]),
        "cycles": float(scored["cycles"][0]),
        "cycles_perfect": float(scored["cycles_perfect"][0]),
        "p_look": float(scored["p_look"][0]),
        "p_discriminate": float(discriminate(scored["cycles"][0] / site.cycles_50)),
        "blur_px": [float(geo["blur_x"][0]), float(geo["blur_y"][0])],
        "shadow_height_m": float(shadow[0]) if np.isfinite(shadow[0]) else None,
        "backdrop": bool(np.any(behind[0])),
        "speed_m_s": speed,
        "clo": person["clo"],
        "emissivity_clothing": person["clothing_emissivity"],
    }


def ranges(site):
    """What each camera's lens can do: the contract's list, one dict a camera."""
    site = read_site(site)
    return [_range_of(site, camera) for camera in site.cameras]


def _range_of(site, camera):
    focal = camera.focal_px
    if camera.projection == "rectilinear":
        fields = [2.0 * np.arctan(count / (2.0 * focal)) for count in (camera.columns, camera.rows)]
    else:
        fields = [count / focal for count in (camera.columns, camera.rows)]
    low = camera.depression + 0.5 * fields[1]
    high = camera.depression - 0.5 * fields[1]
    blind = {}
    for name, z in (("feet", 0.0), ("waist", 1.0), ("head", 1.8)):
        if low <= 0.0:
            blind[name] = "undefined"
        else:
            none = low >= 0.5 * np.pi or camera.height_m <= z
            blind[name] = None if none else (camera.height_m - z) / np.tan(low)
    size = np.sqrt(1.8 * 0.5)
    confirm, last = site.confirm
    windows = camera.columns * camera.rows / 64.0
    by_noise = binom.sf(site.min_pixels - 1, 64, float(ndtr(-site.decision["threshold_sigma"].middle())))
    alarms = windows * site.looks_per_s * 86400.0 * comb(last - 1, confirm - 1)
    alarms *= by_noise**confirm * (1.0 - by_noise) ** (last - confirm + 1)
    return {
        "mark": camera.mark,
        "ifov_mrad": 1e3 / focal,
        "horizontal_field_deg": np.rad2deg(fields[0]),
        "vertical_field_deg": np.rad2deg(fields[1]),
        "blind_m": blind,
        "head_leaves_frame_m": (camera.height_m - 1.8) / np.tan(high) if high > 0.0 else None,
        "pixels_on_person": {str(d): 1.8 * focal / d for d in (10, 20, 30, 60)},
        "cycles_range_m": {n: 0.25 * focal / float(n) for n in ("1.0", "4.0", "6.4")},
        "cycles_2d_range_m": {n: 0.375 * focal / float(n) for n in ("0.75", "3", "6")},
        "range_50_m": 0.5 * size * focal / (site.cycles_50 * cycles_ratio_at(0.5)),
        "range_90_m": 0.5 * size * focal / (site.cycles_50 * cycles_ratio_at(0.9)),
        "noise_alarms_per_day": float(alarms),
    }
