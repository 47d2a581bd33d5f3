"""Plain words for keys, whose meaning and unit leave no doubt, and properties that map programs keep for themselves."""

from __future__ import annotations

import re

_BEARING = ("heading", "bearing", "azimuth", "facing")  # degrees from true north, clockwise
SYNONYMS: dict[str, dict[str, str]] = {
    "camera": dict.fromkeys(_BEARING, "bearing_deg") | {"height": "height_m"},
    "gate": {"width": "width_m"},
    "fence": {"height": "barrier_height_m", "barrier_height": "barrier_height_m", "height_m": "barrier_height_m"},
    "building": {"height": "height_m"},
}
# Near in meaning, but with a zero, a sign or a unit that differs between programs: asked about, not taken.
HINTS: dict[str, dict[str, str]] = {
    "camera": {"direction": "bearing_deg", "dir": "bearing_deg", "tilt": "depression_deg", "pitch": "depression_deg"},
    "building": {"levels": "height_m", "floors": "height_m", "storeys": "height_m"},
}
# Written by `to-map` beside a gate, and no way to move it.
GATE_KEYS = ("fence", "from_m", "to_m")
PLAIN_KEYS = frozenset(word for words in SYNONYMS.values() for word in words)
_UNITS = {"ft": "ft", "feet": "ft", "cm": "cm", "mm": "mm"}
_OWN = frozenset((
    "id", "fid", "gid", "oid", "ogc_fid", "osm_id", "objectid", "uuid", "guid", "name", "title", "label", "mark",
    "description", "desc", "comment", "comments", "cmt", "note", "notes", "kind", "layer", "folder", "timestamp", "time",
    "date", "begin", "end", "created", "modified", "updated", "altitudemode", "tessellate", "extrude", "visibility",
    "draworder", "icon", "color", "colour", "opacity", "sym", "src", "link", "url", "shape_length", "shape_area", "snippet",
))  # fmt: skip
_OWN_HEADS = (
    "style",
    "stroke",
    "fill",
    "marker",
    "icon_",
    "label_",
    "created_",
    "modified_",
    "updated_",
    "edited_",
    "timestamp_",
)


def bookkeeping(key: str) -> bool:
    """Whether a property is one that map programs keep for themselves: numbers, names, times, looks."""
    return key in _OWN or key.startswith(_OWN_HEADS)


def plain_key(kind: str, key: str, known: tuple[str, ...]) -> tuple[str, str]:
    """(key of the site file, unit of a number) that a property stands for; ("", "") for none."""
    words = SYNONYMS.get(kind, {})
    if key in words:
        return words[key], ""
    hit = re.fullmatch(r"(.+)_(ft|feet|cm|mm)", key)
    if hit:
        target = f"{hit[1]}_m" if f"{hit[1]}_m" in known else words.get(hit[1], "")
        if target.endswith("_m"):
            return target, _UNITS[hit[2]]
    return "", ""
