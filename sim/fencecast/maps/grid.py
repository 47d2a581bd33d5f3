"""The grid of a site: transverse Mercator about its origin (pyproj), turned by grid north, at the ground's own height.

Conformal, so bearings are true to the grid; against geodesic lengths off by at most 0.005 mm in 100 m within 2 km
(tests/maps/test_grid.py, geographiclib). Longitude and latitude are degrees (WGS 84), x and y metres.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, Any

import numpy as np

from fencecast.maps.limits import Unreadable

if TYPE_CHECKING:
    from fencecast.site.placing import MapPlace

EARTH_RADIUS_M = 6_371_000.0
ORIGIN_STEP_DEG = 0.0001


@dataclass(frozen=True)
class Grid:
    """x = 0, y = 0 at a place; +y points along `grid_north_deg`, clockwise from true north; lengths at `elevation_m`."""

    latitude: float
    longitude: float
    grid_north_deg: float = 0.0
    elevation_m: float = 0.0

    @classmethod
    def of(cls, place: MapPlace) -> Grid:
        """The grid of a table [map]."""
        return cls(place.latitude, place.longitude, place.grid_north_deg, place.elevation_m)

    @cached_property
    def _projection(self) -> Any:
        from pyproj import Proj

        scale = 1.0 + self.elevation_m / EARTH_RADIUS_M
        return Proj(
            f"+proj=tmerc +lat_0={self.latitude!r} +lon_0={self.longitude!r} +k_0={scale!r} +x_0=0 +y_0=0 +ellps=WGS84 +units=m"
        )

    def to_site(self, lonlat: np.ndarray) -> np.ndarray:
        """Points (n, 2) of longitude and latitude in metres of the site (n, 2)."""
        lonlat = np.atleast_2d(np.asarray(lonlat, dtype=float))
        east, north = self._projection(lonlat[:, 0], lonlat[:, 1])
        c, s = math.cos(math.radians(self.grid_north_deg)), math.sin(math.radians(self.grid_north_deg))
        return np.column_stack([east * c - north * s, east * s + north * c])

    def to_map(self, xy: np.ndarray) -> np.ndarray:
        """Points (n, 2) in metres of the site as longitude (-180 to 180) and latitude (n, 2)."""
        xy = np.atleast_2d(np.asarray(xy, dtype=float))
        c, s = math.cos(math.radians(self.grid_north_deg)), math.sin(math.radians(self.grid_north_deg))
        lon, lat = self._projection(xy[:, 0] * c + xy[:, 1] * s, -xy[:, 0] * s + xy[:, 1] * c, inverse=True)
        return np.column_stack([(np.asarray(lon) + 180.0) % 360.0 - 180.0, lat])

    def bearing_to_site(self, true_deg: float) -> float:
        """A bearing from true north as one of the site's grid, 0 to 360."""
        return float(np.round((true_deg - self.grid_north_deg) % 360.0, 9)) % 360.0

    def bearing_to_map(self, grid_deg: float) -> float:
        """The other way."""
        return float(np.round((grid_deg + self.grid_north_deg) % 360.0, 9)) % 360.0


def default_origin(lonlat: np.ndarray) -> tuple[float, float]:
    """Latitude and longitude of the south-west corner of all points (n, 2), rounded down to 0.0001 degrees."""
    west, south = np.asarray(lonlat, dtype=float).min(axis=0)
    steps = [math.floor(round(value / ORIGIN_STEP_DEG, 6)) for value in (south, west)]
    latitude, longitude = (round(step * ORIGIN_STEP_DEG, 4) + 0.0 for step in steps)
    return latitude, (longitude + 180.0) % 360.0 - 180.0 if not -180.0 <= longitude <= 180.0 else longitude


def from_system(code: str, points: np.ndarray) -> np.ndarray:
    """Points (n, 2) of another coordinate system (`EPSG:32632`, or its URN) as longitude and latitude; Unreadable when unknown.

    No grid files are fetched: what pyproj has at hand is used.
    """
    from pyproj.exceptions import ProjError

    try:
        turned = _transformer(_code(code), "EPSG:4326").transform(points[:, 0], points[:, 1])
    except ProjError:
        raise Unreadable(
            f"the coordinate system {code!r} is not known; type an EPSG code, for instance --crs EPSG:32632"
        ) from None
    lonlat = np.column_stack(turned)
    if not np.isfinite(lonlat).all():
        raise Unreadable(f"its points lie outside the area of {code}; is that the system it was drawn in?")
    return lonlat


def to_system(code: str, lonlat: np.ndarray) -> np.ndarray:
    """Longitude and latitude (n, 2) as points of another system."""
    return np.column_stack(_transformer("EPSG:4326", _code(code)).transform(lonlat[:, 0], lonlat[:, 1]))


def _transformer(source: str, target: str) -> Any:
    """Between two systems, longitude or easting first; never by files from a network."""
    from pyproj import Transformer
    from pyproj.network import set_network_enabled

    set_network_enabled(False)
    return Transformer.from_crs(source, target, always_xy=True)


def _code(name: str) -> str:
    """`urn:ogc:def:crs:EPSG::32632` and the like as `EPSG:32632`."""
    import re

    found = re.search(r"EPSG:(?:[\d.]*:)?(\d+)$", name.strip(), flags=re.IGNORECASE)
    return f"EPSG:{found[1]}" if found else name


def distance_m(one: tuple[float, float], two: tuple[float, float]) -> float:
    """Metres between two places (latitude, longitude) on a sphere: for asking whether something is far away at all."""
    a, b = math.radians(one[0]), math.radians(two[0])
    h = math.sin((b - a) / 2.0) ** 2 + math.cos(a) * math.cos(b) * math.sin(math.radians(two[1] - one[1]) / 2.0) ** 2
    return 2.0 * EARTH_RADIUS_M * math.asin(min(1.0, math.sqrt(h)))


def place_words(latitude: float, longitude: float) -> str:
    """`54°04′11.6″ N, 6°24′35.6″ E, UTM zone 32N, sun highest at 11.6 h UTC`: for a person to compare with what he knows."""
    north, east = "N" if latitude >= 0 else "S", "E" if longitude >= 0 else "W"
    zone = min(60, int((longitude + 180.0) // 6.0) + 1)
    noon = (12.0 - longitude / 15.0) % 24.0
    degrees = f"{_sexagesimal(latitude)} {north}, {_sexagesimal(longitude)} {east}"
    return f"{degrees}, UTM zone {zone}{north}, sun highest at {noon:.1f} h UTC"


def _sexagesimal(degrees: float) -> str:
    tenths = round(abs(degrees) * 36_000)
    minutes, rest = divmod(tenths, 600)
    return f"{minutes // 60}°{minutes % 60:02d}′{rest / 10:04.1f}″"
