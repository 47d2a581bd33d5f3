"""Which reader a drawing needs: by the ending of its name, and by its first bytes when that says nothing."""

from __future__ import annotations

from pathlib import Path

from fencecast.maps.features import Drawing
from fencecast.maps.limits import Unreadable, read_bytes

_ENDINGS = {".geojson": "json", ".json": "json", ".kml": "xml", ".gpx": "xml", ".xml": "xml", ".kmz": "kmz", ".dxf": "dxf"}
ENDINGS = ".geojson, .kml, .kmz, .gpx or .dxf"


def read_drawing(path: Path, file: str, unit: str = "") -> Drawing:
    """The drawing in a file; Unreadable when it is none. unit: of a DXF file, "" for its own."""
    ending = path.suffix.lower()
    kind = _ENDINGS.get(ending)
    if ending == ".dwg":
        raise Unreadable("a DWG file cannot be read: save it as DXF in the program that made it")
    if ending == ".toml":
        raise Unreadable(f"this is a site file, not a drawing; a drawing ends in {ENDINGS}")
    if kind == "dxf":
        from fencecast.maps.dxf import read_dxf

        return read_dxf(path, file, unit)
    content = read_bytes(path)
    if kind is None:
        head = content[:64].lstrip(b"\xef\xbb\xbf \t\r\n")
        kind = (
            "kmz" if head.startswith(b"PK") else "xml" if head.startswith(b"<") else "json" if head[:1] in (b"{", b"[") else None
        )
    if kind is None:
        raise Unreadable(f"this is no drawing that is known: it should end in {ENDINGS}")
    if kind == "json":
        from fencecast.maps.geojson import parse_geojson

        return parse_geojson(content, file)
    from fencecast.maps.xmlreader import parse_xml

    if kind == "kmz":
        from fencecast.maps.kmz import unpacked

        content = unpacked(content)
    return parse_xml(content, file)
