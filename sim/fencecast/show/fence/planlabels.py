"""Labels on a plan, each on free ground: section letters, cameras, buildings, gates, numbers on leaders."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from typing import Any

import numpy as np
from shapely import LineString, Point, box
from shapely.geometry.base import BaseGeometry as Shape
from shapely.ops import unary_union

from fencecast.estimate.places import place_code
from fencecast.estimate.weakest import Place
from fencecast.show.fence.planview import OUTER_MM, PlanView
from fencecast.show.paper import style
from fencecast.show.paper.labels import joined_near, short_marks
from fencecast.show.paper.page import Page
from fencecast.show.paper.text import text_width_mm, wrap

LONGEST_LEADER_MM = 15.0


def text_box(text: str, x: float, y: float, size: float = style.LABEL, weight: str = "normal") -> Shape:
    """The box of a text centred at (x, y), with a little air."""
    w, h = 0.5 * text_width_mm(text, size, weight) + 0.5, 0.5 * 1.05 * size * style.MM_PER_POINT + 0.2
    return box(x - w, y - h, x + w, y + h)


def write(
    view: PlanView,
    lines: str | Sequence[str],
    spots: Iterable[Any],
    inside: bool | None = None,
    avoid: Sequence[Shape] = (),
    **how: Any,
) -> Shape | None:
    """Write a text of one or more lines centred at the first spot (x, y) where it fits; its box, or None.

    inside: True or False asks for a place within or without the yard. avoid: more shapes that it must not cover.
    """
    lines = [lines] if isinstance(lines, str) else lines
    size, weight = how.get("size", style.LABEL), how.get("weight", "normal")
    how.setdefault("plate", view.plates)
    step = 1.2 * size * style.MM_PER_POINT
    for x, y in spots:
        tops = [y + step * (i - 0.5 * (len(lines) - 1)) for i in range(len(lines))]
        area = unary_union([text_box(line, x, top, size, weight) for line, top in zip(lines, tops)]).envelope
        if view.free(area, inside) and not any(area.intersects(shape) for shape in avoid):
            for line, top in zip(lines, tops):
                view.page.text(x, top, line, ha="center", va="center", **how)
            view.taken.append(area)
            return area
    return None


def letters(view: PlanView, size: float = style.LABEL, **how: Any) -> None:
    """Section letters outside the band, near the middle of each section."""
    for k, section in enumerate(view.sections):
        spots = []
        for share in (0.5, 0.42, 0.58, 0.33, 0.67, 0.2, 0.8):
            at = section.length_m * share
            for off in (1.75, 2.4, 3.4):
                spots.append(view.band.point(k, at, 0.0) + (OUTER_MM + style.PLAN_RAIL_MM + off) * view.band.normal(k, at))
        write(view, section.letter, spots, size=size, **how)


def numbered_places(view: PlanView, places: Sequence[Place]) -> None:
    """Numbers in circles beside the places, outside the band, as near to the lowest segment as fits."""
    owner = {i: s for s in view.sections for i in range(s.first, s.stop)}
    middles = view.fence.chainage_m
    for n, place in enumerate(places):
        lowest = place.segment
        order = sorted(place.segments, key=lambda i: (owner[i] is not owner[lowest], abs(middles[i] - middles[lowest])))
        spots = []
        for side in (1.0, -1.0):
            for off in (2.1, 3.0, 4.4):
                for i in order[:: max(1, len(order) // 12)]:
                    k, at = owner[i].index, float(middles[i])
                    reach = OUTER_MM + style.PLAN_RAIL_MM + off if side > 0 else off
                    spots.append(view.band.point(k, at, 0.0) + side * reach * view.band.normal(k, at))
        for x, y in spots:
            area = box(x - 1.9, y - 1.9, x + 1.9, y + 1.9)
            if view.free(area):
                circled(view.page, x, y, str(n + 1))
                view.taken.append(area)
                break


def circled(page: Page, x: float, y: float, text: str) -> None:
    """A number in a circle of 3.2 mm, centred at (x, y)."""
    page.dot(x, y, 3.2, colour=style.PAPER, edge=style.INK, zorder=8)
    page.text(x, y + 0.05, text, size=style.SMALL, weight="bold", ha="center", va="center_baseline")


def camera_labels(view: PlanView, size: float = style.LABEL) -> str:
    """Camera marks beside their dots, near ones joined; returns the key line for short forms ('' when none)."""
    marks, key = short_marks([c.mark for c in view.site.camera])
    groups = joined_near([(marks[c.mark], *spot) for spot, c in zip(view.cameras, view.site.camera)])
    for names, x, y in groups:
        text = ", ".join(names)
        w, h = 0.5 * text_width_mm(text, size) + 1.4, 2.7
        around = ((0, 1), (0, -1), (1, 1), (-1, 1), (1, -1), (-1, -1), (1, 0), (-1, 0))
        spots = [(x + sx * reach * w, y + sy * reach * h) for reach in (1.0, 1.4, 1.8, 2.4, 3.0) for sx, sy in around]
        for inside, avoid in ((True, view.thin), (True, ()), (None, ())):
            if write(view, text, spots, inside=inside, avoid=avoid, size=size) is not None:
                break
    return key


def building_names(view: PlanView, size: float = style.LABEL) -> str:
    """Names of obstacles inside their outlines, in up to three lines, else below or above; returns a key line for the rest."""
    numbered = []
    for name, shape in view.buildings:
        if not _name_inside(view, name, shape, size) and not _name_outside(view, name, shape, size):
            numbered.append(name)
            _name_inside(view, f"ob{len(numbered)}", shape, size)  # a bare number would read as a place
    return "Obstacles: " + " · ".join(f"ob{i + 1} = {name}" for i, name in enumerate(numbered)) if numbered else ""


def _name_inside(view: PlanView, name: str, shape: Shape, size: float) -> bool:
    west, north, east, south = shape.bounds
    x, y = 0.5 * (west + east), 0.5 * (north + south)
    others = [t for t in view.taken if not t.contains(shape)]
    for count in (1, 2, 3):
        lines = wrap(name, east - west - 1.4, size)
        if len(lines) > count or any("…" in line for line in lines):
            continue
        step = 1.2 * size * style.MM_PER_POINT
        tops = [y + step * (i - 0.5 * (len(lines) - 1)) for i in range(len(lines))]
        area = unary_union([text_box(line, x, top, size) for line, top in zip(lines, tops)]).envelope
        if shape.contains(area) and not any(area.intersects(t) for t in others):
            for line, top in zip(lines, tops):
                view.page.text(x, top, line, size=size, colour=style.SECOND, ha="center", va="center")
            view.taken.append(area)
            return True
    return False


def _name_outside(view: PlanView, name: str, shape: Shape, size: float) -> bool:
    west, north, east, south = shape.bounds
    half_line = 0.6 * size * style.MM_PER_POINT
    for width in (200.0, 30.0, 20.0):
        lines = wrap(name, width, size)
        if any("…" in line for line in lines):
            continue
        w = 0.5 * max(text_width_mm(line, size) for line in lines)
        off = half_line * len(lines) + 0.8
        middles = (0.5 * (west + east), west + w, east - w)
        for inside in (True, None):
            spots = [(x, y) for y in (south + off, north - off) for x in middles]
            if write(view, lines, spots, inside=inside, size=size, colour=style.SECOND) is not None:
                return True
    return False


def gate_names(view: PlanView, size: float = style.LABEL) -> str:
    """Names of gates inside the yard, near ones joined; returns a key line for those that found no room."""
    left_over = []
    perimeters = {p.name: p for p in view.site.perimeter}
    gates, spots = [], []
    for k, section in enumerate(view.sections):
        for gate in perimeters[section.name].gates:
            spots.append((len(gates), *view.band.point(k, 0.5 * (gate.from_m + gate.to_m), 0.0)))
            gates.append((k, gate))
    for numbers, x, y in joined_near(spots, 6.0):
        k, first = gates[numbers[0]]
        names = [gates[n][1].name for n in numbers]
        middle = 0.5 * (first.from_m + first.to_m)
        inward = -view.band.normal(k, middle)
        along = np.array([-inward[1], inward[0]])
        area = None
        for lines in ([", ".join(names)], [f"{name}," for name in names[:-1]] + names[-1:]):
            half = 0.5 * max(text_width_mm(line, size) for line in lines)
            reach = abs(inward[0]) * half + abs(inward[1]) * 1.4 * len(lines)
            tries = [
                np.array([x, y]) + inward * (reach + off) + along * side * (abs(along[0]) * half + abs(along[1]) * 2.0)
                for off in (1.2, 2.4, 3.6, 5.0, 6.5, 8.5)
                for side in (0.0, 0.7, -0.7)
            ]
            for inside in (True, None):
                area = area or write(view, lines, tries, inside=inside, size=size)
        if area is None:
            for own, gate in (gates[n] for n in numbers):
                left_over.append(f"{place_code(view.sections[own].letter, gate.from_m, gate.to_m)} = {gate.name}")
        elif area.distance(Point(x, y)) > 3.0:
            start = np.array([x, y]) + 0.9 * inward
            end = area.exterior.interpolate(area.exterior.project(Point(start)))
            view.page.line([start[0], end.x], [start[1], end.y], colour=style.LINE, points=0.5, zorder=7)
    return "Gates: " + " · ".join(left_over) if left_over else ""


def number(view: PlanView, text: str, spots: Sequence[tuple[int, float]]) -> bool:
    """A bold number on a leader of at most 15 mm, inside the yard, clear of everything; False when there is no room.

    spots: (section, chainage) of the run's segments, the one to point at first. Only when no other way is left does the
    leader cross the stroke of a camera; it never crosses a building or another leader.
    """
    for obstacles in (view.strokes + view.looks, view.strokes):
        if any(_number_at(view, text, k, chainage, obstacles) for k, chainage in spots):
            return True
    return False


def _number_at(view: PlanView, text: str, k: int, chainage: float, obstacles: Sequence[Shape]) -> bool:
    start = view.band.point(k, chainage, -0.6)
    inward = -view.band.normal(k, chainage)
    half = 0.5 * text_width_mm(text, style.LABEL, "bold")
    for length in np.arange(3.0, LONGEST_LEADER_MM + 0.01, 1.0):
        for turn in (0.0, 0.5, -0.5, 0.8, -0.8, 1.1, -1.1):
            cos, sin = math.cos(turn), math.sin(turn)
            ray = np.array([inward[0] * cos - inward[1] * sin, inward[0] * sin + inward[1] * cos])
            end = start + length * ray
            aside = np.sign(ray[0]) * min(half, 1.6 * half * abs(ray[0]))
            down = np.sign(ray[1]) * 1.9 if abs(ray[1]) > 0.3 else 0.0
            centre = end + np.array([aside + (np.sign(ray[0]) * 0.6 if down == 0.0 else 0.0), down])
            leader = LineString([start, end])
            if any(leader.intersects(obstacle) for obstacle in obstacles):
                continue
            area = text_box(text, *centre, style.LABEL, "bold")
            if not leader.intersects(area.buffer(-0.4)) and view.free(area, True):
                view.page.line(*zip(start, end), points=0.6, zorder=7)
                view.page.text(*centre, text, weight="bold", ha="center", va="center")
                view.taken.append(area)
                view.strokes += [area, leader.buffer(0.6)]
                return True
    return False
