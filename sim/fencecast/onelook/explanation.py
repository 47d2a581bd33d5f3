"""The budget of one look: every factor between a warm torso and a look that counts."""

from __future__ import annotations

import math
from os import PathLike
from typing import Any

import numpy as np

from fencecast.cautions import CAUTION, not_modelled
from fencecast.kernels.look import AREA_PX, BLUR_U, BLUR_V, CLUTTER, CYCLES, P_LOOK, PIXELS_IN_VIEW, RANGE_M, SEEN_SHARE, SHADOW_M
from fencecast.kernels.render import PARTS
from fencecast.kernels.sight import obstacle_behind
from fencecast.onelook.accepted import acceptance
from fencecast.onelook.bodyrungs import body_numbers, part_numbers
from fencecast.onelook.budget import TORSO, rungs_of
from fencecast.onelook.drawing import frame, mean_passed, most_passed, sigma_of
from fencecast.onelook.fences import fences_between, left_of_contrast
from fencecast.onelook.hiding import hidden_share, hiders, outside_of, person_px
from fencecast.onelook.phrases import Phrase, joined, metres, plain
from fencecast.onelook.scene import Look, described_classes, set_up_look
from fencecast.onelook.scenery import horizon, scenery
from fencecast.physics.air import gas_transmission
from fencecast.physics.detector import normal_cdf_array
from fencecast.physics.discrimination import discrimination_probability
from fencecast.site import Site, as_site
from fencecast.units import ZERO_CELSIUS_K


def explain(
    site: Site | str | PathLike[str],
    camera: str,
    weather: str,
    distance_m: float | None = None,
    gait: str = "walk",
    place_m: tuple[float, float] | None = None,
    body: str | None = None,
) -> dict[str, Any]:
    """One look, step by step, every varying quantity at its median; the object of `fencecast explain --json`.

    The person is on the camera's bearing at `distance_m` [m along the ground], or at `place_m` (x, y) [m], moving across the view
    to the right. body: name of a `[[stimulus]]` of the site, or of a kind of body ("fox") as it comes, which then stands there
    instead. Kelvin of contrast is radiance over dL/dT(300 K), as NETD is stated. The numbers come from the kernel that `run`
    uses; only pixel peaks are from a float64 drawing of the same frame. `hidden_by`, `outside`, `others` and `scenery` say what
    is in the way, where a person out of the picture is, what other cameras have of the person, and what stands in the picture;
    `acceptance` whether what is seen is taken for a person.
    """
    site = as_site(site)
    classes = described_classes(site)
    look = set_up_look(site, camera, weather, distance_m, gait, classes, place_m, body)
    numbers = _numbers(look) | surroundings(look)
    numbers["rungs"] = rungs_of(look, numbers)
    numbers["others"] = [
        _from_camera(set_up_look(site, other.mark, weather, None, gait, classes, numbers["place_m"], body))
        for other in site.camera
        if other.mark != camera and math.dist(other.position_m, numbers["place_m"]) >= 0.1
    ]
    numbers["not_modelled"] = list(not_modelled(body is not None, site.calibration is not None))
    numbers["caution"] = CAUTION
    return numbers


def surroundings(look: Look) -> dict[str, Any]:
    """What is between the camera and the person, where a person out of the picture is, and what stands in the picture."""
    found = hiders(look)
    hidden = hidden_share(look, found)
    outside = () if look.drawn else outside_of(look)
    return {
        "place_m": [float(look.body.motion.x), float(look.body.motion.y)],
        "hidden_by": [each._asdict() for each in found],
        "hidden_share": hidden,
        "outside": [each._asdict() for each in outside],
        "person_px": person_px(look),
        "frame_px": [int(look.plan.cameras.columns[look.camera_index]), int(look.plan.cameras.rows[look.camera_index])],
        "scenery": [
            {**shape._asdict(), "faces": [np.round(face, 1).tolist() for face in shape.faces]}
            for shape in scenery(look.site, look.camera)
        ],
        "horizon_px": [np.round(line, 1).tolist() for line in horizon(look.site, look.camera)],
    }


def _from_camera(look: Look) -> dict[str, Any]:
    """What another camera has of the person at the same place."""
    found = hiders(look)
    return {
        "camera": look.camera.mark,
        "in_frame": look.drawn,
        "p_counts": look_counts(look),
        "hidden_share": hidden_share(look, found),
        "hidden_by": [each.name for each in found if each.solid],
        "outside": [] if look.drawn else [each._asdict() for each in outside_of(look)],
    }


def look_counts(look: Look) -> float:
    """Chance that a look counts: enough pixels pass, enough detail to classify, and size and shape are taken for a person's."""
    if not look.drawn:
        return 0.0
    ratio = look.result[CYCLES] / look.plan.decision.cycles_50
    return float(look.result[P_LOOK] * discrimination_probability(ratio)) * (acceptance(look).accepted or 0.0)


def transmissions(look: Look, distance_m: float) -> dict[str, float]:
    """Transmission of each part of the air over a distance: gas, fog (or haze), rain, snow."""
    air = look.air
    return {
        "gas": float(gas_transmission(distance_m, air.vapour_g_m3)),
        "fog": math.exp(-air.fog_per_m * distance_m),
        "rain": math.exp(-air.rain_per_m * distance_m),
        "snow": math.exp(-air.snow_per_m * distance_m),
    }


