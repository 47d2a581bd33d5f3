# ruff: noqa: E501
"""Fifty kinds of bad drawings, as data, with what is said of each, word by word.

Each: name of the file, its bytes, options, and the sentences that must be among the problems (`wrong`), the notes (`note`) or what
is left out (`left`). An entry of `wrong` means that no file is written.
"""

from __future__ import annotations

import json
from dataclasses import dataclass, field

from maps.drawn import LAT, LON, at, building, camera, feature, fence, geojson, kml, kmz, line, yard


@dataclass
class Bad:
    name: str
    file: str
    content: bytes
    wrong: list[str] = field(default_factory=list)
    note: list[str] = field(default_factory=list)
    left: list[str] = field(default_factory=list)
    options: dict = field(default_factory=dict)


def swapped(features):
    def turn(v):
        return [turn(p) for p in v] if isinstance(v[0], list) else v[::-1]

    return [{**f, "geometry": {**f["geometry"], "coordinates": turn(f["geometry"]["coordinates"])}} for f in features]


def _moved(features, lon, lat):
    def turn(v):
        return [turn(p) for p in v] if isinstance(v[0], list) else [v[0] + lon, v[1] + lat]

    return [{**f, "geometry": {**f["geometry"], "coordinates": turn(f["geometry"]["coordinates"])}} for f in features]


def _metres(features, east=0.0, north=0.0):
    def turn(v):
        return (
            [turn(p) for p in v] if isinstance(v[0], list) else [(v[0] - LON) * 65_465.7 + east, (v[1] - LAT) * 111_306.4 + north]
        )

    return [{**f, "geometry": {**f["geometry"], "coordinates": turn(f["geometry"]["coordinates"])}} for f in features]


def _mirrored(features):
    def turn(v):
        return [turn(p) for p in v] if isinstance(v[0], list) else [v[0], -v[1]]

    return [{**f, "geometry": {**f["geometry"], "coordinates": turn(f["geometry"]["coordinates"])}} for f in features]


_BASE = (fence(), camera())
_BOMB = b'<?xml version="1.0"?><!DOCTYPE kml [<!ENTITY a "aaaa"><!ENTITY b "&a;&a;&a;">]><kml><Document><name>&b;</name></Document></kml>'

