"""Where a site lies on the map, and a picture under its plan: `[map]` and `[picture]`. The simulation looks at neither."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated, cast

from fencecast.errors import Problem, show_value
from fencecast.site.fields import Point, Text, as_sequence
from fencecast.site.number import Check, Number, Refusal, Refused
from fencecast.site.schema import Table

if TYPE_CHECKING:
    from fencecast.site.reading import Draft

LONGEST_PATH = 200
# The file's [site] may name a place of its own: farther from [map] than this, one of the two is wrong.
SAME_PLACE_DEG = 0.1
_PIXEL = Number("a place in the picture", 0.0, at_least=-100_000, at_most=100_000, shown=" pixels")
_POINTS = "[{ pixel = [10, 20], at_m = [0.0, 0.0] }, { pixel = [910, 20], at_m = [45.0, 0.0] }]"


@dataclass(frozen=True)
class ControlPoints(Check):
    """Two or more places of a picture whose place on the site is known."""

    def parse(self, value: object) -> tuple[tuple[tuple[float, float], tuple[float, float]], ...]:
        rows = as_sequence(value)
        allowed = "a list of two or more tables { pixel = [column, row], at_m = [x, y] }, in different places"
        try:
            if rows is None or len(rows) < 2:
                raise Refused
            points = tuple(_control_point(row) for row in rows)
            if len({pixel for pixel, _ in points}) < len(points) or len({at_m for _, at_m in points}) < len(points):
                raise Refused
        except Refused:
            raise Refused(Refusal(value, allowed, _POINTS)) from None
        return points


def _control_point(row: object) -> tuple[tuple[float, float], tuple[float, float]]:
    """(pixel, at_m) of one table, or of the pair that a site holds already."""
    if isinstance(row, Mapping):
        if set(row) != {"pixel", "at_m"}:
            raise Refused
        row = (row["pixel"], row["at_m"])
    pair = as_sequence(row)
    pixel = as_sequence(pair[0]) if pair is not None and len(pair) == 2 else None
    if pair is None or pixel is None or len(pixel) != 2:
        raise Refused
    return (_PIXEL.parse(pixel[0]), _PIXEL.parse(pixel[1])), Point().parse(pair[1])


class MapPlace(Table):
    """`[map]`: where x = 0, y = 0 lies, and how the grid is turned; a transverse Mercator grid about that point."""

    latitude: Annotated[float, Number("degrees north", 54.07, at_least=-85, at_most=85)]
    longitude: Annotated[float, Number("degrees east", 6.41, at_least=-180, at_most=180)]
    grid_north_deg: Annotated[float, Number("degrees clockwise from true north", 30.0, at_least=-360, at_most=360)] = 0.0
    elevation_m: Annotated[float, Number("a height above the sea", 120.0, at_least=-500, at_most=6000, unit="m")] = 0.0


class Picture(Table):
    """`[picture]`: an aerial picture that is drawn grey under the key plan."""

    path: Annotated[str, Text("the path of a PNG or JPEG file", "yard.png", longest=LONGEST_PATH)]
    world: Annotated[str | None, Text("the path of a world file", "yard.pgw", longest=LONGEST_PATH)] = None
    crs: Annotated[str | None, Text('"site", or an EPSG code', "EPSG:32632", longest=20)] = None
    points: Annotated[tuple[tuple[tuple[float, float], tuple[float, float]], ...], ControlPoints()] = ()
    fade: Annotated[float, Number("a lightness", 0.75, at_least=0, at_most=0.95)] = 0.75


def check_placing(draft: Draft) -> None:
    """Adds a problem for a [map] that contradicts [site], and for a picture that is placed twice or not at all."""
    place, ground, picture = (draft.single.get(name) for name in ("map", "site", "picture"))
    if place is not None and ground is not None:
        for key in ("latitude", "longitude"):
            here, there = getattr(place.table, key), getattr(ground.table, key)
            if here is not None and there is not None and key in ground.given and _apart(here, there, key) > SAME_PLACE_DEG:
                allowed = f"within {SAME_PLACE_DEG:g} degrees of {here!r}, the {key} of [map]; leave one of them out"
                draft.refuse(f"[site] {key}", there, allowed, f"{key} = {here!r}")
    if picture is None:
        return
    table, given = cast(Picture, picture.table), picture.given
    if "points" in given and ("world" in given or "crs" in given):
        allowed = "either points, or a world file with its crs; leave one out"
        draft.refuse("[picture] points", "two or more", allowed, fault="cannot stand beside a world file")
    elif "points" not in given and "crs" not in given:
        allowed = 'needed with a world file: the code of its coordinates, or "site" for metres of this file; or give points'
        draft.refuse("[picture] crs", Problem.MISSING, allowed, 'crs = "EPSG:32632"')
    if table.crs not in (None, "site") and place is None:
        allowed = "only in a file with [map], which says where its metres lie"
        draft.refuse("[picture] crs", table.crs, allowed, f"crs = {show_value('site')}")


def _apart(one: float, two: float, key: str) -> float:
    difference = abs(one - two)
    return min(difference, 360.0 - difference) if key == "longitude" else difference
