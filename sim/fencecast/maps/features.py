"""What was drawn, whatever the format: features with a name, a kind or layer, properties and points."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np

from fencecast.maps import limits
from fencecast.maps.limits import Unreadable, too_many

POINT, LINE, AREA = "point", "line", "area"
SHAPE_WORDS = {POINT: "a point", LINE: "a line", AREA: "an area"}
NAME_LENGTH = 60
LEAST_POINTS = {POINT: 1, LINE: 2, AREA: 3}


@dataclass(frozen=True, eq=False)
class Feature:
    """One point, line or area of a drawing.

    rings: arrays (n, 2) as drawn (longitude and latitude in degrees, or metres of a plan); of an area the outline and then its
    holes, none with its first point repeated. layer: of a KML folder, a DXF layer, or a property. heights: lowest and highest
    third coordinate, or None. number: from 1 in its drawing; part: from 1 of a feature of several parts, else 0.
    """

    file: str
    number: int
    name: str
    kind: str
    layer: str
    shape: str
    rings: tuple[np.ndarray, ...]
    properties: Mapping[str, object]
    heights: tuple[float, float] | None = None
    part: int = 0

    @property
    def label(self) -> str:
        """How reports name it."""
        return f"feature {self.number}" + (f' "{self.name}"' if self.name else "")

    @property
    def key(self) -> tuple[str, int, int]:
        """Which feature it is, also after its points were moved."""
        return self.file, self.number, self.part

    @property
    def points(self) -> np.ndarray:
        """Its only line, or the outline of an area."""
        return self.rings[0]

    def moved(self, rings: Iterable[np.ndarray]) -> Feature:
        """The same with other points."""
        return replace(self, rings=tuple(rings))


@dataclass
class Drawing:
    """One file as it was read. metres: coordinates are metres of a plan, not degrees. crs: the code of another system, or "".

    wrong: (key of the feature or None, what is wrong), of what could not be read in it.
    """

    file: str
    form: str
    title: str = ""
    features: list[Feature] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)
    left: list[tuple[str, str]] = field(default_factory=list)
    wrong: list[tuple[tuple[str, int, int] | None, str]] = field(default_factory=list)
    metres: bool = False
    crs: str = ""
    points: int = 0
    count: int = 0

    def begin(self) -> int:
        """The number of the next feature; Unreadable when there are too many."""
        self.count += 1
        if self.count > limits.FEATURES:
            raise too_many("features", limits.FEATURES)
        return self.count

    def add(self, name: object, kind: object, layer: object, properties: Mapping[str, object], parts: list) -> None:
        """The parts of one feature, each (shape, rings, heights); empty parts are listed as left out."""
        number = self.begin()
        clean = clean_name(name)
        head = f"feature {number}" + (f' "{clean}"' if clean else "")
        parts = joined_at_180(parts)
        for place, (shape, rings, heights) in enumerate(parts, start=1):
            part = place if len(parts) > 1 else 0
            title = f"{clean} {part}"[-NAME_LENGTH:] if part and clean else clean
            count = sum(len(ring) for ring in rings)
            self.points += count
            if count > limits.FEATURE_POINTS:
                raise Unreadable(
                    f"{head} has {count:,} points, more than {limits.FEATURE_POINTS:,}: simplify it in the map program"
                )
            if self.points > limits.POINTS:
                raise too_many("points", limits.POINTS)
            rings = tuple(
                open_ring(np.asarray(ring, dtype=float)) if shape == AREA else np.asarray(ring, dtype=float) for ring in rings
            )
            if not rings or len(rings[0]) < LEAST_POINTS[shape]:
                have = len(rings[0]) if rings else 0
                self.wrong.append(
                    (
                        (self.file, number, part),
                        f"{head}: {SHAPE_WORDS[shape]} needs {LEAST_POINTS[shape]} points or more; it has {have}",
                    )
                )
                continue
            holes = tuple(hole for hole in rings[1:] if len(hole) >= 3)
            given = {str(key): value for key, value in properties.items()}
            self.features.append(
                Feature(
                    self.file, number, title, clean_name(kind), clean_name(layer), shape, (rings[0], *holes), given, heights, part
                )
            )
        if not parts:
            self.left.append((head, "it has no geometry: nothing is drawn there"))


def clean_name(value: object) -> str:
    """Text on one line, without control characters, at most 60 long; "" for anything that is no text or number."""
    if isinstance(value, bool) or not isinstance(value, (str, int, float)):
        return ""
    text = str(value) if not isinstance(value, int) or abs(value) < 10**40 else ""
    text = "".join(c if c.isprintable() else " " for c in text[: limits.TEXT_LENGTH])
    return " ".join(text.split())[:NAME_LENGTH].strip()


def open_ring(points: np.ndarray) -> np.ndarray:
    """A ring without its first point repeated at its end."""
    return points[:-1] if len(points) > 1 and np.array_equal(points[0], points[-1]) else points


def checked_text(key: str, value: Any) -> Any:
    """A property's value; Unreadable for a text beyond the limit."""
    if isinstance(value, str) and len(value) > limits.TEXT_LENGTH:
        raise Unreadable(f"property {key[:60]!r} has {len(value):,} characters, more than {limits.TEXT_LENGTH:,}: shorten it")
    return value


