"""Things on a map as GeoJSON (RFC 7946), KML (OGC 2.2), KMZ and GPX 1.1; nothing in them is fetched by a reader."""

from __future__ import annotations

import io
import json
import math
import re
import zipfile
from collections.abc import Callable, Mapping
from functools import lru_cache
from xml.sax.saxutils import escape, quoteattr

import numpy as np

from fencecast.maps.features import AREA, LINE, POINT
from fencecast.maps.things import Sheet, Thing

_KINDS = {POINT: "Point", LINE: "LineString", AREA: "Polygon"}
_HIDDEN = ("rules", "views", "blind ground", "mountings")
_NO_XML = re.compile("[^\t\n\x20-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")
_ZIP_DATE = (1980, 1, 1, 0, 0, 0)  # the same bytes for the same yard


def geojson_text(sheet: Sheet) -> str:
    """A FeatureCollection, one feature a line."""
    features = []
    for thing in sheet.things:
        if thing.kml_only:
            continue
        properties = {"kind": thing.kind, "name": thing.name} | {key: _plain(value) for key, value in thing.properties.items()}
        geometry = {"type": _KINDS[thing.shape], "coordinates": _coordinates(thing, sheet.decimals)}
        features.append(json.dumps({"type": "Feature", "properties": properties, "geometry": geometry}, ensure_ascii=False))
    head = json.dumps({"type": "FeatureCollection", "name": sheet.title, "description": sheet.words}, ensure_ascii=False)
    return head[:-1] + ', "features": [\n' + ",\n".join(features) + "\n]}\n"


def _coordinates(thing: Thing, decimals: int) -> list:
    if thing.shape == POINT:
        return _rounded(thing.rings[0], decimals)[0]
    if thing.shape == LINE:
        return _rounded(thing.rings[0], decimals)
    return [[*(points := _rounded(ring, decimals)), points[0]] for ring in thing.rings]


def _rounded(points: np.ndarray, decimals: int) -> list[list[float]]:
    return [[round(float(x), decimals) + 0.0, round(float(y), decimals) + 0.0] for x, y in points]


def _plain(value: object) -> object:
    """JSON has no NaN: what is not known is null."""
    if isinstance(value, (np.floating, float)):
        return None if not math.isfinite(value) else round(float(value), 9)
    if isinstance(value, np.integer):
        return int(value)
    return [_plain(part) for part in value] if isinstance(value, (list, tuple)) else value


def kml_text(sheet: Sheet) -> str:
    """A document with a folder for each sort of thing and one style for each look."""
    folders: dict[str, list[Thing]] = {}
    for thing in sheet.things:
        folders.setdefault(thing.folder, []).append(thing)
    lines = [
        '<?xml version="1.0" encoding="UTF-8"?>',
        '<kml xmlns="http://www.opengis.net/kml/2.2">',
        f"<Document><name>{_xml(sheet.title)}</name><description>{_xml(sheet.words)}</description>",
        *(_style(name, sheet.styles[name]) for name in sheet.styles if any(thing.style == name for thing in sheet.things)),
    ]
    for folder, things in folders.items():
        shown = "" if folder not in _HIDDEN else "<visibility>0</visibility>"
        lines.append(f"<Folder><name>{_xml(folder)}</name>{shown}")
        lines += [_placemark(thing, sheet.decimals, shown) for thing in things]
        lines.append("</Folder>")
    return "\n".join([*lines, "</Document></kml>\n"])


def _placemark(thing: Thing, decimals: int, shown: str) -> str:
    """Children in the order of the schema: name, visibility, styleUrl, ExtendedData, geometry."""
    values = {"kind": thing.kind} | {key: _plain(value) for key, value in thing.properties.items()}
    data = "".join(
        f"<Data name={quoteattr(key)}><value>{_xml(_text(value))}</value></Data>"
        for key, value in values.items()
        if value is not None
    )
    style = f"<styleUrl>#{thing.style}</styleUrl>" if thing.style else ""
    head = f"<Placemark><name>{_xml(thing.name)}</name>{shown}{style}<ExtendedData>{data}</ExtendedData>"
    return head + _geometry(thing, decimals) + "</Placemark>"


def _text(value: object) -> str:
    return ", ".join(_text(part) for part in value) if isinstance(value, list) else str(value)


