"""DXF drawings into features (the extra `fencecast[dxf]`): layers are kinds, blocks with a place are points, curves become lines.

Model space only. A block is taken as one point and not taken apart: the circle of a camera's symbol would be a second camera.
Coordinates are metres of the plan.
"""

from __future__ import annotations

import logging
import math
from pathlib import Path
from typing import Any

import numpy as np

from fencecast.errors import UsageError
from fencecast.maps import limits
from fencecast.maps.features import AREA, LINE, POINT, Drawing, clean_name
from fencecast.maps.limits import Unreadable, read_bytes

FLATTEN_M = 0.05
# $INSUNITS: 1 inches, 2 feet, 4 millimetres, 5 centimetres, 6 metres, 21 US survey feet.
_INSUNITS = {1: "in", 2: "ft", 4: "mm", 5: "cm", 6: "m", 21: "us-ft"}
_METRES = {"m": 1.0, "cm": 0.01, "mm": 0.001, "in": 0.0254, "ft": 0.3048, "us-ft": 1200.0 / 3937.0}
_CURVES = ("LINE", "LWPOLYLINE", "POLYLINE", "ARC", "CIRCLE", "ELLIPSE", "SPLINE")


def read_dxf(path: Path, file: str, unit: str) -> Drawing:
    """The drawing in metres; Unreadable when it is none or does not say its unit. unit: as typed, or "" for the file's own."""
    try:
        import ezdxf
        from ezdxf import recover
    except ImportError:
        raise UsageError('DXF drawings need the library ezdxf: type pip install "fencecast[dxf]"') from None
    read_bytes(path, limits.DXF_BYTES)
    logging.getLogger("ezdxf").setLevel(logging.CRITICAL)
    try:
        try:
            document = ezdxf.readfile(path)
        except ezdxf.DXFStructureError:
            document, _ = recover.readfile(path)
    except Exception as error:  # what a broken file makes of its reader is its own affair
        raise Unreadable(f"this is no DXF drawing that can be read: {str(error)[:100] or type(error).__name__}") from None
    rows = []
    for entity in document.modelspace():
        try:
            rows += _entity(entity)
        except Unreadable:
            raise
        except Exception:
            rows.append(("", "", {}, None))  # an unknown entity has no layer to name
    points = [np.asarray(part[1][0], dtype=float) for *_, part in rows if part is not None]
    drawing = Drawing(file, "DXF", metres=True)
    if not points:
        return drawing
    low, high = np.vstack(points).min(axis=0), np.vstack(points).max(axis=0)
    metres = _METRES[_unit(document, unit, float(max(high - low)))]
    unread = sum(part is None for *_, part in rows)
    if unread:
        drawing.notes.append(f"{unread} entities could not be read and are left out")
    for layer, name, properties, part in rows:
        if part is not None:
            shape, rings, _ = part
            moved = [np.asarray(ring, dtype=float) * metres for ring in rings]
            drawing.add(name, properties.get("kind"), layer, properties, [(shape, moved, None)])
    return drawing


def _unit(document: Any, unit: str, extent: float) -> str:
    if unit:
        return unit
    found = _INSUNITS.get(int(document.header.get("$INSUNITS", 0)))
    if found is None:
        sizes = ", ".join(f"{_length(extent * _METRES[name])} in {name}" for name in ("m", "mm", "ft"))
        raise Unreadable(f"it does not say its unit; what is drawn would be {sizes}: type --unit m, mm or ft")
    return found


def _length(metres: float) -> str:
    return f"{metres / 1000:.3g} km" if metres >= 1000.0 else f"{metres:.3g} m"


def _entity(entity: Any) -> list:
    """(layer, name, properties, (shape, rings, None)) of one entity; nothing for text, hatches and dimensions."""
    kind, layer = entity.dxftype(), clean_name(entity.dxf.layer)
    if kind == "POINT":
        place = entity.dxf.location
        return [(layer, "", {}, (POINT, [[(place.x, place.y)]], None))]
    if kind == "INSERT":
        return _block(entity, layer)
    if kind not in _CURVES:
        return []
    from ezdxf import path

    curve = path.make_path(entity)
    points = [(v.x, v.y) for v in curve.flattening(FLATTEN_M)]
    if len(points) > limits.FEATURE_POINTS:
        raise Unreadable(f"a curve on layer {layer!r} has more than {limits.FEATURE_POINTS:,} points")
    if not all(math.isfinite(v) for point in points for v in point):
        raise ValueError("no finite number")
    closed = bool(getattr(entity, "is_closed", False)) or kind == "CIRCLE"
    if closed and len(points) > 3:
        return [(layer, "", {}, (AREA, [points], None))]
    return [(layer, "", {}, (LINE, [points], None))] if len(points) > 1 else []


def _block(entity: Any, layer: str) -> list:
    copies = max(1, int(entity.dxf.get("row_count", 1))) * max(1, int(entity.dxf.get("column_count", 1)))
    if copies > limits.ARRAY_COPIES:
        raise Unreadable(f"a block on layer {layer!r} is repeated {copies:,} times, more than {limits.ARRAY_COPIES:,}")
    properties: dict[str, object] = {a.dxf.tag.lower(): a.dxf.text for a in entity.attribs}
    name = next((str(properties[key]) for key in ("mark", "name") if properties.get(key)), "")
    inserts = entity.multi_insert() if copies > 1 else [entity]
    places = [each.dxf.insert for each in inserts]
    own = layer if layer not in ("0", "") else clean_name(entity.dxf.name)
    return [(own, name, properties, (POINT, [[(place.x, place.y)]], None)) for place in places]
