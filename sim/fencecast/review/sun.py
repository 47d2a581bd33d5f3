"""Hours a year in which the sun's disc is in a camera's frame, while the site is armed.

Positions every 15 minutes of a year that is no leap year. Nothing that stands
between is asked: a building may hide the sun, and a reviewer looks.

Tests: tests/review/test_checks.py.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from fencecast.meteorology.armed import armed_at
from fencecast.review.optics import Eye

if TYPE_CHECKING:
    from fencecast.site import Site

_STEP_MIN = 15
_YEAR = 2023
_FAR_M = 1.0e5


def hours_in_frame(site: Site, eyes: list[Eye]) -> tuple[list[float], bool]:
    """For each camera the hours a year, and whether `[armed]` says which of them count (else all with the sun up do)."""
    from fencecast.meteorology.sunpath import sun_positions_deg

    steps = 365 * 24 * 60 // _STEP_MIN
    utc = np.datetime64(f"{_YEAR}-01-01T00:00", "s") + np.arange(steps) * np.timedelta64(60 * _STEP_MIN, "s")
    elevation, azimuth = sun_positions_deg(utc, float(site.site.latitude), float(site.site.longitude))
    counts = elevation > 0.0
    armed = bool(site.armed.model_fields_set)
    if armed:
        offset_h = None if site.weather_file is None else site.weather_file.utc_offset_h
        offset_h = round(float(site.site.longitude) / 15.0) if offset_h is None else offset_h
        local = utc + np.timedelta64(round(offset_h * 3600), "s") - np.timedelta64(1800, "s")
        counts &= armed_at(site.armed, local, offset_h, elevation)
    high, round_ = np.radians(elevation[counts]), np.radians(azimuth[counts] - grid_north_deg(site))
    x, y, z = _FAR_M * np.sin(round_) * np.cos(high), _FAR_M * np.cos(round_) * np.cos(high), _FAR_M * np.sin(high)
    share = _STEP_MIN / 60.0
    return [float(eye.frames(x + eye.x_m, y + eye.y_m, z + eye.height_m).sum()) * share for eye in eyes], armed


def grid_north_deg(site: Site) -> float:
    """Bearing of the grid's y axis from true north; 0 where the file has no map."""
    return float(getattr(getattr(site, "map", None), "grid_north_deg", 0.0) or 0.0)