def _numbers(look: Look) -> dict:
    air, result, decision = look.air, look.result, look.plan.decision
    slant = float(result[RANGE_M])
    tau = transmissions(look, slant)
    drawing = frame(look)
    edges = look.work.edges[PARTS]
    rectangle = [float(e) for e in edges] if look.drawn else None
    middle = (0.5 * (edges[0] + edges[1]), 0.5 * (edges[2] + edges[3])) if look.drawn else None
    noise = float(look.noise_at(*middle)) if look.drawn else float(look.noise)
    clutter = float(result[CLUTTER]) if look.drawn else 0.0
    sigma = float(sigma_of(look, noise))
    kelvin = look.slope_300k
    snr = abs(drawing["contrast"]) / drawing["sigma"]
    cycles = float(result[CYCLES])
    motion, position = look.body.motion, look.pose.position
    p_discriminate = float(discrimination_probability(cycles / decision.cycles_50))
    subject = look.subject
    behind = look.background_range_m(0.5 * look.body.height)
    return {
        "camera": look.camera.mark,
        "lens": look.camera.lens,
        "weather": look.weather.name,
        "who": subject.noun,
        "part": subject.part,
        "gait": look.gait if subject.is_person else None,
        "body": body_numbers(look),
        "distance_m": look.distance_m,
        "in_frame": look.drawn,
        "range_m": slant,
        "water_vapour_g_m3": float(air.vapour_g_m3),
        "tau_gas": tau["gas"],
        "tau_fog": tau["fog"],
        "tau_rain": tau["rain"],
        "tau_snow": tau["snow"],
        "tau_window": float(air.window),
        "tau": math.prod(tau.values()) * float(air.window),
        "background_range_m": behind if math.isfinite(behind) else None,
        "air_temperature_c": air.air_temperature_k - ZERO_CELSIUS_K,
        "ground_temperature_c": air.ground_temperature_k - ZERO_CELSIUS_K,
        "drop_radius_um": float(air.drop_radius_um) if look.weather.fog != "none" else None,
        "clo": float(look.clo) if subject.is_person else None,
        "speed_m_s": float(look.speed_m_s),
        "parts": [
            {**part, "contrast_w_m2_sr": float(look.work.contrast[k]) * mean_passed(look, k) if look.drawn else 0.0}
            for k, part in enumerate(part_numbers(look))
        ],
        "noise_w_m2_sr": noise,
        "clutter_w_m2_sr": clutter,
        "noise_k": noise / kelvin,
        "threshold_k": decision.threshold * sigma / kelvin,
        "peak_k": float(abs(drawing["contrast"]).max()) / kelvin,
        "pixels_wide": float(edges[1] - edges[0]) if look.drawn else 0.0,
        "pixels_tall": float(edges[3] - edges[2]) if look.drawn else 0.0,
        "area_px": float(result[AREA_PX]) if look.drawn else 0.0,
        "rectangle_px": rectangle,
        "blur_px": [float(result[BLUR_U]), float(result[BLUR_V])] if look.drawn else None,
        "pixels_in_view": int(result[PIXELS_IN_VIEW]) if look.drawn else 0,
        "n_pixels_expected": float(normal_cdf_array(snr - decision.threshold)[drawing["in_view"]].sum()),
        "shadow_height_m": float(result[SHADOW_M]) if look.drawn and result[SHADOW_M] > 0.0 else None,
        "obstacle_behind": bool(obstacle_behind(look.plan.scene, *position, motion.x, motion.y, look.part_middle_m(TORSO))),
        "barrier_factor": most_passed(look, TORSO),
        "fences": [fence._asdict() for fence in fences_between(look)] if look.drawn else [],
        "passes_fences": left_of_contrast(look) if look.drawn else 1.0,
        "peak_snr": float(snr.max()),
        "seen_share": float(result[SEEN_SHARE]) if look.drawn else 0.0,
        "cycles": cycles,
        "p_look": float(result[P_LOOK]),
        "p_discriminate": p_discriminate,
        "p_counts": look_counts(look),
        "acceptance": acceptance(look)._asdict(),
        **fog_phrase(look).keys("fog_text"),
    }


def fog_phrase(look: Look) -> Phrase:
    """What is in the air, in words: 'optical range 70 m', 'rain 8 mm/h'; '' for clear air."""
    w, words = look.weather, []
    convention = "optical range" if w.visibility_convention == "optical_range" else "visual range"
    if w.fog != "none" or (look.air.snow_per_m > 0.0 and w.visibility_given):
        words.append(joined(f"{convention} {{}}", metres(w.visibility_m.middle())))
    if look.air.rain_per_m > 0.0:
        words.append(plain(f"rain {w.rain_mm_h.middle():.3g} mm/h"))
    if look.air.snow_per_m > 0.0 and not w.visibility_given:
        words.append(plain(f"snow {w.snow_mm_h.middle():.3g} mm/h of water"))
    return joined(", ".join(["{}"] * len(words)), *words)
