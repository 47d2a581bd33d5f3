"""What cameras stand on: masts, each with its height and price, and places on buildings."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely

from fencecast.decide.place.kit import mounting_shape
from fencecast.decide.place.posts import posts_of
from fencecast.site import Site
from fencecast.site.mounting import Mounting
from fencecast.site.schema import Camera
from fencecast.units import METRES_PER_FOOT

# A camera this near to a building and not higher than this above its top is mounted on it (judgement, no source).
_WALL_M, _ABOVE_M = 0.3, 1.0
# Sites are drawn to decimetres: a camera this far from a [[mounting]] stands at it.
_AT_M = 0.1
_MAST_WORDS = re.compile(r"\b(masts?|posts?|poles?|columns?|towers?)\b", re.IGNORECASE)


@dataclass(frozen=True)
class Mast:
    """One mast: its name in the bill, its price (None without one), and the key that holds the price or could."""

    name: str
    price: float | None
    key: str


@dataclass(frozen=True)
class Standing:
    """Masts of a site, the building of each camera that is mounted on one, and the names in depends_on that are masts."""

    masts: tuple[Mast, ...]
    on_buildings: tuple[str, ...]
    named: frozenset[str]


def standing_of(site: Site) -> Standing:
    """Where the cameras of a site stand; those within 2 m of each other share a mast, as they share a post in the model."""
    free = [camera for camera in site.camera if _mounting(site, [camera]) is None]
    walls = {camera.mark: name for camera in free if (name := _building(site, camera)) is not None}
    others = [camera for camera in site.camera if camera.mark not in walls]
    places = np.array([camera.position_m for camera in others], dtype=float).reshape(-1, 2)
    masts, named = [], set()
    for post in posts_of(places, range(len(others))):
        cameras = [others[k] for k in sorted(post)]
        known = _own_name(site, cameras)
        if known is not None:
            named.add(known)
        masts.append(_mast(site, cameras, known))
    return Standing(tuple(sorted(masts, key=lambda mast: mast.name)), tuple(walls.values()), frozenset(named))


def _mast(site: Site, cameras: Sequence[Camera], known: str | None) -> Mast:
    """One mast: by its own name when it has a price by that name, by its mounting when that has one, else by its height."""
    height_m = max(camera.height_m for camera in cameras)
    height = f"{height_m:g} m" + (f" ({height_m / METRES_PER_FOOT:.1f} ft)" if site.units == "us" else "")
    if known is not None and site.prices is not None and known in site.prices.depends_on:
        return Mast(f"{known}, {height}", site.prices.depends_on[known], "[prices] depends_on")
    mounting = _mounting(site, cameras)
    if mounting is not None:
        return Mast(f"place at {mounting.name}, {height} up", mounting.price, f"mounting {mounting.name} price")
    return Mast(f"mast, {height}", site.prices.mast(height_m) if site.prices else None, "[prices] masts")


def _mounting(site: Site, cameras: Sequence[Camera]) -> Mounting | None:
    """The nearest priced [[mounting]] on which one of the cameras stands, at a height within those to try; None without."""
    height_m = max(camera.height_m for camera in cameras)
    found = []
    for mounting in site.mounting:
        if "price" in mounting.model_fields_set and min(mounting.heights_m) <= height_m <= max(mounting.heights_m):
            shape = mounting_shape(mounting)
            away_m = min(shape.distance(shapely.Point(camera.position_m)) for camera in cameras)
            if away_m <= _AT_M:
                found.append((away_m, mounting))
    return min(found, key=lambda each: each[0])[1] if found else None


def _building(site: Site, camera: Camera) -> str | None:
    """The nearest obstacle that a camera is mounted on, by its name; None for one on a mast."""
    found = []
    for obstacle in site.obstacle:
        away_m = shapely.Polygon(obstacle.footprint_m).distance(shapely.Point(camera.position_m))
        if not obstacle.moveable and away_m <= _WALL_M and camera.height_m <= obstacle.height_m + _ABOVE_M:
            found.append((away_m, obstacle.name))
    return min(found)[1] if found else None


def _own_name(site: Site, cameras: Sequence[Camera]) -> str | None:
    """The name in depends_on that means this mast: a word for one, all its cameras have it and no other camera has."""
    names = {camera.depends_on for camera in cameras}
    name = next(iter(names))
    if len(names) > 1 or name is None or not _MAST_WORDS.search(name):
        return None
    marks = {camera.mark for camera in cameras}
    return None if any(camera.depends_on == name and camera.mark not in marks for camera in site.camera) else name