def joined_at_180(parts: list) -> list:
    """Parts of a line or an area that were cut at the 180th meridian (RFC 7946 section 3.1.9), made one again."""
    lines = [part for part in parts if part[0] == LINE]
    if len(parts) > 1 and len(lines) == len(parts):
        joined = [lines[0]]
        for part in lines[1:]:
            before, after = np.asarray(joined[-1][1][0], dtype=float), np.asarray(part[1][0], dtype=float)
            if _meet_at_180(before[-1:], after[:1]):
                joined[-1] = (LINE, [np.vstack([before, after[1:]])], _span(joined[-1][2], part[2]))
            else:
                joined.append(part)
        return joined
    if len(parts) > 1 and all(part[0] == AREA for part in parts):
        return _joined_areas(parts)
    return parts


def _meet_at_180(one: np.ndarray, two: np.ndarray) -> bool:
    return bool(
        len(one) and len(two) and abs(abs(one[0, 0]) - 180.0) < 1e-9 and abs(abs(two[0, 0]) - 180.0) < 1e-9
        and one[0, 0] * two[0, 0] < 0 and abs(one[0, 1] - two[0, 1]) < 1e-9
    )  # fmt: skip


def _joined_areas(parts: list) -> list:
    outlines = [np.asarray(part[1][0], dtype=float) for part in parts if len(part[1]) == 1 and len(part[1][0]) >= 3]
    if len(outlines) != len(parts) or not all(np.any(np.abs(np.abs(ring[:, 0]) - 180.0) < 1e-9) for ring in outlines):
        return parts
    import shapely

    turned = [shapely.Polygon(np.column_stack([ring[:, 0] % 360.0, ring[:, 1]])) for ring in outlines]
    if not all(each.is_valid for each in turned):
        return parts
    union = shapely.unary_union(turned)
    if union.geom_type != "Polygon" or union.interiors:
        return parts
    ring = np.array(shapely.normalize(union.simplify(0.0)).exterior.coords)
    ring[:, 0] = (ring[:, 0] + 180.0) % 360.0 - 180.0
    return [(AREA, [ring], _span(*(part[2] for part in parts[:2])))]


def _span(one: tuple[float, float] | None, two: tuple[float, float] | None) -> tuple[float, float] | None:
    both = [each for each in (one, two) if each is not None]
    return (min(b[0] for b in both), max(b[1] for b in both)) if both else None


def plain_words(text: str) -> str:
    """Lower-case words of a text, apart by single blanks: `A-Fences_north` is `a fences north`."""
    return " ".join(re.findall(r"[^\W_]+", text.lower()))
