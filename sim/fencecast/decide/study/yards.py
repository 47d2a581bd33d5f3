"""Invented yards for studies: the same seed gives the same yards, and yard k does not change when more are asked for.

Numbers come from Python's own Mersenne Twister seeded by text (its `random()` gives the same sequence on every machine and
version), and coordinates are rounded to centimetres, so that no last bit of a sine decides. All distributions are uniform and
all limits judgement: they span a range of yards, they describe no survey of real ones.
"""

from __future__ import annotations

import math
import random
from typing import Annotated

import numpy as np
import shapely

from fencecast.site.fields import Names, OneOf, Pair
from fencecast.site.geometry import mitred_offset
from fencecast.site.mounting import NumberList
from fencecast.site.number import Number
from fencecast.site.schema import Table

SHAPES = ("rectangle", "l", "irregular")
BARRIERS = ("none", "mesh", "palisade", "wall")
BARRIER_HEIGHT_M = 2.4
# Buildings keep this far from the fence, and things from each other; a stack of 20 ft containers stands beside the fence.
_CLEAR_M, _APART_M = 7.0, 3.0
_STACK_M, _STACK_OFF_M = (6.1, 2.4, 2.6), (2.6, 6.0)
_TRIES = 40
_GATE_M = 5.0
# A stretch without masts takes at most this share of a side, so that every side keeps a place.
_MOST_WITHOUT = 0.6


class Shapes(Names):
    """Names of shapes that the generator can draw, none twice."""

    def parse(self, value: object) -> tuple[str, ...]:
        names = super().parse(value)
        for name in names:
            OneOf(SHAPES).parse(name)
        return names


def _count(high: int) -> Pair:
    words = f"[low, high], whole numbers from 0 to {high}, low not above high"
    return Pair(Number("a whole number", 1, at_least=0, at_most=high, whole=True), "[1, 3]", words)


class Yards(Table):
    """`[yards]`: how many invented yards, and what they are like; pairs are lowest and highest, drawn evenly between."""

    count: Annotated[int, Number("a whole number", 40, at_least=1, at_most=100_000, whole=True)]
    seed: Annotated[int, Number("a whole number", 7, at_least=0, at_most=2**63 - 1, whole=True)] = 0
    shape: Annotated[tuple[str, ...], Shapes("shapes of yards", '["rectangle", "l", "irregular"]')] = SHAPES
    side_m: Annotated[
        tuple[float, float],
        Pair(
            Number("a length", 60.0, at_least=25, at_most=2000, unit="m"),
            "[60.0, 120.0]",
            "[low, high] with low not above high, both from 25 to 2000 m",
        ),
    ] = (60.0, 120.0)
    buildings: Annotated[tuple[int, int], _count(20)] = (1, 3)
    building_height_m: Annotated[
        tuple[float, float],
        Pair(
            Number("a height", 5.0, at_least=1, at_most=50, unit="m"),
            "[4.5, 9.0]",
            "[low, high] with low not above high, both from 1 to 50 m",
        ),
    ] = (4.5, 9.0)
    clutter: Annotated[tuple[int, int], _count(50)] = (0, 3)
    heights_m: Annotated[tuple[float, ...], NumberList(Number("a height", 4.0, above=0, at_most=60, unit="m"), "[4.0]")] = (4.0,)
    mast_inside_m: Annotated[float, Number("a distance inside the fence", 1.0, at_least=0.2, at_most=2.4, unit="m")] = 1.0
    no_mast_m: Annotated[
        tuple[float, float],
        Pair(
            Number("a length", 10.0, at_least=0, at_most=1000, unit="m"),
            "[0.0, 15.0]",
            "[low, high] with low not above high, both from 0 to 1000 m: how much of each side carries no mast",
        ),
    ] = (0.0, 0.0)
    barrier: Annotated[str, OneOf(BARRIERS)] = "mesh"


class _Draws:
    """Numbers for one yard, in the order in which they are asked for."""

    def __init__(self, text: str):
        self._source = random.Random(text)

    def between(self, pair) -> float:
        return pair[0] + (pair[1] - pair[0]) * self._source.random()

    def whole(self, pair) -> int:
        return min(pair[0] + int(self._source.random() * (pair[1] - pair[0] + 1)), pair[1])

    def pick(self, options):
        return options[self.whole((0, len(options) - 1))]


def yard_name(number: int) -> str:
    """The name of yard 0, 1, 2 ...: counted from 1 for people."""
    return f"yard {number + 1}"


def make_yard(yards: Yards, number: int) -> dict:
    """Tables of one invented yard for `Site(**tables)`: perimeter, obstacle, mounting, rule. Fence of one closed ring, about the
    origin, turned by any angle; a gate in its longest side; a line rule along the fence."""
    draws = _Draws(f"fencecast yard {yards.seed} {number}")
    shape = draws.pick(yards.shape)
    corners = _corners(shape, draws, yards.side_m)
    turn = draws.between((0.0, 2.0 * math.pi))
    things = _buildings(yards, draws, shapely.Polygon(corners))
    things += _stacks(yards, draws, corners, things)
    perimeter = {
        "name": "fence",
        "points_m": _turned(corners, turn),
        "inside": "left",
        "closed": True,
        "gates": [_gate(_turned(corners, turn), draws)],
    }
    if yards.barrier != "none":
        perimeter |= {"barrier": yards.barrier, "barrier_height_m": BARRIER_HEIGHT_M}
    return {
        "perimeter": [perimeter],
        "obstacle": [{"name": n, "footprint_m": _turned(ring, turn), "height_m": height} for n, ring, height in things],
        "mounting": _mountings(yards, draws, perimeter["points_m"]),
        "rule": [{"kind": "line", "perimeter": "fence"}],
    }


