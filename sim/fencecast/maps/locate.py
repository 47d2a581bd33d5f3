"""Where drawings lie: degrees that are none, swapped numbers, wrong hemispheres, the 180th meridian, extents."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import numpy as np

from fencecast.maps.features import Drawing, Feature
from fencecast.maps.grid import distance_m, from_system, place_words

NEAR_M = 50_000.0
MOST_EXTENT_M = 10_000.0
LOCAL_GRID_EXTENT_M = 100_000.0
POLAR_DEG = 85.0
NOWHERE_DEG = 0.001
FLAT_M = 1.0

Wrong = list[tuple[tuple[str, int, int] | None, str]]


def as_degrees(drawing: Drawing, features: Sequence[Feature], crs: str, swap: bool) -> tuple[list[Feature], list[str], Wrong]:
    """Features of one drawing in degrees, longitude first; notes; what is wrong. crs: of `--crs`, or "".

    Unreadable for an unknown system.
    """
    notes: list[str] = []
    system = crs or drawing.crs
    if swap:
        features = [f.moved(ring[:, ::-1] for ring in f.rings) for f in features]
        notes.append("the two numbers of every point were swapped (--swap)")
    if system:
        features = [f.moved(from_system(system, ring) for ring in f.rings) for f in features]
        if not crs:
            notes.append(f"its crs member names {system}: turned into longitude and latitude")
    wrong = _not_degrees(features)
    if wrong:
        return [], notes, wrong
    features, joined = _unwrapped(features)
    if joined:
        notes.append("it crosses the 180th meridian: joined there")
    for feature in features:
        if float(np.abs(feature.points[:, 1]).max()) > POLAR_DEG:
            wrong.append((feature.key, f"{feature.label}: beyond {POLAR_DEG:g} degrees of latitude the grid does not reach"))
    zero = [f.label for f in features if np.any(np.abs(f.points).max(axis=1) < NOWHERE_DEG)]
    if zero:
        notes.append(f"{zero[0]} lies at 0 N 0 E: anonymous coordinates, or an empty field")
    heights = [f.heights for f in features if f.heights is not None]
    if any(h != (0.0, 0.0) for h in heights):
        low, high = min(h[0] for h in heights), max(h[1] for h in heights)
        flat = "; the model's ground is flat" if high - low > FLAT_M else ""
        notes.append(f"third coordinates ({low:.1f} to {high:.1f} m) are left out{flat}")
    return list(features), notes, wrong


def _not_degrees(features: Sequence[Feature]) -> Wrong:
    """Features with numbers that no longitude or latitude can be; one line for all when they are many."""
    bad = [(f, words) for f in features if (words := _fault(f))]
    if len(bad) <= 1 or 2 * len(bad) <= len(features):
        return [(f.key, f"{f.label}: {words}") for f, words in bad]
    first, words = bad[0]
    return [(None, f"{first.label} and {len(bad) - 1} more: {words}")]


def _fault(feature: Feature) -> str:
    points = np.vstack(feature.rings)
    lon, lat = points[:, 0], points[:, 1]
    far_lon, far_lat = float(np.abs(lon).max()), float(np.abs(lat).max())
    if far_lat <= 90.0 and far_lon <= 180.0:
        return ""
    if far_lat <= 180.0 and far_lon <= 90.0:
        second = lat[np.abs(lat).argmax()]
        return f"its second number reaches {second:.6g}, and no latitude is beyond 90: longitude comes first; type --swap"
    if far_lon >= 100_000.0 or far_lat >= 100_000.0:
        return (
            f"{lon[0]:.1f}, {lat[0]:.1f} are no degrees, but metres of a projection; "
            "type its code, for instance --crs EPSG:32632 (UTM zone 32 north)"
        )
    return f"{lon[0]:.6g}, {lat[0]:.6g} are no degrees (longitude to 180, latitude to 90); metres of a plan? type --crs site"


def _unwrapped(features: Sequence[Feature]) -> tuple[list[Feature], bool]:
    """Longitudes without the jump at 180 degrees, about the first point of all."""
    if not features:
        return [], False
    start = float(features[0].points[0, 0])
    moved, any_turned = [], False
    for feature in features:
        rings = []
        for ring in feature.rings:
            turns = np.round((start - ring[:, 0]) / 360.0)
            any_turned |= bool(turns.any())
            rings.append(np.column_stack([ring[:, 0] + 360.0 * turns, ring[:, 1]]))
        moved.append(feature.moved(rings))
    return moved, any_turned


def middle_of(features: Sequence[Feature]) -> tuple[float, float]:
    """Latitude and longitude of the middle of all points."""
    points = np.vstack([f.points for f in features])
    lon, lat = 0.5 * (points.min(axis=0) + points.max(axis=0))
    return float(lat), float(lon)


def far_from(middle: tuple[float, float], near: tuple[float, float], what: str) -> str:
    """What is wrong with a place farther than 50 km from where it should be, and what would mend it; "" when it is near."""
    away = distance_m(middle, near)
    if away <= NEAR_M:
        return ""
    lat, lon = middle
    tried = (
        ((lon, lat), "swapped numbers bring it there; type --swap"),
        ((-lat, lon), "the other sign of its latitude would bring it there: is a minus (south) missing?"),
        ((lat, -lon), "the other sign of its longitude would bring it there: is a minus (west) missing?"),
        ((-lat, -lon), "the other signs of both numbers would bring it there: are two minus signs missing?"),
    )
    mend = next(
        (words for place, words in tried if abs(place[0]) <= 90.0 and distance_m(place, near) <= NEAR_M),
        "neither swapped numbers nor another sign brings it there",
    )
    where = place_words(lat, (lon + 180.0) % 360.0 - 180.0).split(", UTM")[0]
    return f"it lies at {where}, {away / 1000:,.0f} km from {what}, and at most {NEAR_M / 1000:g} km are expected: {mend}"


def extent_m(lonlat: np.ndarray) -> float:
    """How far apart points (n, 2) of longitude and latitude lie, on a sphere: for sizes that no grid is made for."""
    west, south = lonlat.min(axis=0)
    east, north = lonlat.max(axis=0)
    parallel = min(abs(south), abs(north)) if south * north > 0.0 else 0.0
    across = distance_m((parallel, west), (parallel, west + min(east - west, 180.0)))
    return max(across, distance_m((south, west), (north, west)))


def extent_fault(size_m: float, degrees: bool) -> str:
    """What is wrong with the size of everything drawn [m]; "" when nothing is."""
    if size_m <= MOST_EXTENT_M:
        return ""
    words = f"what is drawn reaches over {size_m / 1000:,.1f} km, and at most {MOST_EXTENT_M / 1000:g} km are taken"
    if degrees and size_m > LOCAL_GRID_EXTENT_M:
        return f"{words}: metres of a local grid taken for degrees? type --crs site"
    return f"{words}: a point of another place, or another unit?"


def record_place(path: Path) -> tuple[float, float] | None:
    """Latitude and longitude from the first line of an EPW or TMY3 file; None when it has none."""
    import csv

    try:
        with path.open(encoding="utf-8", errors="replace") as file:
            row = next(csv.reader([file.readline(2_000)]), [])
        pair = row[6:8] if row and row[0].strip().upper() == "LOCATION" else row[4:6]
        lat, lon = (float(text) for text in pair)
    except (OSError, ValueError, csv.Error):
        return None
    return (lat, lon) if abs(lat) <= 90.0 and abs(lon) <= 180.0 else None
