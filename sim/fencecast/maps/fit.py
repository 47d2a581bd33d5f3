"""Where an older site file lies on the map: the least-squares shift and turn that brings its named points onto drawn ones."""

from __future__ import annotations

import os
import re
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from fencecast.errors import InputError, UsageError
from fencecast.maps.features import POINT
from fencecast.maps.grid import Grid, place_words
from fencecast.maps.limits import Unreadable
from fencecast.maps.locate import as_degrees
from fencecast.maps.readers import read_drawing
from fencecast.site import Site, load_site, parse_site

MOST_SCALE = 0.005
_ROUNDS = 4


@dataclass(frozen=True)
class Fitted:
    """The text with its [map]; scale that came out; residual [m] of each named point; points whose name was not found."""

    text: str
    grid: Grid
    scale: float
    residuals: tuple[tuple[str, float], ...]
    unknown: tuple[str, ...]
    place: str


def fit_site(paths: Sequence[str], update: str) -> Fitted:
    """The fit of a file that has no [map] yet. UsageError or InputError when it cannot be made."""
    site = load_site(update)
    if site.map is not None:
        raise UsageError(f"{update} has a [map] already; take it out to place the file anew")
    places = named_places(site)
    names, lonlat, unknown = [], [], []
    for path in paths:
        file = os.path.basename(path)
        try:
            drawing = read_drawing(Path(path), file)
            features, _, wrong = as_degrees(drawing, [f for f in drawing.features if f.shape == POINT], "", False)
        except Unreadable as error:
            raise InputError([str(error)], path) from None
        if wrong:
            raise InputError([words for _, words in wrong], path)
        for feature in features:
            if feature.name in places and feature.name not in names:
                names.append(feature.name)
                lonlat.append(feature.points[0])
            else:
                unknown.append(feature.name or feature.label)
    if len(names) < 2:
        some = ", ".join(f'"{name}"' for name in list(places)[:6])
        raise UsageError(
            f"--fit needs two or more points named like things in {update} and found {len(names)}; it knows {some} and "
            f'{max(0, len(places) - 6)} more: marks of cameras, "NAME start", "NAME end", "corner N of NAME"'
        )
    xy = np.array([places[name] for name in names])
    grid, scale, residuals = fit_grid(xy, np.array(lonlat))
    if abs(scale - 1.0) > MOST_SCALE:
        raise UsageError(
            f"the drawn points lie {scale:.4f} times as far apart as in {update}, and within {MOST_SCALE:.1%} is expected: "
            "feet for metres (0.3048 or 3.2808)? a point with another's name?"
        )
    text = with_map(site.text, grid)
    parse_site(text, update)
    pairs = tuple((name, float(r)) for name, r in zip(names, residuals))
    return Fitted(text, grid, scale, pairs, tuple(unknown), place_words(grid.latitude, grid.longitude))


def named_places(site: Site) -> dict[str, tuple[float, float]]:
    """Places that a drawn point may be named after."""
    places: dict[str, tuple[float, float]] = {camera.mark: camera.position_m for camera in site.camera}
    for section in site.perimeter:
        places |= {f"corner {n} of {section.name}": point for n, point in enumerate(section.points_m, start=1)}
        places |= {f"{section.name} start": section.points_m[0], f"{section.name} end": section.points_m[-1]}
    for obstacle in site.obstacle:
        places |= {f"corner {n} of {obstacle.name}": point for n, point in enumerate(obstacle.footprint_m, start=1)}
    return places


def fit_grid(xy: np.ndarray, lonlat: np.ndarray) -> tuple[Grid, float, np.ndarray]:
    """The grid that brings points (n, 2) [m] onto longitude and latitude (n, 2), by shift and turn alone; the scale that a free
    fit would have; residuals (n,) [m]."""
    lon, lat = lonlat.mean(axis=0)
    origin = Grid(float(lat), float(lon))
    # The grid's north is that of its own origin, so it is fitted again about the origin that came out.
    for _ in range(_ROUNDS):
        plane = origin.to_site(lonlat)
        centre, middle = xy.mean(axis=0), plane.mean(axis=0)
        a, b = xy - centre, plane - middle
        along, across = float(np.sum(a * b)), float(np.sum(a[:, 1] * b[:, 0] - a[:, 0] * b[:, 1]))
        turn = np.arctan2(across, along)  # of +y, clockwise from north
        scale = float(np.hypot(along, across) / np.sum(a * a))
        c, s = np.cos(turn), np.sin(turn)
        rotation = np.array([[c, s], [-s, c]])
        shift = middle - rotation @ centre
        place = origin.to_map(shift[None, :])[0]
        origin = Grid(round(float(place[1]), 9), round(float(place[0]), 9))
    grid = Grid(origin.latitude, origin.longitude, round(float(np.degrees(turn)), 6) % 360.0)
    residuals = np.hypot(*(grid.to_site(lonlat) - xy).T)
    return grid, scale, residuals


def with_map(text: str, grid: Grid) -> str:
    """The text with a table [map] behind [site]; everything else stays as it is."""
    lines = text.split("\n")
    table = ["[map]", f"latitude = {round(grid.latitude, 9)!r}", f"longitude = {round(grid.longitude, 9)!r}"]
    table += [f"grid_north_deg = {grid.grid_north_deg!r}"] if grid.grid_north_deg else []
    table += [f"elevation_m = {grid.elevation_m!r}"] if grid.elevation_m else []
    start = next((k for k, line in enumerate(lines) if re.match(r"\s*\[\s*site\s*\]", line)), None)
    if start is None:
        return text.rstrip("\n") + "\n\n" + "\n".join(table) + "\n"
    end = next((k for k in range(start + 1, len(lines)) if re.match(r"\s*\[", lines[k])), len(lines))
    while end > start + 1 and (not lines[end - 1].strip() or lines[end - 1].lstrip().startswith("#")):
        end -= 1
    return "\n".join([*lines[:end], "", *table, *lines[end:]])