def _turned(points, turn: float) -> list[list[float]]:
    c, s = math.cos(turn), math.sin(turn)
    # + 0.0: a rounded -0.0 would be written differently.
    return [[round(c * x - s * y, 2) + 0.0, round(s * x + c * y, 2) + 0.0] for x, y in np.asarray(points, dtype=float).tolist()]


def _corners(shape: str, draws: _Draws, side_m) -> list[tuple[float, float]]:
    """Corners of a fence, anticlockwise, about the origin."""
    w, h = 0.5 * draws.between(side_m), 0.5 * draws.between(side_m)
    if shape == "rectangle":
        return [(-w, -h), (w, -h), (w, h), (-w, h)]
    if shape == "l":
        x, y = w - 2.0 * w * draws.between((0.35, 0.6)), h - 2.0 * h * draws.between((0.35, 0.6))
        return [(-w, -h), (w, -h), (w, y), (x, y), (x, h), (-w, h)]
    count = draws.whole((5, 6))
    points = []
    for k in range(count):  # one corner in each of `count` equal angles, so that the ring cannot cross itself
        angle, far = 2.0 * math.pi * (k + draws.between((-0.2, 0.2))) / count, draws.between((1.05, 1.4))
        points.append((far * w * math.cos(angle), far * h * math.sin(angle)))
    return points


def _box(x: float, y: float, length: float, width: float, angle: float) -> shapely.Polygon:
    c, s = math.cos(angle), math.sin(angle)
    local = [(-length, -width), (length, -width), (length, width), (-length, width)]
    return shapely.Polygon([(x + 0.5 * (c * a - s * b), y + 0.5 * (s * a + c * b)) for a, b in local])


def _ring(polygon: shapely.Polygon) -> list[tuple[float, float]]:
    return list(polygon.exterior.coords)[:-1]


def _buildings(yards: Yards, draws: _Draws, yard: shapely.Polygon) -> list[tuple[str, list, float]]:
    room = yard.buffer(-_CLEAR_M)
    placed: list[shapely.Polygon] = []
    found = []
    x0, y0, x1, y1 = yard.bounds
    for k in range(draws.whole(yards.buildings)):
        for attempt in range(_TRIES):  # smaller and smaller, until it fits
            shrink = 0.95**attempt
            length, width = (draws.between((0.2, 0.45)) * side * shrink for side in (x1 - x0, y1 - y0))
            box = _box(draws.between((x0, x1)), draws.between((y0, y1)), length, width, 0.0)
            if room.contains(box) and all(box.distance(other) >= _APART_M for other in placed):
                placed.append(box)
                found.append((f"building {k + 1}", _ring(box), round(draws.between(yards.building_height_m), 1)))
                break
    return found


def _stacks(yards: Yards, draws: _Draws, corners, things) -> list[tuple[str, list, float]]:
    """Stacks beside the fence, which hide a piece of it from some cameras."""
    ring = np.vstack([corners, corners[:1]])
    lengths = np.hypot(*np.diff(ring, axis=0).T)
    room = shapely.Polygon(corners).buffer(-(yards.mast_inside_m + 0.1))
    placed = [shapely.Polygon(other) for _, other, _ in things]
    found = []
    for k in range(draws.whole(yards.clutter)):
        for _ in range(_TRIES):
            place = draws.between((0.0, float(lengths.sum())))
            edge = min(int(np.searchsorted(np.cumsum(lengths), place)), len(lengths) - 1)
            along = (ring[edge + 1] - ring[edge]) / lengths[edge]
            off = draws.between(_STACK_OFF_M)
            x, y = ring[edge] + (place - lengths[:edge].sum()) * along + off * np.array([-along[1], along[0]])
            box = _box(x, y, _STACK_M[0], _STACK_M[1], math.atan2(along[1], along[0]))
            if room.contains(box) and all(box.distance(other) >= _APART_M for other in placed):
                placed.append(box)
                found.append((f"stack {k + 1}", _ring(box), _STACK_M[2]))
                break
    return found


def _gate(points, draws: _Draws) -> dict:
    ring = np.vstack([points, points[:1]])
    lengths = np.hypot(*np.diff(ring, axis=0).T)
    edge = int(np.argmax(lengths))
    start = round(float(lengths[:edge].sum()) + draws.between((0.2, 0.7)) * float(lengths[edge]), 1)
    return {"name": "gate", "from_m": start, "to_m": start + _GATE_M}


def _mountings(yards: Yards, draws: _Draws, points) -> list[dict]:
    """Where masts may stand: a line inside each side, with a stretch left out where the yard needs one."""
    line = mitred_offset(points, yards.mast_inside_m, closed=True)
    mountings = []
    for k, (a, b) in enumerate(zip(line, np.roll(line, -1, axis=0)), start=1):
        length = float(np.hypot(*(b - a)))
        without = min(draws.between(yards.no_mast_m), _MOST_WITHOUT * length)
        start = draws.between((0.0, length - without))
        ends = [(0.0, length)] if without < 0.5 else [(0.0, start), (start + without, length)]
        for part, (low, high) in enumerate(ends):
            if high - low > 0.5:
                line_m = [[round(float(v), 2) + 0.0 for v in a + d / length * (b - a)] for d in (low, high)]
                name = f"side {k}" + ("" if len(ends) == 1 else f", part {part + 1}")
                mountings.append({"name": name, "points_m": line_m, "heights_m": list(yards.heights_m)})
    return mountings