BAD = [
    # --- no drawing at all
    Bad("missing", "", b"", ["there is no such file"]),
    Bad("empty", "y.geojson", b"", ["this is not JSON: line 1, column 1: Expecting value"]),
    Bad("not json", "y.geojson", b'{"type": "FeatureCollection", ', ["this is not JSON: line 1, column 31: Expecting property name enclosed in double quotes"]),
    Bad("json but no geojson", "y.geojson", b'{"a": 1}', ['this is JSON, but no GeoJSON: "type" is \'None\'; it should be "FeatureCollection"']),
    Bad("not a number", "y.geojson", b'{"type":"Point","coordinates":[NaN,1]}', ["this is not JSON: NaN is no number"]),
    Bad("key twice", "y.geojson", b'{"type":"Point","type":"Point","coordinates":[1,1]}', ["this is not JSON that can be read: the key 'type' stands twice in one object; keep one"]),
    Bad("deep", "y.geojson", b"[" * 100_000, ["this is not JSON that can be read: its brackets are nested too deeply"]),
    Bad("long number", "y.geojson", b'{"type":"Point","coordinates":[' + b"1" * 5000 + b",1]}", ["this is not JSON that can be read: it holds a number of thousands of digits"]),
    Bad("latin-1", "y.geojson", b'{"name": "caf\xe9"}', ["byte 14 is not UTF-8 text, which GeoJSON is; save it again as UTF-8"]),
    Bad("xml of another kind", "y.kml", b"<svg/>", ["this is XML that begins with <svg>, neither KML nor GPX"]),
    Bad("broken xml", "y.kml", b"<kml><Document>", ["this is not XML: line 1, column 16: no element found"]),
    Bad("document type", "y.kml", _BOMB, ["it declares a document type, which a drawing does not need and which can do harm; save it without"]),
    Bad("deep xml", "y.kml", b"<kml>" + b"<a>" * 100 + b"</a>" * 100 + b"</kml>", ["its elements are nested more than 64 deep"]),
    Bad("unknown encoding", "y.kml", b'<?xml version="1.0" encoding="nonsense"?><kml/>', ["this is not XML that can be read: unknown encoding: nonsense"]),
    Bad("no archive", "y.kmz", b"PK no", ["this is no KMZ archive that can be read: File is not a zip file"]),
    Bad("archive without kml", "y.kmz", kmz(b"<kml/>", "files/doc.kml"), ["the archive has no .kml file outside of its folders"]),
    Bad("dwg", "y.dwg", b"AC1032", ["a DWG file cannot be read: save it as DXF in the program that made it"]),
    Bad("picture", "y.png", b"\x89PNG", ["this is no drawing that is known: it should end in .geojson, .kml, .kmz, .gpx or .dxf"]),
    Bad("site file", "y.toml", b"schema = 2", ["this is a site file, not a drawing; a drawing ends in .geojson, .kml, .kmz, .gpx or .dxf"]),
    # --- coordinates
    Bad("position of one number", "y.geojson", geojson(*_BASE, feature("fence 2", "LineString", [at(0, 9), [LON]])),
        [f'feature 3 "fence 2": position 2 should be two numbers [longitude, latitude], and is [{LON}]']),
    Bad("text for a number", "y.geojson", geojson(*_BASE, feature("fence 2", "LineString", [at(0, 9), ["6.41", 54]])),
        ['feature 3 "fence 2": position 2 should be two numbers [longitude, latitude], and is ["6.41", 54]']),
    Bad("infinite", "y.geojson", geojson(*_BASE).replace(b"6.41,", b"1e999,", 1), ['feature 1 "south fence": position 1 should be two numbers [longitude, latitude], and is [Infinity, 54.07]']),
    Bad("one point", "y.geojson", geojson(*_BASE, feature("fence 2", "LineString", [at(0, 9)])), ['feature 3 "fence 2": a line needs 2 points or more; it has 1']),
    Bad("unknown geometry", "y.geojson", geojson(*_BASE, feature("arc", "Circle", [0, 0])),
        ["feature 3 \"arc\": its geometry is a 'Circle'; GeoJSON has Point, MultiPoint, LineString, MultiLineString, Polygon, MultiPolygon"]),
    Bad("no geometry", "y.geojson", geojson(*_BASE, {"type": "Feature", "properties": {"name": "later"}, "geometry": None}),
        left=['feature 3 "later": it has no geometry: nothing is drawn there']),
    Bad("swapped beyond 90", "y.geojson", geojson(*_moved(swapped(_BASE), 0.0, 118.0)),
        ['feature 1 "south fence" and 1 more: its second number reaches 124.411, and no latitude is beyond 90: longitude comes first; type --swap']),
    Bad("swapped, seen by --near", "y.geojson", geojson(*swapped(_BASE)),
        ["it lies at 6°24′37.1″ N, 54°04′12.0″ E, 6,791 km from the place of --near, and at most 50 km are expected: swapped numbers bring it there; type --swap"],
        options={"near": (54.0, 6.4)}),
    Bad("wrong hemisphere", "y.geojson", geojson(*_mirrored(_BASE)),
        ["it lies at 54°04′12.0″ S, 6°24′37.1″ E, 12,017 km from the place of --near, and at most 50 km are expected: "
         "the other sign of its latitude would bring it there: is a minus (south) missing?"], options={"near": (54.0, 6.4)}),
    Bad("another town", "y.geojson", geojson(*_moved(_BASE, 3.0, 0.0)),
        ["it lies at 54°04′12.0″ N, 9°24′37.1″ E, 197 km from the place of --near, and at most 50 km are expected: neither swapped numbers nor another sign brings it there"],
        options={"near": (54.0, 6.4)}),
    Bad("metres of a projection", "y.geojson", geojson(*_metres(_BASE, 330_000.0, 5_993_000.0)),
        ['feature 1 "south fence" and 1 more: 330000.0, 5993000.0 are no degrees, but metres of a projection; type its code, for instance --crs EPSG:32632 (UTM zone 32 north)']),
    Bad("metres of a plan", "y.geojson", geojson(*_metres([fence("fence", (0, 0), (400, 0)), camera("camera", (201, 2), (221, 2))])),
        ['feature 1 "fence" and 1 more: 0, 0 are no degrees (longitude to 180, latitude to 90); metres of a plan? type --crs site']),
    Bad("small metres taken for degrees", "y.geojson", geojson(*_metres(_BASE)),
        ["what is drawn reaches over 4,447.8 km, and at most 10 km are taken: metres of a local grid taken for degrees? type --crs site"]),
    Bad("a point of another place", "y.geojson", geojson(*_BASE, feature("far camera", "Point", at(30_000, 0))),
        ["what is drawn reaches over 29.9 km, and at most 10 km are taken: a point of another place, or another unit?"]),
    Bad("polar", "y.geojson", geojson(*_moved(_BASE, 0.0, 32.0)), ['feature 1 "south fence": beyond 85 degrees of latitude the grid does not reach',
         'feature 2 "camera K1": beyond 85 degrees of latitude the grid does not reach']),
    Bad("anonymous", "y.geojson", geojson(*_moved(_BASE, -LON, -LAT)), note=["y.geojson: feature 1 \"south fence\" lies at 0 N 0 E: anonymous coordinates, or an empty field"]),
    Bad("heights", "y.geojson", geojson(feature("fence", "LineString", [[*at(0, 0), 3.0], [*at(40, 0), 7.5]]), camera()),
        note=["y.geojson: third coordinates (3.0 to 7.5 m) are left out; the model's ground is flat"]),
    Bad("another crs", "y.geojson", geojson(*_BASE, crs={"type": "name", "properties": {"name": "urn:ogc:def:crs:EPSG::99999"}}),
        ["the coordinate system 'urn:ogc:def:crs:EPSG::99999' is not known; type an EPSG code, for instance --crs EPSG:32632"]),
    # --- shapes
    Bad("bow tie", "y.geojson", geojson(*_BASE, building("shed", (10, 10), (20, 16), (20, 10), (10, 16))),
        ['feature 3 "shed": edges 1 and 3 (edge 1 runs from point 1 to point 2) cross or touch at [15.00, 13.00] m (latitude 54.0701168, longitude 6.4102291); move a corner there']),
    Bad("nearly closed", "y.geojson", geojson(fence("fence", (0, 0), (40, 0), (40, 30), (0, 30), (0, 2)), camera()),
        ['feature 1 "fence": its two ends lie 2.00 m apart: close it, or type --open "fence"']),
    Bad("all but closed", "y.geojson", geojson(fence("fence", (0, 0), (40, 0), (40, 30), (0, 30), (0, 0.2)), camera()), note=['the ends of "fence" lay 0.20 m apart: closed']),
    Bad("ends joined", "y.geojson", geojson(fence(), fence("east fence", (40.1, 0), (40, 30)), camera()), note=['the ends of "south fence" and "east fence" lay 0.10 m apart and were joined']),
    Bad("a gap", "y.geojson", geojson(fence(), fence("east fence", (40, 1.5), (40, 30)), camera()),
        note=['the ends of "south fence" and "east fence" lie 1.50 m apart: nothing crosses in that gap in the model']),
    Bad("points on each other", "y.geojson", geojson(fence("fence", (0, 0), (20, 0), (20, 0.005), (40, 0)), camera()), note=['feature 1 "fence": 1 point nearer than 1 cm to another left out']),
    Bad("tiny", "y.geojson", geojson(*_BASE, building("tank", (10, 10), (10.3, 10), (10.3, 10.3), (10, 10.3))),
        ['feature 3 "tank": an area of 0.09 m2: at least 0.5 m2 are expected; are its numbers not degrees?']),
    Bad("short fence", "y.geojson", geojson(*_BASE, fence("inner fence", (5, 5), (6, 5))), ['feature 3 "inner fence": a fence of 1 m: at least 2 m are expected; are its numbers not degrees?']),
    Bad("hole in a building", "y.geojson", geojson(*_BASE, feature("hall building", "Polygon", [line((10, 10), (20, 10), (20, 20), (10, 10)), line((16, 12), (18, 12), (18, 14), (16, 12))])),
        note=['feature 3 "hall building": the hole in this building is filled']),
    Bad("hole in an area", "y.geojson", geojson(*_BASE, feature("alarm area", "Polygon", [line((10, 10), (20, 10), (20, 20), (10, 10)), line((16, 12), (18, 12), (18, 14), (16, 12))])),
        ['feature 3 "alarm area": the area of a rule has no hole: draw it in two parts']),
    # --- what it is
    Bad("a building as a point", "y.geojson", geojson(*_BASE, feature("store", "Point", at(5, 5), kind="building")),
        ["feature 3 \"store\": building (by its property kind, 'building') is drawn as an area, and this is a point"]),
    Bad("gate far off", "y.geojson", geojson(*_BASE, feature("gate", "Point", at(20, 6))),
        ['feature 3 "gate": a gate 6.0 m from the nearest fence: draw it as a line along a fence, or as a point on it, at most 3 m away']),
    Bad("overlapping gates", "y.geojson", geojson(*_BASE, fence("gate a", (10, 0), (16, 0)), fence("gate b", (15, 0), (20, 0))),
        ['feature 4 "gate b": this gate overlaps gate "gate a" (10.00 to 16.00 m)']),
    Bad("no fence", "y.geojson", geojson(camera()), ["there is no fence in it: draw one as a line, with the word fence in its name, layer or kind"]),
    Bad("no camera", "y.geojson", geojson(fence()),
        ["there is neither a camera nor a mounting in it: draw cameras as points, or as lines of two points (where each stands, where it looks)"]),
    Bad("no kind", "y.geojson", geojson(*_BASE, fence("hedge", (0, 9), (30, 9))), left=["feature 3 \"hedge\": nothing in 'hedge' names a kind, so it is not used; name its kind if it is one of fence, gate, camera, mounting, rule"]),
    Bad("wrong value", "y.geojson", geojson(fence("fence", barrier="hedge"), camera("camera K1", height_m="4 feet")),
        ['feature 1 "fence": barrier = "hedge" is not allowed: one of "none", "mesh", "palisade", "wall"',
         'feature 2 "camera K1": height_m = "4 feet" is not allowed: a height above 0 m and at most 60 m, as a number of metres without quotes, '
         "or in quotes with a unit (m, mm, cm, um, km, ft, in, yd)"]),
    Bad("near miss", "y.geojson", geojson(fence(), camera("camera K1", heigth_m=5)), note=["feature 2 \"camera K1\": heigth_m (did you mean height_m?)"]),
    Bad("two of one name", "y.geojson", geojson(*_BASE, camera("camera K1", (30, 2), (20, 2))), note=['feature 3 "camera K1": another camera is called "camera K1", so this one is "camera K1 2"']),
    Bad("camera in a building", "y.geojson", geojson(*_BASE, building("hall building", (0.5, 1), (8, 1), (8, 8), (0.5, 8), height_m=9)),
        ['feature 2 "camera K1": as a site file: camera "camera K1" position_m = [1.0, 2.0] is not allowed: a place outside obstacle "hall building", '
         "which is 9.0 m tall, or on its roof (this camera is mounted at 4.0 m); type for instance height_m = 9.5"]),
    Bad("fence through a building", "y.geojson", geojson(*_BASE, building("hall building", (10, -3), (20, -3), (20, 3), (10, 3))),
        ['feature 1 "south fence": as a site file: perimeter "south fence" points_m = [[0.0, 11.1306], [40.0, 11.1308]] is not allowed: a line that does not run through the inside of '
         'obstacle "hall building", as this one does at [15, 11.1307]; along its face is allowed: end the perimeter there and go on behind it']),
    Bad("everything at once", "y.kml", kml(fence("fence", (0, 0), (1, 0)), feature("gate", "Point", at(9, 9)), building("shed", (1, 1), (1.1, 1), (1.1, 1.1))),
        ['feature 1 "fence": a fence of 1 m: at least 2 m are expected; are its numbers not degrees?',
         'feature 3 "shed": an area of 0.005 m2: at least 0.5 m2 are expected; are its numbers not degrees?']),
]  # fmt: skip
GOOD = geojson(*yard())
assert json.loads(GOOD)
