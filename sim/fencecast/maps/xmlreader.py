"""KML (OGC 2.2) and GPX (1.1) into features, read by expat. A document type is refused, so that no entity is ever declared;
links, styles, overlays and views are passed over, and nothing is fetched."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from functools import partial
from math import isfinite
from xml.parsers import expat

from fencecast.maps import limits
from fencecast.maps.features import AREA, LINE, POINT, Drawing, checked_text
from fencecast.maps.limits import Unreadable, too_many
from fencecast.maps.properties import description_properties

_GEOMETRIES = ("Point", "LineString", "LinearRing", "Polygon", "MultiGeometry")


@dataclass
class Element:
    """An element by its name without namespace."""

    tag: str
    given: dict[str, str]
    parts: list[Element] = field(default_factory=list)
    words: list[str] = field(default_factory=list)

    @property
    def text(self) -> str:
        return "".join(self.words).strip()

    def all(self, tag: str) -> list[Element]:
        """Its own parts with a name."""
        return [part for part in self.parts if part.tag == tag]

    def said(self, tag: str) -> str:
        """The text of its first part with a name, "" without one."""
        found = self.all(tag)
        return found[0].text if found else ""


class _Bad(ValueError):
    """What is wrong with one geometry."""


def parse_xml(content: bytes, file: str) -> Drawing:
    """The drawing; Unreadable when it is neither KML nor GPX."""
    root = _tree(content)
    if root.tag == "kml":
        return _kml(root, file)
    if root.tag == "gpx":
        return _gpx(root, file)
    raise Unreadable(f"this is XML that begins with <{root.tag[:40]}>, neither KML nor GPX")


def _tree(content: bytes) -> Element:
    parser = expat.ParserCreate(namespace_separator=" ")
    parser.buffer_text = True
    top = Element("", {})
    stack = [top]
    count = 0

    def start(name: str, given: dict[str, str]) -> None:
        nonlocal count
        count += 1
        if len(stack) > limits.DEPTH:
            raise Unreadable(f"its elements are nested more than {limits.DEPTH} deep")
        if count > limits.ELEMENTS:
            raise too_many("elements", limits.ELEMENTS)
        element = Element(name.rpartition(" ")[2], {key.rpartition(" ")[2]: value for key, value in given.items()})
        stack[-1].parts.append(element)
        stack.append(element)

    def refuse(*_: object) -> None:
        raise Unreadable("it declares a document type, which a drawing does not need and which can do harm; save it without")

    def end(_: str) -> None:
        stack.pop()

    def words(text: str) -> None:
        stack[-1].words.append(text)

    parser.StartElementHandler, parser.EndElementHandler = start, end
    parser.CharacterDataHandler, parser.StartDoctypeDeclHandler = words, refuse
    try:
        parser.Parse(content, True)
    except expat.ExpatError as error:
        raise Unreadable(
            f"this is not XML: line {error.lineno}, column {error.offset + 1}: {expat.ErrorString(error.code)}"
        ) from None
    except Unreadable:
        raise
    except (LookupError, ValueError) as error:
        raise Unreadable(f"this is not XML that can be read: {str(error)[:100]}") from None
    return top.parts[0]


def _kml(root: Element, file: str) -> Drawing:
    drawing = Drawing(file, "KML")
    documents = root.all("Document")
    drawing.title = (documents[0] if documents else root).said("name")
    for placemark, folder in _placemarks(root, ""):
        properties: dict[str, object] = dict(description_properties(checked_text("description", placemark.said("description"))))
        for extended in placemark.all("ExtendedData"):
            for data in extended.all("Data"):
                properties[data.given.get("name", "")] = data.said("value")
            for schema in extended.all("SchemaData"):
                properties |= {data.given.get("name", ""): data.text for data in schema.all("SimpleData")}
        properties = {key: checked_text(key, value) for key, value in properties.items() if key}
        lower = {key.lower(): value for key, value in properties.items()}
        name = placemark.said("name") or lower.get("name") or lower.get("mark") or ""
        layer = lower.get("layer") or lower.get("folder") or folder
        _add(
            drawing,
            name,
            lower.get("kind"),
            layer,
            properties,
            partial(_kml_all, placemark),
        )
    return drawing


def _add(
    drawing: Drawing, name: object, kind: object, layer: object, properties: dict[str, object], parts_of: Callable[[], list]
) -> None:
    try:
        parts = parts_of()
    except _Bad as bad:
        number = drawing.begin()
        head = f"feature {number}" + (f' "{str(name)[:60]}"' if name else "")
        drawing.wrong.append(((drawing.file, number, 0), f"{head}: {bad}"))
        return
    drawing.add(name, kind, layer, properties, parts)


def _placemarks(element: Element, folder: str) -> Iterator[tuple[Element, str]]:
    """Every placemark with the name of the folder that it lies in."""
    for part in element.parts:
        if part.tag == "Placemark":
            yield part, folder
        elif part.tag == "Folder":
            yield from _placemarks(part, part.said("name") or folder)
        elif part.tag == "Document":
            yield from _placemarks(part, folder)


def _geometries(element: Element) -> list[Element]:
    return [part for part in element.parts if part.tag in _GEOMETRIES]


def _kml_all(placemark: Element) -> list:
    return [part for geometry in _geometries(placemark) for part in _kml_parts(geometry)]


def _kml_parts(geometry: Element) -> list:
    if geometry.tag == "MultiGeometry":
        return [part for member in _geometries(geometry) for part in _kml_parts(member)]
    heights: list[float] = []
    if geometry.tag == "Polygon":
        rings = [
            _coordinates(ring, heights)
            for tag in ("outerBoundaryIs", "innerBoundaryIs")
            for boundary in geometry.all(tag)
            for ring in boundary.all("LinearRing")
        ]
        shape = AREA
    elif geometry.tag == "LinearRing":
        rings, shape = [_coordinates(geometry, heights)], AREA
    else:
        rings, shape = [_coordinates(geometry, heights)], POINT if geometry.tag == "Point" else LINE
    if not rings or not rings[0]:
        return []
    return [(shape, rings, (min(heights), max(heights)) if heights else None)]


def _coordinates(element: Element, heights: list[float]) -> list[tuple[float, float]]:
    """`lon,lat[,height]` apart by blanks; a blank after a comma is forgiven."""
    points = []
    texts = re.sub(r"\s*,\s*", ",", element.said("coordinates")).split()
    if len(texts) > limits.POINTS:
        raise too_many("points", limits.POINTS)
    for number, text in enumerate(texts, start=1):
        values = [_float(part) for part in text.split(",")[:3]]
        if len(values) < 2 or values[0] is None or values[1] is None:
            raise _Bad(f"position {number} should be longitude,latitude, and is {text[:60]!r}")
        heights += [value for value in values[2:3] if value is not None]
        points.append((values[0], values[1]))
    return points


def _float(text: str) -> float | None:
    try:
        value = float(text) if len(text) < 60 and "_" not in text else float("nan")
    except ValueError:
        return None
    return value if isfinite(value) else None


def _gpx(root: Element, file: str) -> Drawing:
    drawing = Drawing(file, "GPX")
    drawing.title = next((each.said("name") for each in root.all("metadata")), "")
    for tag, shape in (("wpt", POINT), ("rte", LINE), ("trk", LINE)):
        for element in root.all(tag):
            properties: dict[str, object] = dict(description_properties(checked_text("desc", element.said("desc"))))
            kind = element.said("type") or properties.get("kind")
            name, layer = element.said("name"), properties.get("layer", "")
            _add(
                drawing,
                name,
                kind,
                layer,
                properties,
                partial(_gpx_parts, element, shape, tag),
            )
    return drawing


def _gpx_parts(element: Element, shape: str, tag: str) -> list:
    rows = (
        [[element]]
        if tag == "wpt"
        else [element.all("rtept")]
        if tag == "rte"
        else [s.all("trkpt") for s in element.all("trkseg")]
    )
    parts = []
    for row in rows:
        heights = [value for point in row if (value := _float(point.said("ele"))) is not None]
        points = []
        for number, point in enumerate(row, start=1):
            lon, lat = _float(point.given.get("lon", "")), _float(point.given.get("lat", ""))
            if lon is None or lat is None:
                raise _Bad(f"point {number} should have numbers lat and lon, and has {str(point.given)[:60]}")
            points.append((lon, lat))
        if points:
            parts.append((shape, [points], (min(heights), max(heights)) if heights else None))
    return parts
