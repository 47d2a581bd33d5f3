"""What goes onto a map: things with a shape in metres of the site and properties; those of the site are what `from-map` reads."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace

import numpy as np

from fencecast.maps.features import AREA, LINE, POINT
from fencecast.maps.grid import Grid
from fencecast.site import Site
from fencecast.site.geometry import corner_chainages_m, point_at, ring_points, rule_line, signed_area_m2, vertices
from fencecast.site.schema import Perimeter, Table


@dataclass(frozen=True, eq=False)
class Thing:
    """One thing on the map. rings (n, 2): one point, a line, or the outlines of areas (holes are never written).

    folder: of KML; style: its name there; band: areas (n, 2) that KML draws in place of the line; kml_only: not data, only drawn.
    """

    kind: str
    name: str
    shape: str
    rings: tuple[np.ndarray, ...]
    properties: Mapping[str, object]
    folder: str = ""
    style: str = ""
    band: tuple[np.ndarray, ...] = ()
    kml_only: bool = False

    def on_map(self, grid: Grid) -> Thing:
        """The same in degrees, longitude first; areas anticlockwise."""
        return replace(
            self, rings=tuple(self._turned(r, grid) for r in self.rings), band=tuple(_round(r, grid) for r in self.band)
        )

    def _turned(self, ring: np.ndarray, grid: Grid) -> np.ndarray:
        return _round(ring, grid) if self.shape == AREA else grid.to_map(ring)


@dataclass
class Sheet:
    """All that one file says: the things on the map (degrees), a title, words for readers, styles by name."""

    title: str
    words: str
    things: list[Thing]
    styles: Mapping[str, Mapping[str, object]] = field(default_factory=dict)
    decimals: int = 9


def _round(ring: np.ndarray, grid: Grid) -> np.ndarray:
    lonlat = grid.to_map(ring)
    return lonlat if signed_area_m2(ring) > 0.0 else lonlat[::-1]


def site_things(site: Site, grid: Grid) -> list[Thing]:
    """What the site file holds, with the keys of its tables, as `from-map` reads it back."""
    things: list[Thing] = []
    for section in site.perimeter:
        keys = _given(section, ("inside", "barrier", "barrier_height_m", "barrier_open_share"))
        # A line that repeats its first point, not an area: the winding of an area would turn it and its metres.
        things.append(Thing("fence", section.name, LINE, (vertices(section),), keys, "fence", "fence"))
        for gate in section.gates:
            line = stretch(section, gate.from_m, gate.to_m)
            keys = {"fence": section.name, "from_m": gate.from_m, "to_m": gate.to_m}
            things.append(Thing("gate", gate.name, LINE, (line,), keys, "gates", "gate"))
    for obstacle in site.obstacle:
        ring = np.array(obstacle.footprint_m, dtype=float)
        things.append(Thing("building", obstacle.name, AREA, (ring,), {"height_m": obstacle.height_m}, "buildings", "building"))
    for camera in site.camera:
        keys = {
            "mark": camera.mark,
            "height_m": camera.height_m,
            "bearing_deg": grid.bearing_to_map(float(camera.bearing_deg or 0.0)),
        }
        keys |= _given(camera, ("depression_deg", "sensor", "lens", "price", "depends_on"))
        things.append(Thing("camera", camera.mark, POINT, (np.array([camera.position_m]),), keys, "cameras", "camera"))
    things += _rules(site)
    for mounting in site.mounting:
        points = np.array(mounting.points_m, dtype=float)
        keys = _given(mounting, ("heights_m", "spacing_m", "price"))
        shape = POINT if len(points) == 1 else LINE
        things.append(Thing("mounting", mounting.name, shape, (points,), keys, "mountings", "mounting"))
    for piece in getattr(site, "land", ()):
        ring = np.array(piece.points_m, dtype=float)
        things.append(Thing("land", piece.name, AREA, (ring_points(ring)[0],), {"ground": piece.ground}, "land", "rule"))
    return things


def _rules(site: Site) -> Iterable[Thing]:
    for number, rule in enumerate(site.rule, start=1):
        keys: dict[str, object] = {"rule": number}
        keys |= _given(rule, ("perimeter", "offset_m", "direction", "time_window_s", "dwell_s", "cameras"))
        name = f"rule {number}"
        if rule.kind == "area":
            ring = rule_line(rule, site.perimeter)[:-1] if rule.perimeter else ring_points(rule.points_m)[0]
            yield Thing("area", name, AREA, (ring,), keys, "rules", "rule")
            continue
        # Points of its own as they stand in the file, before the offset that the properties name.
        line = rule_line(rule, site.perimeter) if rule.perimeter else np.array(rule.points_m, dtype=float)
        yield Thing("rule", name, LINE, (line,), keys | ({} if rule.perimeter else {"inside": "left"}), "rules", "rule")


def _given(table: Table, names: Iterable[str]) -> dict[str, object]:
    """Keys that the file gives, as plain values."""
    found = {name: getattr(table, name) for name in names if name in table.model_fields_set and getattr(table, name) is not None}
    return {name: list(value) if isinstance(value, tuple) else value for name, value in found.items()}


def stretch(section: Perimeter, start_m: float, end_m: float) -> np.ndarray:
    """The line of a section between two chainages, with its bends (n, 2)."""
    corners = [float(c) for c in corner_chainages_m(section) if start_m + 1e-6 < c < end_m - 1e-6]
    return np.asarray(point_at(section, np.array([start_m, *corners, end_m])))
