"""Makes the drawing of an invented boat yard that `fencecast example boat-yard` writes: boat-yard.geojson and boat-yard.kml.

    python configs/make_drawing.py          # writes both beside this file and into the package

Drawn as a person draws in a map program: corners clicked to some centimetres, degrees with seven decimals, kinds by a property in
GeoJSON and by folders in KML, numbers in descriptions there. The place is in the open sea.
"""

from __future__ import annotations

import json
import math
from pathlib import Path
from xml.sax.saxutils import escape

HOME = Path(__file__).parent
LATITUDE, LONGITUDE = 54.0712, 6.4105
TURN_DEG = 17.0  # the yard lies askew to the meridian
# Kind, name, shape, corners [m], properties; KML puts each kind into a folder of its own.
FOLDERS = {"fence": "Fences", "gate": "Gates", "building": "Buildings", "camera": "Cameras", "rule": "Rules", "mounting": "Masts"}
THINGS = (
    ("fence", "slipway", "line", [(0.0, 0.0), (31.0, 0.0), (56.0, 4.0)], {"barrier": "none"}),
    ("fence", "east side", "line", [(56.0, 4.03), (58.0, 44.0)], {"barrier": "palisade", "barrier_height_m": "8 ft"}),
    ("fence", "north side", "line", [(58.0, 44.0), (26.0, 49.0), (0.0, 42.0)], {"barrier_height_m": 2.4}),
    ("fence", "west side", "line", [(0.02, 42.04), (0.0, 0.0)], {"barrier_height_m": 2.4}),
    ("gate", "boat gate", "line", [(56.95, 23.0), (57.25, 29.0)], {}),
    ("gate", "foot gate", "point", [(0.2, 21.0)], {"width_m": 1.5}),
    ("building", "repair hall", "area", [(16.0, 17.0), (37.0, 17.0), (37.0, 31.0), (16.0, 31.0)], {"height_m": 7.0}),
    ("building", "paint store", "area", [(44.0, 29.0), (50.0, 30.0), (49.0, 36.0), (43.0, 35.0)], {"height_m": 3.2}),
    ("camera", "K1", "line", [(0.9, 1.4), (22.0, 1.2)], {"height_m": 4.2, "depends_on": "south-west mast"}),
    ("camera", "K2", "line", [(0.9, 1.4), (1.2, 22.0)], {"height_m": 4.2, "depends_on": "south-west mast"}),
    ("camera", "K3", "line", [(55.0, 5.3), (33.0, 1.8)], {"height_m": 4.2, "depends_on": "south-east mast"}),
    ("camera", "K4", "line", [(55.0, 5.3), (56.2, 25.0)], {"height_m": 4.2, "depends_on": "south-east mast"}),
    ("camera", "K5", "line", [(57.0, 42.8), (56.4, 22.0)], {"height_m": 4.2, "depends_on": "north-east mast"}),
    ("camera", "K6", "line", [(57.0, 42.8), (36.0, 46.4)], {"height_m": 4.2, "depends_on": "north-east mast"}),
    ("camera", "K7", "line", [(1.0, 41.0), (21.0, 46.4)], {"height_m": 4.2, "depends_on": "north-west mast"}),
    ("camera", "K8", "line", [(1.0, 41.0), (1.0, 20.0)], {"height_m": 4.2, "depends_on": "north-west mast"}),
    ("rule", "slipway line", "line", [(0.3, 1.0), (30.9, 1.0), (55.8, 5.0)], {}),
    ("mounting", "bend mast", "point", [(26.0, 47.5)], {"heights_m": "4.2, 6"}),
)
TITLE = "Boat yard on a spit"


def place(x: float, y: float) -> list[float]:
    """Longitude and latitude with the seven decimals of a map program."""
    turn = math.radians(TURN_DEG)
    east, north = x * math.cos(turn) + y * math.sin(turn), y * math.cos(turn) - x * math.sin(turn)
    return [round(LONGITUDE + east / 65_465.7, 7), round(LATITUDE + north / 111_306.4, 7)]


def coordinates(shape: str, corners: list) -> list:
    points = [place(*corner) for corner in corners]
    return points[0] if shape == "point" else points if shape == "line" else [[*points, points[0]]]


def geojson() -> str:
    kinds = {"point": "Point", "line": "LineString", "area": "Polygon"}
    features = [
        {
            "type": "Feature",
            "properties": {"name": name, "kind": kind, **properties},
            "geometry": {"type": kinds[shape], "coordinates": coordinates(shape, corners)},
        }
        for kind, name, shape, corners, properties in THINGS
    ]
    head = json.dumps({"type": "FeatureCollection", "name": TITLE})
    return head[:-1] + ', "features": [\n' + ",\n".join(json.dumps(feature) for feature in features) + "\n]}\n"


def kml() -> str:
    lines = [
        '<?xml version="1.0" encoding="UTF-8"?>',
        '<kml xmlns="http://www.opengis.net/kml/2.2"><Document>',
        f"<name>{TITLE}</name>",
    ]
    for kind, folder in FOLDERS.items():
        lines.append(f"<Folder><name>{folder}</name>")
        for other, name, shape, corners, properties in THINGS:
            if other == kind:
                told = escape("\n".join(f"{key} = {value}" for key, value in properties.items()))
                lines.append(
                    f"<Placemark><name>{name}</name><description>{told}</description>{_geometry(shape, corners)}</Placemark>"
                )
        lines.append("</Folder>")
    return "\n".join([*lines, "</Document></kml>\n"])


def _geometry(shape: str, corners: list) -> str:
    points = [place(*corner) for corner in corners]
    text = " ".join(f"{lon},{lat}" for lon, lat in (points if shape != "area" else [*points, points[0]]))
    if shape == "area":
        return f"<Polygon><outerBoundaryIs><LinearRing><coordinates>{text}</coordinates></LinearRing></outerBoundaryIs></Polygon>"
    tag = "Point" if shape == "point" else "LineString"
    return f"<{tag}><coordinates>{text}</coordinates></{tag}>"


if __name__ == "__main__":
    for folder in (HOME, HOME.parent / "sim" / "fencecast" / "examples"):
        (folder / "boat-yard.geojson").write_text(geojson(), encoding="utf-8", newline="\n")
        (folder / "boat-yard.kml").write_text(kml(), encoding="utf-8", newline="\n")
