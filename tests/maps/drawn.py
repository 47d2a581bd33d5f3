"""Drawings for tests: a small yard in degrees about 54.07 N 6.41 E, made from metres (a degree of latitude here: 111.306 km)."""

from __future__ import annotations

import io
import json
import math
import zipfile
from xml.sax.saxutils import escape

LAT, LON = 54.07, 6.41
NORTH_M = 111_306.4  # per degree: 1113.0640 m in 0.01 degrees, tests/maps/test_grid.py
EAST_M = 65_465.7


def at(x: float, y: float) -> list[float]:
    """Longitude and latitude of a place [m]."""
    return [LON + x / EAST_M, LAT + y / NORTH_M]


def line(*places) -> list[list[float]]:
    return [at(*place) for place in places]


def feature(name, geometry, coordinates, **properties) -> dict:
    given = ({} if name is None else {"name": name}) | properties
    return {"type": "Feature", "properties": given, "geometry": {"type": geometry, "coordinates": coordinates}}


def fence(name="south fence", *places, **properties) -> dict:
    return feature(name, "LineString", line(*(places or ((0, 0), (40, 0)))), **properties)


def camera(name="camera K1", *places, **properties) -> dict:
    return feature(name, "LineString", line(*(places or ((1, 2), (21, 2)))), **properties)


def building(name="shed", *places, **properties) -> dict:
    ring = places or ((10, 10), (20, 10), (20, 16), (10, 16))
    return feature(name, "Polygon", [line(*ring, ring[0])], **properties)


def yard() -> list[dict]:
    """A ring of four fences, two buildings, two cameras, a gate of each kind: nothing is wrong with it."""
    return [
        fence("south quay", (0, 0), (40, 0)),
        fence("east fence", (40, 0), (40, 30), barrier="palisade", barrier_height_m="8 ft"),
        fence("north fence", (40, 30), (20, 34), (0, 30), inside="left"),
        fence("west fence", (0, 30), (0, 0)),
        fence("lorry gate", (40, 10), (40, 16)),
        feature("foot gate", "Point", at(0, 12), width_m=1.5),
        building("hall", kind="building", height_m=6),
        camera("K1", (1, 2), (21, 1.5), kind="camera", height_m=4.5, lens="long", depends_on="south mast"),
        feature("K2", "Point", at(39, 29), kind="camera", bearing_deg=200, depression_deg=13),
    ]


def geojson(*features, **more) -> bytes:
    return json.dumps({"type": "FeatureCollection", "features": list(features), **more}).encode()


def kml(*features, title="") -> bytes:
    """The same as KML, properties in ExtendedData."""
    parts = []
    for each in features:
        properties = dict(each["properties"])
        name = properties.pop("name", "")
        data = "".join(f'<Data name="{k}"><value>{escape(str(v))}</value></Data>' for k, v in properties.items())
        parts.append(
            f"<Placemark><name>{escape(name)}</name><ExtendedData>{data}</ExtendedData>{_kml(each['geometry'])}</Placemark>"
        )
    head = '<?xml version="1.0" encoding="UTF-8"?><kml xmlns="http://www.opengis.net/kml/2.2"><Document>'
    name = f"<name>{title}</name>" if title else ""
    return (head + name + "".join(parts) + "</Document></kml>").encode()


def _kml(geometry) -> str:
    def text(points) -> str:
        return " ".join(",".join(repr(float(v)) for v in point) for point in points)

    c, kind = geometry["coordinates"], geometry["type"]
    if kind == "Point":
        return f"<Point><coordinates>{text([c])}</coordinates></Point>"
    if kind == "LineString":
        return f"<LineString><coordinates>{text(c)}</coordinates></LineString>"
    rings = [f"<LinearRing><coordinates>{text(ring)}</coordinates></LinearRing>" for ring in c]
    inner = "".join(f"<innerBoundaryIs>{ring}</innerBoundaryIs>" for ring in rings[1:])
    return f"<Polygon><outerBoundaryIs>{rings[0]}</outerBoundaryIs>{inner}</Polygon>"


def kmz(content: bytes, name="doc.kml") -> bytes:
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr(name, content)
    return stream.getvalue()


def turned(features, degrees: float) -> list[dict]:
    """The same drawing, turned about the origin."""
    c, s = math.cos(math.radians(degrees)), math.sin(math.radians(degrees))

    def move(v):
        if isinstance(v[0], list):
            return [move(part) for part in v]
        x, y = (v[0] - LON) * EAST_M, (v[1] - LAT) * NORTH_M
        return at(x * c - y * s, x * s + y * c)

    return [{**f, "geometry": {**f["geometry"], "coordinates": move(f["geometry"]["coordinates"])}} for f in features]