def _geometry(thing: Thing, decimals: int) -> str:
    shapes = [_polygon(ring, decimals) for ring in thing.band]
    if not shapes and thing.shape == AREA:
        shapes = [_polygon(ring, decimals) for ring in thing.rings]
    if not shapes:
        tag = _KINDS[thing.shape]
        more = "<tessellate>1</tessellate>" if thing.shape == LINE else ""
        shapes = [f"<{tag}>{more}<coordinates>{_tuples(thing.rings[0], decimals)}</coordinates></{tag}>"]
    return shapes[0] if len(shapes) == 1 else f"<MultiGeometry>{''.join(shapes)}</MultiGeometry>"


def _polygon(ring: np.ndarray, decimals: int) -> str:
    closed = np.vstack([ring, ring[:1]])
    return (
        "<Polygon><outerBoundaryIs><LinearRing><coordinates>"
        f"{_tuples(closed, decimals)}</coordinates></LinearRing></outerBoundaryIs></Polygon>"
    )


def _tuples(points: np.ndarray, decimals: int) -> str:
    return " ".join(f"{x:.{decimals}f},{y:.{decimals}f}" for x, y in points)


def _style(name: str, style: Mapping[str, object]) -> str:
    """line and fill: `#rrggbb`; opacity of the fill 0 to 1; width of the line in pixels; an area without line has no outline."""
    line, fill = style.get("line"), style.get("fill")
    parts = (
        f"<LineStyle><color>{_colour(str(line), 1.0)}</color><width>{style.get('width', 2)}</width></LineStyle>" if line else ""
    )
    if fill:
        colour = _colour(str(fill), float(style.get("opacity", 1.0)))  # type: ignore[arg-type]
        parts += f"<PolyStyle><color>{colour}</color><fill>1</fill><outline>{int(bool(line))}</outline></PolyStyle>"
    return f"<Style id={quoteattr(name)}>{parts}</Style>"


def _colour(rgb: str, opacity: float) -> str:
    """`#9F4415` as KML's aabbggrr: ff15449f."""
    red, green, blue = rgb[1:3], rgb[3:5], rgb[5:7]
    return f"{round(255 * opacity):02x}{blue}{green}{red}".lower()


def _xml(text: str) -> str:
    """Text without what XML 1.0 cannot hold."""
    return escape(_NO_XML.sub("", text))


@lru_cache(maxsize=1_000)
def _data_head(key: str) -> str:
    return f"<Data name={quoteattr(_NO_XML.sub('', key))}><value>"


def kmz_bytes(sheet: Sheet) -> bytes:
    """The same KML in an archive."""
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr(zipfile.ZipInfo("doc.kml", _ZIP_DATE), kml_text(sheet), zipfile.ZIP_DEFLATED)
    return stream.getvalue()


def gpx_text(sheet: Sheet) -> str:
    """For a hand-held receiver on site: cameras and corners of fences as waypoints, fences as tracks; never a result."""
    cameras = [(thing.name, "camera", thing.rings[0][0]) for thing in sheet.things if thing.kind == "camera"]
    fences = [thing for thing in sheet.things if thing.kind == "fence"]
    corners = []
    for thing in fences:
        points = thing.rings[0]
        ring = len(points) > 3 and np.allclose(points[0], points[-1], atol=1e-12)
        corners += [(f"corner {n} of {thing.name}", "corner", p) for n, p in enumerate(points[: -1 if ring else None], start=1)]
    lines = [
        '<?xml version="1.0" encoding="UTF-8"?>',
        '<gpx version="1.1" creator="fencecast" xmlns="http://www.topografix.com/GPX/1/1">',
        f"<metadata><name>{_xml(sheet.title)}</name><desc>{_xml(sheet.words)}</desc></metadata>",
    ]
    for name, kind, (lon, lat) in [*cameras, *corners]:
        lines.append(f"<wpt {_at(lon, lat, sheet.decimals)}><name>{_xml(name)}</name><type>{kind}</type></wpt>")
    for thing in fences:
        track = "".join(f"<trkpt {_at(lon, lat, sheet.decimals)}/>" for lon, lat in thing.rings[0])
        lines.append(f"<trk><name>{_xml(thing.name)}</name><type>fence</type><trkseg>{track}</trkseg></trk>")
    return "\n".join([*lines, "</gpx>\n"])


def _at(lon: float, lat: float, decimals: int) -> str:
    return f'lat="{lat:.{decimals}f}" lon="{lon:.{decimals}f}"'


# Ending: what writes it.
FORMATS: dict[str, Callable[[Sheet], str | bytes]] = {
    "geojson": geojson_text,
    "kml": kml_text,
    "kmz": kmz_bytes,
    "gpx": gpx_text,
}
