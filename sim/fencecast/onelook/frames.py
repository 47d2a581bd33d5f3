"""The contrast picture that a camera would see, at a few distances, beside the site's clearest weather class."""

from __future__ import annotations

from collections.abc import Sequence
from os import PathLike
from typing import NamedTuple

import numpy as np

from fencecast.kernels.look import TAU
from fencecast.kernels.render import PARTS
from fencecast.onelook.accepted import acceptance
from fencecast.onelook.drawing import frame, sigma_of
from fencecast.onelook.explanation import look_counts
from fencecast.onelook.hiding import Hider, Outside, hidden_share, hiders, outside_of
from fencecast.onelook.scene import Look, described_classes, set_up_look
from fencecast.onelook.scenery import Shape, horizon, scenery
from fencecast.site import Site, as_site
from fencecast.units import ZERO_CELSIUS_K


class ViewFrame(NamedTuple):
    """One person in one frame; arrays are (rows, columns) of the sensor, contrast in kelvin as NETD is stated."""

    distance_m: float
    weather: str
    comparison: bool
    contrast_k: np.ndarray
    over: np.ndarray
    peak_k: float
    pixels: int
    pixels_over: int
    rectangle_px: tuple[float, float, float, float]
    noise_k: float
    threshold_k: float
    tau: float
    air_temperature_c: float
    ground_temperature_c: float
    torso_temperature_c: float
    visibility_m: float
    camera: str
    lens: str
    gait: str | None
    # What is in the way, the share of the height that solid things hide, and where a person out of the picture is.
    hidden_by: tuple[Hider, ...] = ()
    hidden_share: float = 0.0
    outside: tuple[Outside, ...] = ()
    # What stands in the picture, and the horizon, in pixels from its upper left corner.
    scenery: tuple[Shape, ...] = ()
    horizon: tuple[np.ndarray, ...] = ()
    # Who stands there and what `torso_temperature_c` is of; legs, or wheels and bonnet, of what is no person; the chance that its
    # size and shape are taken for a person's.
    who: str = "person"
    part: str = "torso"
    legs_temperature_c: float | None = None
    accepted: float | None = None


def clearest_weather(site, camera: str, distances_m: Sequence[float], gait: str, classes, body: str | None = None) -> str:
    """The class in which these looks count most (no crossings are simulated here); on a tie the largest torso contrast."""

    def merit(name: str) -> tuple[float, float]:
        looks = [set_up_look(site, camera, name, d, gait, classes, body=body) for d in distances_m]
        return round(sum(map(look_counts, looks)), 3), sum(abs(look.work.contrast[1]) for look in looks if look.drawn)

    return max((w.name for w in classes), key=merit)


def view(
    site: Site | str | PathLike[str],
    camera: str,
    weather: str,
    distances_m: Sequence[float],
    gait: str = "walk",
    body: str | None = None,
) -> list[ViewFrame]:
    """Frames of one person at each distance in the asked class, then the same in the clearest class unless it is the asked one.

    Every varying quantity at its median. body: as in `explain`, who stands there instead of a person. Raises UsageError for an
    unknown camera, class, gait or body, or an impossible distance.
    """
    site = as_site(site)
    classes = described_classes(site)
    other = clearest_weather(site, camera, distances_m, gait, classes, body)
    return [
        _view_frame(set_up_look(site, camera, name, d, gait, classes, body=body), comparison=name != weather)
        for name in dict.fromkeys((weather, other))
        for d in distances_m
    ]


def _view_frame(look: Look, comparison: bool) -> ViewFrame:
    drawing = frame(look)
    contrast_k = drawing["contrast"] / look.slope_300k
    sigma_k = drawing["sigma"] / look.slope_300k
    over = np.abs(contrast_k) > look.plan.decision.threshold * sigma_k
    rectangle = tuple(float(e) for e in look.work.edges[PARTS])
    middle = (0.5 * (rectangle[0] + rectangle[1]), 0.5 * (rectangle[2] + rectangle[3]))
    noise = look.noise_at(*middle) if look.drawn else look.noise
    sigma = sigma_of(look, noise)
    strongest = np.unravel_index(int(np.argmax(np.abs(contrast_k))), contrast_k.shape)
    w = look.weather
    found = hiders(look)
    return ViewFrame(
        distance_m=look.distance_m,
        weather=w.name,
        comparison=comparison,
        contrast_k=contrast_k,
        over=over,
        peak_k=float(contrast_k[strongest]),
        pixels=int(drawing["in_view"].sum()),
        pixels_over=int(over.sum()),
        rectangle_px=rectangle,
        noise_k=float(noise / look.slope_300k),
        threshold_k=float(look.plan.decision.threshold * sigma / look.slope_300k),
        tau=float(look.result[TAU] / look.air.window) if look.drawn and look.air.window > 0 else float("nan"),
        air_temperature_c=look.air.air_temperature_k - ZERO_CELSIUS_K,
        ground_temperature_c=look.air.ground_temperature_k - ZERO_CELSIUS_K,
        torso_temperature_c=look.clothing_k - ZERO_CELSIUS_K,
        visibility_m=float(w.visibility_m.middle()),
        camera=look.camera.mark,
        lens=look.camera.lens,
        gait=look.gait if look.subject.is_person else None,
        hidden_by=found,
        hidden_share=hidden_share(look, found),
        outside=() if look.drawn else outside_of(look),
        scenery=scenery(look.site, look.camera),
        horizon=horizon(look.site, look.camera),
        who=look.subject.noun,
        part=look.subject.part,
        legs_temperature_c=None if np.isnan(look.legs_k) else look.legs_k - ZERO_CELSIUS_K,
        accepted=acceptance(look).accepted,
    )
