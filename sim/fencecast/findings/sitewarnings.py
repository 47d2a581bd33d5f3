"""What a user should know before reading the numbers: warnings of a site, worked out before anything runs."""

from __future__ import annotations

import math

from fencecast.findings.calibration import USES_DECISION, calibration_warning
from fencecast.physics.air import GAS_FIT_RANGE_M
from fencecast.site import Site
from fencecast.site.geometry import cut_segments
from fencecast.site.schema import Camera, Perimeter
from fencecast.site.stimuli import BodyStimulus, resolved

MOST_ROLL_DEG = 10.0  # N low by cos(roll): 1.5 % there
_LAW_BAND_UM = (8.0, 14.0)
_LONG_RUN_S = 1800.0
# Looks a second that one thread renders, on the careful side, when a person fills few pixels; and how many those are.
_LOOKS_PER_S, _FEW_PIXELS = 5e5, 300.0
_TYPICAL_DISTANCE_M = 20.0
_WALK_M_S = 1.3


def site_warnings(site: Site, run: bool = False) -> list[str]:
    """Warnings about a site whatever is done with it; run: by `fencecast run`, which alone takes what walks left open."""
    asked = (_bands, _rolled, _far, _unwatched, _unused, _armed, _flyers, calibration_warning)
    found = [text for text in (ask(site) for ask in asked) if text]
    return found if run or site.calibration is None else [*found, USES_DECISION]


def _bands(site: Site) -> str:
    used = {camera.sensor for camera in site.camera}
    other = [
        f'"{name}" ({sensor.band_um[0]:g} to {sensor.band_um[1]:g} um)'
        for name, sensor in site.sensors.items()
        if name in used and tuple(sensor.band_um) != _LAW_BAND_UM
    ]
    if not other:
        return ""
    return (
        f"sensor {', '.join(other)}: the laws for clear air, fog and wet windows are for 8 to 14 um; "
        "in another band their answers are rough"
    )


def _rolled(site: Site) -> str:
    """Cameras whose picture leans so far that an upright rectangle is a poor person: N too low by the cosine."""
    leaning = {camera.mark: abs(camera.roll_deg) for camera in site.camera if abs(camera.roll_deg) > MOST_ROLL_DEG}
    if not leaning:
        return ""
    low = 100.0 * (1.0 - math.cos(math.radians(max(leaning.values()))))
    return (
        f"{_named('camera', list(leaning))}: rolled by more than {MOST_ROLL_DEG:g} degrees (up to {max(leaning.values()):g}); "
        f"the person's rectangle stays upright in the picture, which makes the resolved cycles up to {low:.0f} % too few"
    )


def _far(site: Site) -> str:
    limit = GAS_FIT_RANGE_M[1]
    reach = {camera.mark: _farthest_m(site, camera) for camera in site.camera}
    far = [mark for mark, distance in reach.items() if distance > limit]
    if not far:
        return ""
    return (
        f"{_named('camera', far)}: ground up to {max(reach.values()):.0f} m away is watched; the law for clear air is a fit up "
        f"to {limit:.0f} m and is extrapolated beyond"
    )


def _farthest_m(site: Site, camera: Camera) -> float:
    """Distance from a camera to the farthest corner of the sections that its rules watch."""
    watched = [rule for rule in site.rule if camera.mark in rule.cameras]
    points = [
        point
        for section in site.perimeter
        if any(rule.perimeter in (None, section.name) for rule in watched)
        for point in section.points_m
    ]
    return max((math.dist(camera.position_m, point) for point in points), default=0.0)


def _unwatched(site: Site) -> str:
    bare = [s.name for s in site.perimeter if not any(rule.perimeter in (None, s.name) for rule in site.rule)]
    if not bare:
        return ""
    return f"{_named('section', bare)}: no rule watches {'it' if len(bare) == 1 else 'them'}, so there is no Pd there (no data)"


def _unused(site: Site) -> str:
    used = {mark for rule in site.rule for mark in rule.cameras}
    idle = [camera.mark for camera in site.camera if camera.mark not in used]
    if not idle:
        return ""
    if len(idle) == 1:
        return f"{_named('camera', idle)}: no rule uses it, so it adds nothing to Pd"
    return f"{_named('camera', idle)}: no rule uses them, so they add nothing to Pd"


def _armed(site: Site) -> str:
    if site.weather_file is not None or not site.armed.model_fields_set:
        return ""
    return "[armed] changes no number here: tables [[weather]] say their own hours, and only fencecast check asks it"


def _flyers(site: Site) -> str:
    """Bodies that pass higher than any camera: no ground lies behind them in a picture, so they cross nothing."""
    if not site.stimulus or not site.camera:
        return ""
    highest = max(camera.height_m for camera in site.camera)
    bodies = [each for each in resolved(site) if isinstance(each, BodyStimulus) and each.way == "over"]
    over = [each.name for each in bodies if not each.base_of_barrier and each.base_m.likely_bounds()[0] >= highest]
    if not over:
        return ""
    return (
        f"{_named('stimulus', over, 'stimuli')}: base_m is never below the {highest:g} m of the highest camera, so none takes it "
        "to be on the ground, and it raises no alarm"
    )


def _named(noun: str, names: list[str], several: str = "") -> str:
    shown = ", ".join(f'"{name}"' for name in names[:6])
    more = f" and {len(names) - 6} more" if len(names) > 6 else ""
    return f"{noun if len(names) == 1 else several or noun + 's'} {shown}{more}"


def long_run_warning(site: Site, classes: int, max_crossings: int, threads: int) -> str:
    """A warning when all segments going to the cap in every class would take more than half an hour; "" otherwise."""
    segments = looks = 0
    for section in site.perimeter:
        count = len(cut_segments(section, site.site.segment_length_m))
        segments += count
        looks += count * _looks_per_crossing(site, section)
    seconds = looks * classes * max_crossings / (_LOOKS_PER_S * threads)
    if seconds < _LONG_RUN_S:
        return ""
    return (
        f"this may take up to {_duration(seconds)} on {threads} thread{'' if threads == 1 else 's'}: {segments:,} segments in "
        f"{classes} weather class{'' if classes == 1 else 'es'}, up to {max_crossings:,} crossings each; a wider --precision, "
        "a lower --max-crossings, fewer classes (--weather) or a longer segment_length_m make it shorter"
    )


def _looks_per_crossing(site: Site, section: Perimeter) -> float:
    """Looks that one crossing of a section may ask for, each weighted by how many pixels its camera spends on a person."""
    looks, decision = 0.0, site.decision
    for rule in site.rule:
        if rule.perimeter not in (None, section.name):
            continue
        seconds = 2.0 * rule.time_window_s if rule.kind == "line" else 2.0 * site.intruder.path_m / _WALK_M_S
        for camera in site.camera:
            if camera.mark in rule.cameras:
                looks += (seconds * decision.looks_per_s + decision.confirm[1]) * _weight(site, camera)
    return looks


def _weight(site: Site, camera: Camera) -> float:
    sensor, lens = site.sensors[camera.sensor], site.lenses[camera.lens]
    pixel_m = _TYPICAL_DISTANCE_M * sensor.pitch_um * 1e-6 / (lens.focal_length_mm * 1e-3)
    pixels = min(0.9 / pixel_m**2, sensor.columns * sensor.rows)
    return max(1.0, pixels / _FEW_PIXELS)


def _duration(seconds: float) -> str:
    if seconds < 5400.0:
        return f"{seconds / 60.0:.0f} minutes"
    return f"{seconds / 3600.0:.0f} hours" if seconds < 172_800.0 else f"{seconds / 86_400.0:.0f} days"
